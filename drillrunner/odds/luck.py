"""Luck or progress: what a history of scores tells, beside what luck alone would do.

Whether the scores changed is for `odds.change`, which may be asked after every run.
Records by luck: Renyi 1962; Glick 1978, Am. Math. Monthly 85:2-26. Whole-number scores tie, so
they are counted on the player's own scores, shuffled.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal, NamedTuple

import numpy as np

from drillrunner.odds.change import ENOUGH, by_day, fortunes, no_more_than
from drillrunner.odds.shape import Floats
from drillrunner.odds.words import no_change
from drillrunner.rules import Score
from drillrunner.rules.score import Better

SHUFFLES = 4_000
CELLS = 4_000_000
"""Scores shuffled in all, so that a long history takes no longer than a short one."""

LEAST_DAYS = 10
"""Days of play, or runs where the days are not known, before a change is spoken of."""

FEWEST = 5
"""Scores before a trend is drawn: what three or four leave over does not tell how wide it is."""

TOO_EARLY = "too early to tell"


class Trend(NamedTuple):
    """Change of the score per run, and its 80 % interval."""

    slope: float
    low: float
    high: float


class ByLuck(NamedTuple):
    """Records that an unchanging player sets: the mean, and where four in five such players lie."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class Luck:
    """What a history says.

    runs: finished ones. days: those they came on, or the runs where that is not known. records:
    strict ones set, the first score included. trend: over the runs with a score; `None` below
    five of them. chance: luck alone ever gets as far as here at most so often, however often one
    looks; `None` below ten days. way: how the later runs changed, `None` while luck may have done
    it. steady: a change of more percent of the middle score is ruled out; `None` if none is.
    line: all of it in plain words.
    """

    runs: int
    days: int
    records: int
    by_luck: ByLuck
    trend: Trend | None
    chance: float | None
    way: Literal["better", "worse"] | None
    steady: int | None
    line: str


def judged(
    scores: Sequence[Score],
    better: Better,
    seed: int = 1,
    days: Sequence[date] | None = None,
) -> Luck:
    """Judge the scores of one player's finished runs of one drill as set, oldest first.

    A run that ended without a score stands behind every score, and sets no record. days: of each
    run; without them every run counts for a day of its own.
    """
    rng = np.random.default_rng(seed)
    sign = 1.0 if better == "higher" else -1.0
    values = np.array([-np.inf if s is None else sign * float(s) for s in scores])
    count = len(values)
    shuffled = _shuffled(values, rng)
    by_luck = records(shuffled)
    low, high = (
        np.quantile(by_luck, (0.1, 0.9), method="closest_observation") if count else (0.0, 0.0)
    )
    luck = ByLuck(float(by_luck.mean()) if count else 0.0, float(low), float(high))
    daily = values.tolist() if days is None else by_day(values.tolist(), days)
    chance, way, steady = _change(daily, seed)
    return Luck(
        runs=count,
        days=len(daily),
        records=int(records(values[None, :])[0]),
        by_luck=luck,
        trend=_trend(values * sign, rng),
        chance=chance,
        way=way,
        steady=steady,
        line=_line(chance, way, steady),
    )


def _change(
    daily: Sequence[float], seed: int
) -> tuple[float | None, Literal["better", "worse"] | None, int | None]:
    """How far luck alone gets at most, which way the scores went, and what is ruled out."""
    if len(daily) < LEAST_DAYS:
        return None, None, None
    risen, fallen = (course[-1] for course in fortunes(daily, seed))
    most = max(risen, fallen)
    chance = min(1 / most, 1.0) if most > 0 else 1.0
    if most < ENOUGH:
        return chance, None, no_more_than(daily, seed)
    return chance, "better" if risen > fallen else "worse", None


def _line(chance: float | None, way: str | None, steady: int | None) -> str:
    if way is not None and chance is not None:
        return f"your later runs are {way}; luck alone does that {often(chance)}"
    return TOO_EARLY if steady is None else no_change(steady)


def best_by_luck(scores: Sequence[Score], better: Better) -> tuple[Score, ...]:
    """The best so far that half of all unchanging players have reached, run by run.

    Such a player makes the same scores in any order: by run k the best is no better than a score
    which i of the n do not beat with the chance C(i, k) / C(n, k). `None`: half have no score yet.
    """
    worst = -math.inf
    sign = 1 if better == "higher" else -1
    ordered = sorted(worst if score is None else float(sign * score) for score in scores)
    count, at, found = len(ordered), 0, []
    for k in range(1, count + 1):
        at = max(at, k)
        while at < count and _ways(at, k) - _ways(count, k) < math.log(0.5) - 1e-9:
            at += 1
        value = ordered[at - 1]
        found.append(None if value == worst else Decimal(str(sign * value)))
    return tuple(found)


def _ways(of: int, some: int) -> float:
    """Logarithm of the number of ways to choose some of so many."""
    return math.lgamma(of + 1) - math.lgamma(some + 1) - math.lgamma(of - some + 1)


def records(rows: Floats) -> Floats:
    """Strict records in each row, higher being better; -inf is no score and sets none."""
    if rows.shape[1] == 0:
        return np.zeros(len(rows))
    before = np.maximum.accumulate(rows, axis=1)
    first = np.isfinite(rows[:, 0]).astype(float)
    found: Floats = first + (rows[:, 1:] > before[:, :-1]).sum(axis=1)
    return found


def _shuffled(values: Floats, rng: np.random.Generator) -> Floats:
    rows = max(min(SHUFFLES, CELLS // max(len(values), 1)), 200)
    return rng.permuted(np.tile(values, (rows, 1)), axis=1)


def _trend(values: Floats, rng: np.random.Generator) -> Trend | None:
    """Least squares; the interval comes from shuffling what the line leaves over."""
    known = np.isfinite(values)
    if known.sum() < FEWEST:
        return None
    x = np.flatnonzero(known).astype(float)
    y = values[known]
    x = x - x.mean()
    square = float(x @ x)
    slope = float(x @ y) / square
    rest = y - y.mean() - slope * x
    # The line takes two degrees of freedom out of what is left over.
    rest *= (len(y) / (len(y) - 2)) ** 0.5
    low, high = np.quantile(_shuffled(rest, rng) @ x / square, (0.1, 0.9)).tolist()
    return Trend(slope, slope + low, slope + high)


def often(chance: float) -> str:
    """How often luck alone does something at most, in words."""
    if chance < 0.001:
        return "less than once in 1000"
    times = math.floor(1 / chance)
    return "as often as not" if times < 2 else f"at most once in {times}"
