"""The starting guess for a player with no shots: what a rating model expects of their index.

Three things make it: the model's table for the good shots, how far a player of that index hits,
and how many of their shots are bad ones, which widen what holds two in three.

Source of the table: Course Rating System Manual (USGA / World Handicap System), section 4,
accuracy pattern: width x depth in yards expected to hold two-thirds of the shots of the model's
scratch and bogey golfer. Whether that is meant along each axis or for both at once is not stated;
it is read along each axis here, because that lies between the table's joint reading and the
fairway widths that hold two thirds of such players' drives (32 yd scratch, 40 yd for 20).

Lengths: the same model's tee shots. Bad shots: their share, and what the table's two thirds stand
for then, were fitted so that a model of whole rounds gives the Course Rating's own scores; that
half of them come up short and half fly three times as wide, and twice as many of those off the
longest clubs, is our choice, no source. Beyond the table's last row the angle goes on, not the
line. The figures themselves stand in `catalogue.strokes.rating`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from drillrunner.catalogue.strokes.rating import (
    BAD_LEAST,
    BAD_MOST,
    BAD_PER_ABILITY,
    BOGEY_DRIVER,
    BOGEY_INDEX,
    DRIVER,
    HALF_WIDTH_SD,
    NO_INDEX,
    PATTERN,
    ROW_YARDS,
    Sex,
    ability,
)
from drillrunner.rules import Direction

Column = Sex
COLUMNS: tuple[Column, Column] = ("men", "women")

SHORTEST = float(ROW_YARDS[0])
LEAST_ABILITY = -6.0
"""Tour players stand at about -5."""

WILD, NO_WILD = 3.0, 60.0
"""How many times wider a wild one flies; under so many yards there are none."""

BIAS_IN_HALF_WIDTHS = 1.0
LOG_SPREAD_SD = 0.5
"""Above the 0.45 by which the published figures differ: about as weighty as two shots."""


@dataclass(frozen=True)
class Prior:
    """A guess at a pattern in one direction, before any shot.

    half_width: yards from the player's own centre that hold two shots in three (the median).
    bias_sd: yards, about no bias. log_sd: of the natural logarithm of the half-width.
    flat: equally plausible within four of those either way, instead of normal.
    """

    half_width: float
    bias_sd: float
    log_sd: float = LOG_SPREAD_SD
    flat: bool = False


def guess(
    distance: float,
    direction: Direction = "lateral",
    index: float | None = None,
    column: Column | None = None,
) -> Prior:
    """The starting guess for a shot of `distance` yards.

    index: handicap index, 20 where there is none; lower than -10 and above 54 count as those.
    column: of the table; the mean of both unless one is chosen.
    """
    index = _held(index)
    found = [_half(distance, direction, index, c) for c in _columns(column)]
    half = sum(found) / len(found)
    return Prior(half, BIAS_IN_HALF_WIDTHS * half)


def table_half(
    distance: float, direction: Direction, index: float | None, column: Column | None
) -> float:
    """The half-width that the table itself has, bad shots not looked at; yards."""
    found = []
    for name in _columns(column):
        scratch, bogey = (_at(distance, row) for row in PATTERN[name][direction])
        share = _share(_held(index), name)
        found.append(max(scratch + (bogey - scratch) * share, scratch / 2.0) / 2.0)
    return sum(found) / len(found)


def tee_shot(index: float | None, column: Column | None = None) -> float:
    """How far a player of this index hits their longest club, in yards."""
    found = []
    for name in _columns(column):
        scratch, bogey = DRIVER[name], BOGEY_DRIVER[name]
        found.append(max(scratch + (bogey - scratch) * _share(_held(index), name), 80.0))
    return sum(found) / len(found)


def bad_share(index: float | None) -> float:
    """The share of a player's shots that are bad ones."""
    return min(max(BAD_LEAST + BAD_PER_ABILITY * _ability(_held(index)), 0.0), BAD_MOST)


def _held(index: float | None) -> float:
    return min(max(NO_INDEX if index is None else index, -10.0), 54.0)


def _columns(column: Column | None) -> Sequence[Column]:
    return COLUMNS if column is None else (column,)


def _share(index: float, column: Column) -> float:
    """How far from the scratch to the bogey golfer of a column this index lies."""
    nought = _ability(0.0)
    return (_ability(index) - nought) / (_ability(BOGEY_INDEX[column]) - nought)


def _ability(index: float) -> float:
    return max(ability(index), LEAST_ABILITY)


def _half(distance: float, direction: Direction, index: float, column: Column) -> float:
    good = table_half(distance, direction, index, column) / HALF_WIDTH_SD
    bad = bad_share(index) / 2.0
    if direction == "depth":
        return good * _two_in_three(round(bad, 4), math.inf)
    if distance < NO_WILD:
        bad = 0.0
    long = min(max(4.0 * distance / tee_shot(index, column) - 3.0, 0.0), 1.0)
    return good * _two_in_three(round(bad * (1.0 + long), 4), WILD)


@lru_cache(maxsize=256)
def _two_in_three(bad: float, wider: float) -> float:
    """The half-width that holds two in three if so many are so much wider, spread of the rest 1."""

    def inside(half: float) -> float:
        wide = math.erf(half / wider / math.sqrt(2.0)) if math.isfinite(wider) else 0.0
        return (1.0 - bad) * math.erf(half / math.sqrt(2.0)) + bad * wide

    return _root(inside, 2.0 / 3.0)


def _root(rising: Callable[[float], float], wanted: float) -> float:
    low, high = 0.0, 20.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return high


def _at(distance: float, values: Sequence[int]) -> float:
    """Interpolate one column; above its last row its last angle goes on.

    Below 90 yd the first row holds: measured wedge errors shrink no further in yards there
    (19.0 % at 45 m and 8.4 % at 85 m: Open Sports Sciences Journal 14:86, 2021).
    """
    if distance <= ROW_YARDS[0]:
        return float(values[0])
    if distance >= ROW_YARDS[len(values) - 1]:
        return values[-1] * distance / ROW_YARDS[len(values) - 1]
    row = len(values) - 2
    while row > 0 and distance < ROW_YARDS[row]:
        row -= 1
    share = (distance - ROW_YARDS[row]) / (ROW_YARDS[row + 1] - ROW_YARDS[row])
    return values[row] + share * (values[row + 1] - values[row])
