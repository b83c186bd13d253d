"""Which distance to leave oneself, from stock carries whose spreads are only roughly known.

The smallest of several noisy spreads is small by luck as well. So each is drawn towards the others
and towards what the rating model expects at its distance, as far as they do not differ by more
than so few shots would (empirical Bayes: Efron & Morris 1975, J. Am. Stat. Assoc. 70:311-319; for
variances Smyth 2004, Stat. Appl. Genet. Mol. Biol. 3:3; titles from memory). The shares of
mishits are drawn together alike. A chance read off such a spread needs no allowance for having
picked the best.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from drillrunner.catalogue.clubs import swing_title
from drillrunner.odds.words import uncertain
from drillrunner.practice.carries.stock import CarryRow, model_spread
from drillrunner.practice.carries.student import digamma, trigamma
from drillrunner.store.shapes import StockCarry

SURE = 0.8
"""How sure it has to be that one spread is the smaller one."""

LEVEL_SD = 0.5
"""How far a player is from the model, as standard deviation of the log spread; the same as for a
starting guess."""

SLOPE, SLOPE_SD = 0.3, 0.45
"""How the log spreads rise with the model's: fully, or not at all, or in between."""

OWN = {0.03: 10.0, 0.1: 5.0, 0.2: 2.0, 0.3: 1.0, 0.45: 0.5, 0.6: 0.25}
"""How far clubs of one player may differ beyond that, as standard deviation of the log spread, and
how likely each is taken to be."""

STEPS, REACH = 41, 4.0
"""Nodes over a log spread, and how many standard deviations of its line they reach."""

MISHITS, ALIKE = 0.05, 20.0
"""The share of mishits before any shot is seen, and the shots for which the common one counts."""

CENTRE = 1.25
"""The squared error of a stock carry, in squared spreads over its shots, by simulation: what being
safe against mishits costs over the mean, and whole yards."""

NODES = tuple(NormalDist().inv_cdf((k + 0.5) / 9) for k in range(9))


@dataclass(frozen=True)
class LayUp:
    """A distance to leave, and the chance of finishing within 5 and within 10 of the flag.

    like_best: it can't be told apart from the best by spread and mishits; the best itself is.
    """

    stock: StockCarry
    within_5: float
    within_10: float
    like_best: bool


@dataclass(frozen=True)
class _Spread:
    """A spread as it is known: the logarithm of it, and the standard deviation of that."""

    log: float
    sd: float
    mishit: float


def lay_up(rows: Iterable[CarryRow]) -> tuple[LayUp, ...]:
    """The stock carries as distances to leave oneself, the best chance within 5 first.

    Stale ones are not offered, but tell of the player too. Depth only: a carry says nothing of
    left and right.
    """
    rows = tuple(rows)
    stocks = [row.stock for row in rows]
    known = spreads(stocks)
    found = [
        (row.stock, one, _within(row.stock, one, 5), _within(row.stock, one, 10))
        for row, one in zip(rows, known, strict=True)
        if not row.stale
    ]
    found.sort(key=lambda up: (-up[2], -up[3], up[0].carry))
    return tuple(
        LayUp(stock, in_5, in_10, not _apart(found[0][1], one)) for stock, one, in_5, in_10 in found
    )


def spreads(stocks: Sequence[StockCarry]) -> list[_Spread]:
    """The spread of each as all of them and the model bear it out.

    Log squared spreads have a known error for each number of shots; level, slope along the
    model's and what clubs differ beyond it are found with them, weighed over `OWN`.
    """
    if not stocks:
        return []
    free = [_kept(stock) - 1 for stock in stocks]
    model = [math.log(model_spread(float(s.carry), s.unit, None)) for s in stocks]
    middle = sum(model) / len(model)
    # Half of the squared ones: errors of the log spread itself.
    seen = [
        math.log(max(float(s.spread), 0.1)) - (digamma(f / 2) - math.log(f / 2)) / 2
        for s, f in zip(stocks, free, strict=True)
    ]
    errors = [trigamma(f / 2) / 4 for f in free]
    base = [middle + SLOPE * (m - middle) for m in model]
    tilt = [m - middle for m in model]
    fits = [_fit(seen, errors, base, tilt, own**2) for own in OWN]
    best = max(weight for weight, _ in fits)
    weights = [
        prior * math.exp(weight - best)
        for prior, (weight, _) in zip(OWN.values(), fits, strict=True)
    ]
    total = sum(weights)
    bad = [len(_flags(s)) - _kept(s) for s in stocks]
    common = (sum(bad) + MISHITS * ALIKE) / (sum(f + 1 for f in free) + sum(bad) + ALIKE)
    found = []
    for at, stock in enumerate(stocks):
        parts = [
            (w / total, *_drawn(float(stock.spread), free[at], *fit[at]))
            for w, (_, fit) in zip(weights, fits, strict=True)
        ]
        mean = sum(w * m for w, m, _ in parts)
        variance = sum(w * (v + (m - mean) ** 2) for w, m, v in parts)
        mishit = (bad[at] + ALIKE * common) / (len(_flags(stock)) + ALIKE)
        found.append(_Spread(mean, math.sqrt(variance), mishit))
    return found


