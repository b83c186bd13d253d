"""How often the stated 80 % intervals hold the truth, over simulated players.

`python -m tests.odds.coverage` prints the whole table, 1,000 players a row.

prior: players drawn from the starting guess itself, shapes included, all shots alike: this is the
row that must be nominal, because it is what the posterior claims. With the program's half-life the
same players are covered more often, since fading shots only widen the intervals; that is printed
too. normal: players from outside the guess with plain normal shots. contaminated: the same, one
ball in five at four times the spread. Numbers are read on a 5 yd grid, verdicts in a corridor of
40 yd. The truth of `half width` and `inside` is that of the mixture, not of its narrow part.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from statistics import NormalDist

import numpy as np

from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import HALF_LIFE, Band, Pattern
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import LIKELIHOODS, TWO_IN_THREE, Floats, Plausible

PRIOR = guess(200.0)
SHOTS = (10, 50, 200)
GRID, WIDTH = 5.0, 40.0
SHARE, TIMES = 0.2, 4.0
FIGURES = ("bias", "half width", "inside 40")


@dataclass(frozen=True)
class Player:
    """The truth about one simulated player, and their shots."""

    bias: float
    half_width: float
    inside: float
    hits: Floats


@dataclass(frozen=True)
class Row:
    """players: of what kind. asks, shots, fading: how they were seen. held: share by figure."""

    players: str
    asks: str
    shots: int
    fading: bool
    held: dict[str, float]


def mixed(inside: float) -> float:
    """Share of the contaminated mixture within so many narrow spreads of its centre."""
    normal = NormalDist()
    parts = ((1.0 - SHARE, inside), (SHARE, inside / TIMES))
    return sum(share * (2.0 * normal.cdf(z) - 1.0) for share, z in parts)


def mixed_two_in_three() -> float:
    """Narrow spreads either side that hold two in three of the mixture, by bisection."""
    low, high = 0.0, 10.0
    while high - low > 1e-12:
        middle = (low + high) / 2.0
        low, high = (middle, high) if mixed(middle) < 2.0 / 3.0 else (low, middle)
    return low


def player(kind: str, shots: int, rng: np.random.Generator) -> Player:
    """Draw one player and so many shots."""
    if kind == "prior":
        shape = LIKELIHOODS[rng.integers(3)]
        bias = rng.normal(0.0, PRIOR.bias_sd)
        half = PRIOR.half_width * math.exp(rng.normal(0.0, PRIOR.log_sd))
        spread = half / TWO_IN_THREE[shape]
        known = Plausible.known(bias, spread, shape)
        inside = float(known.chances([(-WIDTH / 2, WIDTH / 2)])[0, 0])
        drawn = {
            "normal": lambda: rng.standard_normal(shots),
            "t4": lambda: rng.standard_t(4, shots),
            "t2": lambda: rng.standard_t(2, shots),
        }[shape]()
        return Player(bias, half, inside, bias + spread * drawn)
    bias, spread = rng.uniform(-15.0, 15.0), rng.uniform(8.0, 20.0)
    scale = np.full(shots, spread)
    ends = ((WIDTH / 2 - bias) / spread, (-WIDTH / 2 - bias) / spread)
    normal = NormalDist()
    inside = normal.cdf(ends[0]) - normal.cdf(ends[1])
    half = TWO_IN_THREE["normal"] * spread
    if kind == "contaminated":
        scale[rng.random(shots) < SHARE] *= TIMES
        wide = normal.cdf(ends[0] / TIMES) - normal.cdf(ends[1] / TIMES)
        inside = (1.0 - SHARE) * inside + SHARE * wide
        half = mixed_two_in_three() * spread
    return Player(bias, half, inside, bias + scale * rng.standard_normal(shots))


def seen(asks: str, hits: Floats) -> Iterator[Observation]:
    """What is typed for these shots."""
    if asks == "numbers":
        for step in np.rint(hits / GRID).tolist():
            yield Observation((((step - 0.5) * GRID, (step + 0.5) * GRID),))
        return
    edge = WIDTH / 2
    for hit in hits.tolist():
        span = (edge, math.inf) if hit > edge else (-math.inf, -edge)
        yield Observation(((-edge, edge) if abs(hit) <= edge else span,), edge)


def cover(
    kind: str, asks: str, shots: int, fading: bool, players: int = 1000, seed: int = 1
) -> Row:
    """The share of so many players whose truth lies in the stated interval."""
    rng = np.random.default_rng([seed, shots, len(kind), len(asks), fading])
    held: Counter[str] = Counter()
    for _ in range(players):
        drawn = player(kind, shots, rng)
        found = Pattern.of(seen(asks, drawn.hits), PRIOR, HALF_LIFE if fading else None)
        truths = (
            (found.bias, drawn.bias),
            (found.half_width, drawn.half_width),
            (found.inside(WIDTH), drawn.inside),
        )
        for figure, (band, truth) in zip(FIGURES, truths, strict=True):
            held[figure] += _holds(band, truth)
    return Row(kind, asks, shots, fading, {figure: held[figure] / players for figure in FIGURES})


def _holds(band: Band, truth: float) -> bool:
    return band.low <= truth <= band.high


def main() -> None:
    print(
        f"{'players':14}{'asks':10}{'shots':>6}  {'weighing':10}"
        + "".join(f"{f:>12}" for f in FIGURES)
    )
    kinds = (("prior", False), ("prior", True), ("normal", True), ("contaminated", True))
    for (kind, fading), asks, shots in product(kinds, ("numbers", "verdicts"), SHOTS):
        row = cover(kind, asks, shots, fading)
        line = "".join(f"{row.held[figure]:12.3f}" for figure in FIGURES)
        print(f"{kind:14}{asks:10}{shots:6}  {'fading' if fading else 'all alike':10}{line}")


if __name__ == "__main__":
    main()
