"""The starting guess for a player with no shots: what a rating model expects of their index.

Source of the table: Course Rating System Manual (USGA / World Handicap System), section 4,
accuracy pattern: width x depth in yards expected to hold two-thirds of the shots of the model's
scratch and bogey golfer. Whether that is meant along each axis or for both at once is not stated;
it is read along each axis here, because that lies between the table's joint reading and the
fairway widths that hold two thirds of such players' drives (32 yd scratch, 40 yd for 20).
The bogey golfer's index, 20 for men and 24 for women, is from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from drillrunner.rules import Direction

Column = Literal["men", "women"]
COLUMNS: tuple[Column, Column] = ("men", "women")

BOGEY_INDEX: dict[Column, float] = {"men": 20.0, "women": 24.0}
NO_INDEX = 20.0
"""The index of a player who gave none."""

_SHOTS = (90, 110, 130, 150, 170, 190, 210, 230, 250)
SHORTEST = float(_SHOTS[0])
_WIDTHS: dict[tuple[Column, str], tuple[int, ...]] = {
    ("men", "scratch"): (11, 12, 13, 15, 18, 23, 29, 35, 41),
    ("women", "scratch"): (12, 14, 17, 20, 26, 30, 34),
    ("men", "bogey"): (16, 17, 18, 20, 24, 29),
    ("women", "bogey"): (17, 19, 21, 24),
}
_DEPTHS: dict[tuple[Column, str], tuple[int, ...]] = {
    ("men", "scratch"): (14, 15, 15, 16, 17, 18, 19, 20, 21),
    ("women", "scratch"): (15, 16, 17, 18, 20, 24, 28),
    ("men", "bogey"): (19, 21, 23, 25, 28, 34),
    ("women", "bogey"): (22, 24, 27, 30),
}

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
    table = _WIDTHS if direction == "lateral" else _DEPTHS
    index = min(max(NO_INDEX if index is None else index, -10.0), 54.0)
    widths = []
    for name in COLUMNS if column is None else (column,):
        scratch = _at(distance, table[name, "scratch"])
        bogey = _at(distance, table[name, "bogey"])
        widths.append(scratch + (bogey - scratch) * index / BOGEY_INDEX[name])
    half = sum(widths) / len(widths) / 2.0
    return Prior(half, BIAS_IN_HALF_WIDTHS * half)


def _at(distance: float, values: Sequence[int]) -> float:
    """Interpolate one column; above its last row its last slope goes on.

    Below 90 yd the first row holds: measured wedge errors shrink no further in yards there
    (19.0 % at 45 m and 8.4 % at 85 m: Open Sports Sciences Journal 14:86, 2021).
    """
    if distance <= _SHOTS[0]:
        return float(values[0])
    row = len(values) - 2
    while row > 0 and distance < _SHOTS[row]:
        row -= 1
    share = (distance - _SHOTS[row]) / (_SHOTS[row + 1] - _SHOTS[row])
    return values[row] + share * (values[row + 1] - values[row])
