"""Luck or progress: what a history of scores tells, beside what luck alone would do.

Records by luck: Renyi 1962; Glick 1978, Am. Math. Monthly 85:2-26. Whole-number scores tie, so
they are counted on the player's own scores, shuffled.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple

import numpy as np

from drillrunner.odds.shape import Floats
from drillrunner.rules import Score
from drillrunner.rules.game import Better

SHUFFLES = 4_000
CELLS = 4_000_000
"""Scores shuffled in all, so that a long history takes no longer than a short one."""

LEAST = 10
"""Runs before early is compared with late."""

FEWEST = 5
"""Scores before a trend is drawn: what three or four leave over does not tell how wide it is."""

SURE = 0.05
"""Luck alone must do as much less often than this before a change is called one."""

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

    runs: finished ones. records: strict ones set, the first score included. trend: over the runs
    with a score; `None` below five of them. chance: how often luck alone parts the early half
    from the late one as far as here; `None` below ten runs. way: how the later runs changed,
    `None` while luck may have done it. line: all of it in plain words.
    """

    runs: int
    records: int
    by_luck: ByLuck
    trend: Trend | None
    chance: float | None
    way: Literal["better", "worse"] | None
    line: str


def look_back(scores: Sequence[Score], better: Better, seed: int = 1) -> Luck:
    """Judge the scores of one player's finished runs of one drill as set, oldest first.

    A run that ended without a score stands behind every score, and sets no record.
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
    chance, gain = _early_late(values, rng)
    changed = chance is not None and chance < SURE
    way: Literal["better", "worse"] = "better" if gain > 0 else "worse"
    return Luck(
        count,
        int(records(values[None, :])[0]),
        luck,
        _trend(values * sign, rng),
        chance,
        way if changed else None,
        f"your later runs are {way}; luck alone does that {often(chance)}"
        if changed and chance is not None
        else TOO_EARLY,
    )


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


def _early_late(values: Floats, rng: np.random.Generator) -> tuple[float | None, float]:
    """Two-sided permutation test on the ranks of the late half against the early one.

    Returns how often luck does as much, and the gain in mean rank (positive: better lately).
    """
    count = len(values)
    if count < LEAST:
        return None, 0.0
    _, group, sizes = np.unique(values, return_inverse=True, return_counts=True)
    ranks = (np.cumsum(sizes) - (sizes - 1) / 2.0)[group]
    half = count // 2
    late = ranks[-half:].mean() - ranks[:half].mean()
    rows = _shuffled(ranks, rng)
    parted = rows[:, -half:].mean(axis=1) - rows[:, :half].mean(axis=1)
    as_far = np.abs(parted) >= abs(late) - 1e-9
    # The history as it was is one of its own shuffles.
    return float((as_far.sum() + 1) / (len(rows) + 1)), float(late)


def often(chance: float) -> str:
    """How often luck alone does something, in words."""
    if chance < 0.001:
        return "less than once in 1000"
    times = round(1 / chance)
    return "more often than not" if times < 2 else f"about once in {times}"
