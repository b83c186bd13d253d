"""Whether scores changed, in a way that stays true however often it is looked at.

The rank of the newest of n scores among all of them, ties drawn and scaled to (0, 1), is uniform
and independent of the ranks before it for a player whose scores could have come in any order.
Betting on it gives a fortune that starts at 1 and is not expected to grow (a conformal test
martingale: Vovk, Gammerman & Shafer, Algorithmic Learning in a Random World), and such a fortune
*ever* reaches 1/a with chance at most a (Ville's inequality, 1939). So looking after every run
costs nothing.

The bet here: with z the normal score of the rank, exp(w z - w^2 / 2), w growing with the number
of scores before, as a slow change shows more the longer it goes on; the mean over several rates.
It is ours; `python -m tests.odds.power` prints what it finds beside other bets and the test
that was used before.

Form that comes by the day would make the runs of a day alike, and the ranks no longer
independent, so a day counts once, with its middle score.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right, insort
from collections.abc import Hashable, Iterable, Sequence
from itertools import groupby, pairwise
from statistics import NormalDist

import numpy as np

ENOUGH = 10.0
"""The fortune at which a change is called one: luck alone ever gets there once in ten at most."""

STEEP = 1.2
"""The largest weight of a rank: more would stake nearly all on one day."""

BY_COUNT = (0.015, 0.03, 0.06)
BY_ROOT = (0.05, 0.1, 0.2)
"""Weights per score before, and per square root of their number."""

CHANGES = (10, 15, 20, 25, 30, 40, 50)
"""Changes, in percent of the middle score, that may be ruled out."""


def by_day(values: Sequence[float], days: Sequence[Hashable]) -> list[float]:
    """One value a day: the one that half of the day's reach, higher being better.

    days: of each value, equal ones side by side.
    """
    pairs = zip(days, values, strict=True)
    return [_middle([v for _, v in group]) for _, group in groupby(pairs, lambda pair: pair[0])]


def fortunes(values: Sequence[float], seed: int = 1) -> tuple[list[float], list[float]]:
    """What betting on "better" and on "worse" has come to after each value.

    Ties are drawn by the seed and the place alone, so that a further value leaves what stood.
    """
    draws = np.random.default_rng(seed).random(len(values)).tolist()
    normal, known = NormalDist(), list[float]()
    better, worse = _Fortune(1), _Fortune(-1)
    for count, (value, draw) in enumerate(zip(values, draws, strict=True)):
        first = bisect_left(known, value)
        equal = bisect_right(known, value) - first + 1
        insort(known, value)
        share = (first + draw * equal) / (count + 1)
        score = normal.inv_cdf(min(max(share, 1e-12), 1 - 1e-12))
        better.stake(score, count)
        worse.stake(score, count)
    return better.course, worse.course


class _Fortune:
    """One bettor: the logarithm of what each rate has come to, and the mean after each stake."""

    def __init__(self, sign: int) -> None:
        self.sign, self.course = sign, list[float]()
        self._logs = [0.0] * (len(BY_COUNT) + len(BY_ROOT))

    def stake(self, score: float, count: int) -> None:
        rates = (*(c * count for c in BY_COUNT), *(c * math.sqrt(count) for c in BY_ROOT))
        for at, rate in enumerate(rates):
            weight = min(rate, STEEP)
            self._logs[at] += self.sign * weight * score - weight * weight / 2
        # Far beyond what anybody reads, and short of what a float can hold.
        self.course.append(sum(math.exp(min(log, 600.0)) for log in self._logs) / len(self._logs))


def no_more_than(values: Sequence[float], seed: int = 1) -> int | None:
    """The smallest of `CHANGES` that the scores rule out both ways; `None` if none is.

    A straight change of so many percent of the middle score, from the first value to the last, is
    taken out again; if what is left went the other way at any time by more than luck allows, the
    change was no such. Where the change is a larger one, a smaller is named once in ten at most,
    each way.

    Scores come in steps, which would part equal ones by the slope alone; so each is first drawn
    from its own step.
    """
    middle = _middle(list(values)) if values else -math.inf
    if len(values) < 2 or not math.isfinite(middle) or middle == 0:
        return None
    drawn = np.random.default_rng(seed + 1).random(len(values)) * _step(values) + values
    smooth: list[float] = drawn.tolist()
    return next((n for n in CHANGES if _ruled_out(smooth, abs(middle) * n / 100, seed)), None)


def _step(values: Sequence[float]) -> float:
    """The smallest step between two scores; 1, a ball or a yard, if all are the same."""
    known = sorted(value for value in set(values) if math.isfinite(value))
    return min((b - a for a, b in pairwise(known)), default=1.0)


def _ruled_out(values: Sequence[float], change: float, seed: int) -> bool:
    step = change / (len(values) - 1)

    def without(slope: float) -> Iterable[float]:
        return (value - slope * at for at, value in enumerate(values))

    # Without a gain that never was they fall, and the other way round.
    _, fallen = fortunes(tuple(without(step)), seed)
    if max(fallen) < ENOUGH:
        return False
    risen, _ = fortunes(tuple(without(-step)), seed)
    return max(risen) >= ENOUGH


def _middle(values: list[float]) -> float:
    return sorted(values, reverse=True)[(len(values) - 1) // 2]
