"""Which estimator a stock carry uses: `python -m tests.practice.carries.stock_estimators [N]`.

Swings from outside the model: normal shots, long-tailed ones, and ones with mishits (four times as
wide, short, topped) that come by chance. Prints the error of each estimator in yards, root mean
square, at a spread of 6; then how often the interval in use holds, and calls a good shot a mishit.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from statistics import mean, median

import numpy as np
from numpy.typing import NDArray

from drillrunner.practice.carries import stock

Floats = NDArray[np.float64]
SPREAD = 6.0
TRUE = 70.3

KINDS: dict[str, tuple[float, float]] = {
    "wide": (0.0, 4.0),
    "short": (-4.0, 2.0),
    "topped": (-10.0, 3.0),
}
"""Centre and spread of a mishit, in spreads of the swing."""


def shots(rng: np.random.Generator, count: int, kind: str, rate: float) -> list[Decimal]:
    """Carries typed to the yard."""
    x = rng.standard_t(4, count) / 2**0.5 if kind == "long tails" else rng.standard_normal(count)
    if kind in KINDS:
        at, wide = KINDS[kind]
        x = np.where(rng.random(count) < rate, at + wide * rng.standard_normal(count), x)
    return [Decimal(max(round(TRUE + SPREAD * one), 1)) for one in x.tolist()]


def trimmed(x: list[float]) -> float:
    """Without one shot in five at each end."""
    cut = max(len(x) // 5, 1)
    return mean(sorted(x)[cut:-cut])


def by_rule(x: list[float]) -> float:
    """Without what is four times as far off as the typical shot, one in five at most."""
    middle = median(x)
    off = [abs(one - middle) for one in x]
    limit = 4 * max(median(off), 0.5)
    far = sorted(range(len(x)), key=lambda at: -off[at])[: len(x) // 5]
    return mean([one for at, one in enumerate(x) if at not in far or off[at] <= limit])


def huber(x: list[float]) -> float:
    """Huber's location at 1.345 (its usual constant), scaled by the median distance."""
    at = median(x)
    scale = max(1.4826 * median(abs(one - at) for one in x), 0.5)
    for _ in range(40):
        weights = [min(1.0, 1.345 * scale / max(abs(one - at), 1e-9)) for one in x]
        at = sum(w * one for w, one in zip(weights, x, strict=True)) / sum(weights)
    return at


def plain_t(x: list[float]) -> float:
    """Student's with four degrees of freedom and no model behind its scale."""
    at = median(x)
    scale = max(1.4826 * median(abs(one - at) for one in x), 0.5)
    for _ in range(60):
        weights = [5 / (4 + ((one - at) / scale) ** 2) for one in x]
        at = sum(w * one for w, one in zip(weights, x, strict=True)) / sum(weights)
        square = sum(w * (one - at) ** 2 for w, one in zip(weights, x, strict=True)) / len(x)
        scale = max(square**0.5, 0.5)
    return at


def in_use(x: list[float]) -> float:
    """What the program does."""
    return stock.find([Decimal(str(one)) for one in x]).carry


ESTIMATORS: tuple[Callable[[list[float]], float], ...] = (
    mean,
    median,
    trimmed,
    by_rule,
    huber,
    plain_t,
    in_use,
)

CASES = (("normal", 0.0), ("long tails", 0.0), *((k, r) for k in KINDS for r in (0.1, 0.2)))


def main(searches: int = 600) -> None:
    rng = np.random.default_rng(5)
    print("shots  " + "".join(f"{one.__name__:>9}" for one in ESTIMATORS) + "  holds  high  out")
    for count in (5, 6, 7, 10, 12):
        for kind, rate in CASES:
            tried = [shots(rng, count, kind, rate) for _ in range(searches)]
            errors = [
                np.sqrt(np.mean([(one([float(c) for c in x]) - TRUE) ** 2 for x in tried]))
                for one in ESTIMATORS
            ]
            found = [stock.find(x) for x in tried]
            holds = np.mean([one.low <= TRUE <= one.high for one in found])
            high = np.mean([one.spread_high >= SPREAD for one in found])
            out = np.mean([bool(one.left_out) for one in found])
            figures = "".join(f"{float(error):9.2f}" for error in errors)
            print(f"{count:>2} {kind} {rate:.0%}  {figures}  {holds:5.0%} {high:5.0%} {out:5.0%}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
