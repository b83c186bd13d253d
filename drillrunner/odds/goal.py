"""The chance that an index comes down to a goal within so many rounds, by seeded rolling.

The rules of the index are handed in as numbers, in whole tenths, and worked out here for thousands
of imagined seasons at once: the same arithmetic as rolling one after the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Tenths = npt.NDArray[np.int64]

NONE = 10**6
"""No index yet, in tenths: above every goal."""

WEIGHT = 10
"""Scores that the usual spread and mean weigh beside the player's own. Our choice, no source."""

BELOW = 0.93
"""Standard deviations that the lowest 8 of 20 normals lie below their mean: 0.9284 (computed)."""

SPREADS = ((59, 2.5), (129, 2.7), (219, 3.0), (309, 3.6))
WIDEST = 4.6
"""Index in tenths, up to which, and the spread of its differentials; above the last, the widest.

Computed from the odds of low scores in the USGA Handicap Manual, appendix E, taking one round in
five at the index or better and a normal spread.
"""


@dataclass(frozen=True)
class Rules:
    """What rolling must know of the rules, all in tenths.

    use: scores in the record to how many of the lowest count and what is added to their mean.
    latest: scores that count at all. soft, hard: rises over the low index. exceptional: how far
    below the index, the farthest first, and what it takes off the latest scores. rounded: whether
    the rounded differential is compared.
    """

    use: Mapping[int, tuple[int, int]]
    latest: int
    soft: int
    hard: int
    most: int
    exceptional: Sequence[tuple[int, int]]
    rounded: bool
    low_from: int


@dataclass(frozen=True)
class Season:
    """Where a record stands, and when the next rounds are played.

    latest: the differentials that count, in tenths, oldest first. count: all scores so far. index:
    of now, in tenths. lows: for each coming round the lowest index known so far in the year before
    it, if any. years: for each coming round the first coming one that is in the year before it.
    """

    latest: tuple[int, ...]
    count: int
    index: int | None
    lows: tuple[int | None, ...]
    years: tuple[int, ...]


def form(differentials: Sequence[float], index: float | None) -> tuple[float, float]:
    """Mean and standard deviation of a player's next differentials, from the latest 20.

    The player's own, shrunk with the weight of `WEIGHT` scores to what goes with the index (without
    one: with the own mean). Raises ValueError without any differential.
    """
    if not differentials:
        raise ValueError("expected at least one differential")
    own = np.array(differentials, dtype=float)
    level = float(own.mean()) if index is None else index
    spread = next((sd for most, sd in SPREADS if round(level * 10) <= most), WIDEST)
    usual = float(own.mean()) if index is None else index + BELOW * spread
    n = len(own)
    mean = (n * float(own.mean()) + WEIGHT * usual) / (n + WEIGHT)
    variance = (n * float(own.var()) + WEIGHT * spread**2) / (n + WEIGHT)
    return mean, variance**0.5


def within(
    season: Season,
    rules: Rules,
    goal: int,
    mean: float,
    spread: float,
    seed: int,
    rolls: int = 4000,
) -> tuple[float, ...]:
    """The chance to have been at the goal, in tenths, within 1, 2 ... rounds.

    Differentials are normal, `mean` and `spread` in strokes. One number a coming round.
    """
    rounds = len(season.lows)
    drawn = np.random.default_rng(seed).normal(mean, spread, (rounds, rolls)) * 10
    best = np.minimum.accumulate(rolled(season, rules, drawn), axis=0)
    return tuple(float(share) for share in (best <= goal).mean(axis=1))


def rolled(season: Season, rules: Rules, drawn: npt.NDArray[np.float64]) -> Tenths:
    """The index in tenths after each round of each roll, far above the most while there is none.

    drawn: unrounded differentials in tenths, rounds x rolls.
    """
    rounds, rolls = drawn.shape
    known = np.tile(np.array(season.latest, dtype=np.int64)[:, None], (1, rolls))
    indices = np.full((rounds, rolls), NONE, dtype=np.int64)
    in_force = np.full(rolls, NONE if season.index is None else season.index, dtype=np.int64)
    for at in range(rounds):
        tenths = np.floor(drawn[at] + 0.5).astype(np.int64)
        known = np.vstack([known, tenths])[-rules.latest :]
        below = in_force - (tenths if rules.rounded else drawn[at])
        taken = np.zeros(rolls, dtype=np.int64)
        for least, off in reversed(rules.exceptional):
            taken[(below >= least) & (in_force != NONE)] = off
        known += taken
        count = season.count + at + 1
        found = rules.use.get(min(count, rules.latest))
        if found is None:
            continue
        use, added = found
        total = np.partition(known, use - 1, axis=0)[:use].sum(axis=0)
        index = (2 * total + use) // (2 * use) + added
        if count >= rules.latest:
            index = _capped(index, _low(season, rules, indices, at), rules)
        indices[at] = in_force = np.minimum(index, rules.most)
    return indices


def _low(season: Season, rules: Rules, indices: Tenths, at: int) -> Tenths:
    before = season.lows[at]
    first = max(season.years[at], rules.low_from - season.count - 1)
    own: Tenths = indices[first:at].min(axis=0, initial=NONE)
    return own if before is None else np.minimum(own, before)


def _capped(plain: Tenths, low: Tenths, rules: Rules) -> Tenths:
    over = plain - low - rules.soft
    held = np.minimum(low + rules.soft + (over + 1) // 2, low + rules.hard)
    return np.where(over > 0, held, plain)
