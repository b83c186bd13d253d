"""The rating model's golfers, and where a handicap index stands between and beyond them.

Source: Course Rating System Manual (USGA / World Handicap System), section 4: the accuracy pattern
and the lengths of the scratch and the bogey golfer. The bogey golfer's index is from memory. The
two constants that were fitted, and only those, are `HALF_WIDTH_SD` and `BAD_PER_ABILITY`: to the
yardage ratings of both at 6,400 yd (L/220 + 40.9, second-hand, and L/160 + 50.7, from memory; both
the average of the better half of scores).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from drillrunner.rules.shot import Direction

Sex = Literal["men", "women"]

ROW_YARDS = (90, 110, 130, 150, 170, 190, 210, 230, 250)
PATTERN: dict[Sex, dict[Direction, tuple[tuple[int, ...], tuple[int, ...]]]] = {
    "men": {
        "lateral": ((11, 12, 13, 15, 18, 23, 29, 35, 41), (16, 17, 18, 20, 24, 29)),
        "depth": ((14, 15, 15, 16, 17, 18, 19, 20, 21), (19, 21, 23, 25, 28, 34)),
    },
    "women": {
        "lateral": ((12, 14, 17, 20, 26, 30, 34), (17, 19, 21, 24)),
        "depth": ((15, 16, 17, 18, 20, 24, 28), (22, 24, 27, 30)),
    },
}
"""Width and depth, yd, that hold two shots in three: scratch and bogey, from 90 yd by 20."""

BOGEY_ABILITY: dict[Sex, float] = {"men": 20.0, "women": 24.0}
"""That of the bogey golfer, where scratch is 0."""
BOGEY_INDEX: dict[Sex, float] = {"men": 20.0, "women": 24.0}
NO_INDEX = 20.0
"""The index that is taken for a player who gave none."""

DRIVER: dict[Sex, float] = {"men": 250.0, "women": 210.0}
"""The scratch golfer's longest from a tee, yd."""
BOGEY_DRIVER: dict[Sex, float] = {"men": 200.0, "women": 150.0}

HALF_WIDTH_SD = 1.04867
"""Half-widths of the table in an sd of the good shots: between the table's reading along each axis,
0.967, and both, 1.330."""
BAD_LEAST, BAD_PER_ABILITY, BAD_MOST = 0.01, 0.010803, 0.45
"""The share of bad shots: the least (our choice), what each ability adds, and the most."""

ABILITY: dict[Sex, tuple[tuple[float, float], ...]] = {
    "men": (
        (-1.91, -3),
        (-0.21, 0),
        (2.42, 3),
        (5.2, 6),
        (8.0, 9),
        (11.1, 12),
        (14.3, 15),
        (18.0, 18),
        (21.7, 21),
        (25.8, 24),
        (30.2, 27),
        (34.6, 30),
        (39.6, 33),
    ),
    "women": ((-0.8, 0), (4.6, 6), (10.6, 12), (17.5, 18), (26.0, 24), (35.7, 30)),
}
"""Handicap index to ability: so that the lowest 8 of 20 differentials of the golfer so described
come to the index (Rules of Handicapping 5.2b). Worked out once, rounded."""


def between(x: float, points: Sequence[tuple[float, float]]) -> float:
    """Interpolate along points in order; beyond them the last slopes go on."""
    for left, right in pairwise(points):  # noqa: B007
        if x <= right[0]:
            break
    return left[1] + (right[1] - left[1]) * (x - left[0]) / (right[0] - left[0])


def ability(index: float, sex: Sex = "men") -> float:
    """The model's ability for a handicap index: 0 plays scratch, 20 (women 24) bogey golf."""
    return between(index, ABILITY[sex])
