"""The golfer that expected strokes are worked out for: how far, how wide, how often badly.

Sources. Accuracy and lengths: Course Rating System Manual (USGA / World Handicap System), section
4. More spread from rough and sand: Cochran & Stobbs 1968, second-hand. What no source gives is our
choice and says so. The two constants that were fitted, and only those, are `HALF_WIDTH_SD` and
`BAD_PER_ABILITY`: to the yardage ratings of scratch and bogey golfer at 6,400 yd (L/220 + 40.9,
second-hand, and L/160 + 50.7, from memory; both the average of the better half of scores).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Sex = Literal["men", "women"]
Lie = Literal["tee", "fairway", "rough", "sand", "recovery"]
LIES: tuple[Lie, ...] = ("tee", "fairway", "rough", "sand", "recovery")

_SHOTS = (90, 110, 130, 150, 170, 190, 210, 230, 250)
_ROWS: dict[Sex, dict[str, tuple[tuple[int, ...], tuple[int, ...]]]] = {
    "men": {
        "width": ((11, 12, 13, 15, 18, 23, 29, 35, 41), (16, 17, 18, 20, 24, 29)),
        "depth": ((14, 15, 15, 16, 17, 18, 19, 20, 21), (19, 21, 23, 25, 28, 34)),
    },
    "women": {
        "width": ((12, 14, 17, 20, 26, 30, 34), (17, 19, 21, 24)),
        "depth": ((15, 16, 17, 18, 20, 24, 28), (22, 24, 27, 30)),
    },
}
"""Width and depth, yd, that hold two shots in three: scratch and bogey, from 90 yd by 20."""

BOGEY_ABILITY: dict[Sex, float] = {"men": 20.0, "women": 24.0}
DRIVER: dict[Sex, float] = {"men": 250.0, "women": 210.0}
SHORTER_FROM_FAIRWAY: dict[Sex, float] = {"men": 30.0, "women": 20.0}
SHORTER_PER_ABILITY = 2.5
LONGEST_SHARE: dict[Lie, float] = {"fairway": 1.0, "rough": 0.9, "sand": 0.75, "recovery": 0.4}
"""Of the longest from the fairway. Our choice."""
LIE_SD: dict[Lie, float] = {"tee": 1.0, "fairway": 1.0, "rough": 1.5, "sand": 1.8, "recovery": 1.5}
SHORT_SHARE: dict[Lie, float] = {
    "tee": 0.5,
    "fairway": 1.0,
    "rough": 1.5,
    "sand": 1.5,
    "recovery": 1.0,
}
"""How many of the bad shots fly short, to the ones that go wild. Our choice."""

HALF_WIDTH_SD = 1.04867
"""Half-widths in an sd: between the table's reading along each axis, 0.967, and both, 1.330."""
BAD_LEAST, BAD_PER_ABILITY, BAD_MOST = 0.01, 0.010803, 0.45
WEDGE, WEDGE_POWER = 90.0, 0.9
"""Below 90 yd the sd falls with a power of the length near 1. Our choice (the same source as the
lies has 1, James & Rees 2008, Int. J. Sports Sci. Coaching 3, come to 0.76)."""

_ABILITY: dict[Sex, tuple[tuple[float, float], ...]] = {
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
    return between(index, _ABILITY[sex])


@dataclass(frozen=True)
class Golfer:
    """What the solver knows of a player. The factors change one part of the game.

    driver_width: sideways sd of the longest from a tee. driver_longer: yards added to it.
    approach: both sd's of shots of 60 yd and more off fairway and rough, and of tee shots at the
    flag; those that fly short keep theirs. wedge_depth: depth sd below 120 yd. short: both sd's
    below 60 yd. putting: angle and pace. bad: how often a shot is a bad one.
    """

    ability: float
    sex: Sex = "men"
    driver_width: float = 1.0
    driver_longer: float = 0.0
    approach: float = 1.0
    wedge_depth: float = 1.0
    short: float = 1.0
    putting: float = 1.0
    bad: float = 1.0

    @property
    def driver(self) -> float:
        """The longest from a tee, yd."""
        return DRIVER[self.sex] - SHORTER_PER_ABILITY * self.ability + self.driver_longer

    def longest(self, lie: Lie) -> float:
        """The longest that can be meant from a lie, yd."""
        if lie == "tee":
            return self.driver
        fairway = self.driver - self.driver_longer - SHORTER_FROM_FAIRWAY[self.sex]
        return fairway * LONGEST_SHARE[lie]

    @property
    def bad_shots(self) -> float:
        """How often a shot is a bad one."""
        share = BAD_LEAST + BAD_PER_ABILITY * self.ability
        return min(max(share, 0.0), BAD_MOST) * self.bad

    def sds(self, length: float, lie: Lie) -> tuple[float, float]:
        """Sideways and depth sd, yd, of a solid shot meant to go `length` yards from a lie."""
        across, along = self._sd(length, "width"), self._sd(length, "depth")
        factor = LIE_SD[lie]
        if lie == "tee" and length >= self.driver - 1e-9:
            across *= self.driver_width
        if length < 60.0:
            factor *= self.short
        if length < 120.0:
            along *= self.wedge_depth
        return across * factor, along * factor

    def held(self, length: float, lie: Lie, *, at_flag: bool) -> float:
        """The factor on both sd's of a shot that counts as an approach and does not fly short."""
        counts = lie in ("fairway", "rough") or (lie == "tee" and at_flag)
        return self.approach if counts and length >= 60.0 else 1.0

    def _sd(self, length: float, which: str) -> float:
        at = max(length, WEDGE)
        scratch, bogey = (
            between(at, list(zip(_SHOTS, row, strict=False))) for row in _ROWS[self.sex][which]
        )
        wide = scratch + (bogey - scratch) * self.ability / BOGEY_ABILITY[self.sex]
        sd = max(wide, scratch / 2.0) / 2.0 / HALF_WIDTH_SD
        return sd if length >= WEDGE else sd * (length / WEDGE) ** WEDGE_POWER