def _fit(
    seen: Sequence[float],
    errors: Sequence[float],
    base: Sequence[float],
    tilt: Sequence[float],
    own: float,
) -> tuple[float, list[tuple[float, float]]]:
    """Log evidence, and where the others put each log spread, where clubs differ by `own`.

    A normal regression on level and slope with normal priors; mean and variance for each club.
    """
    weights = [1 / (error + own) for error in errors]
    a = 1 / LEVEL_SD**2 + sum(weights)
    b = sum(w * t for w, t in zip(weights, tilt, strict=True))
    c = 1 / SLOPE_SD**2 + sum(w * t * t for w, t in zip(weights, tilt, strict=True))
    off = [y - m for y, m in zip(seen, base, strict=True)]
    one = sum(w * o for w, o in zip(weights, off, strict=True))
    two = sum(w * o * t for w, o, t in zip(weights, off, tilt, strict=True))
    whole = a * c - b * b
    level, slope = (c * one - b * two) / whole, (a * two - b * one) / whole
    evidence = (
        sum(math.log(w) for w in weights)
        - math.log(whole)
        - sum(w * o * o for w, o in zip(weights, off, strict=True))
        + level * one
        + slope * two
    ) / 2
    found = []
    for o, m, t, weight in zip(off, base, tilt, weights, strict=True):
        # The line as the other clubs have it: this one must not tell of itself twice.
        rest_a, rest_b, rest_c = a - weight, b - weight * t, c - weight * t * t
        rest_one, rest_two = one - weight * o, two - weight * o * t
        rest = rest_a * rest_c - rest_b**2
        level = (rest_c * rest_one - rest_b * rest_two) / rest
        slope = (rest_a * rest_two - rest_b * rest_one) / rest
        spare = (rest_c - 2 * rest_b * t + rest_a * t * t) / rest
        found.append((m + level + slope * t, spare + own))
    return evidence, found


def _drawn(spread: float, free: int, line: float, variance: float) -> tuple[float, float]:
    """Mean and variance of a log spread that lies around its line, given what was seen.

    The shots' own law, chi-squared, is kept: so few of them are small by luck more often, and by
    more, than a normal law of the logarithm has it.
    """
    sd = math.sqrt(variance)
    nodes = [line + sd * REACH * (2 * k / (STEPS - 1) - 1) for k in range(STEPS)]
    square = max(spread, 0.1) ** 2 * free
    logs = [
        -free * node - square / (2 * math.exp(2 * node)) - ((node - line) / sd) ** 2 / 2
        for node in nodes
    ]
    top = max(logs)
    weights = [math.exp(log - top) for log in logs]
    total = sum(weights)
    mean = sum(w * node for w, node in zip(weights, nodes, strict=True)) / total
    return mean, sum(w * (n - mean) ** 2 for w, n in zip(weights, nodes, strict=True)) / total


def _within(stock: StockCarry, spread: _Spread, distance: float) -> float:
    """The chance that the next shot carries within `distance` of the stock carry.

    Over what the spread may be, with the error of the carry itself; a mishit is outside.
    """
    wider = math.sqrt(1 + CENTRE / _kept(stock))
    inside = [
        math.erf(distance / (math.exp(spread.log + spread.sd * z) * wider) / math.sqrt(2))
        for z in NODES
    ]
    return sum(inside) / len(inside) * (1 - spread.mishit)


def _apart(best: _Spread, other: _Spread) -> bool:
    """Whether the best is surely the better one."""
    sd = math.hypot(best.sd, other.sd)
    # What parts their chances: the spread, and what mishits take away, in the same measure.
    gap = other.log - best.log + math.log((1 - best.mishit) / (1 - other.mishit))
    return sd == 0 or NormalDist().cdf(gap / sd) >= SURE if best is not other else False


def _flags(stock: StockCarry) -> Sequence[bool]:
    kept: Sequence[bool] = stock.data["kept"]
    return kept


def _kept(stock: StockCarry) -> int:
    return max(sum(_flags(stock)), 2)


def lay_up_words(ups: Sequence[LayUp]) -> str:
    """The strategy in a line: which distance to leave, and what is as good; empty without any."""
    if not ups:
        return ""
    best = ups[0].stock
    said = (
        f"leave yourself {_named(best)}: {uncertain(ups[0].within_5)} % within 5 {best.unit} of "
        f"the distance, {uncertain(ups[0].within_10)} % within 10"
    )
    alike = [up.stock for up in ups[1:] if up.like_best]
    if len(ups) == 1:
        return said
    if len(alike) == len(ups) - 1:
        return f"{said}; the others can't be told apart from it"
    if alike:
        return f"{said}; {', '.join(map(_named, alike))} can't be told apart from it"
    then = ups[1]
    return f"{said}; then {_named(then.stock)}: {uncertain(then.within_5)} % within 5"


def _named(stock: StockCarry) -> str:
    return f"{stock.carry:.0f} {stock.unit} ({swing_title(stock.club, stock.swing).lower()})"
