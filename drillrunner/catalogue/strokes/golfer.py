"""The golfer that expected strokes are worked out for: how far, how wide, how often badly.

Accuracy, lengths and bad shots follow the rating model (`rating`). More spread from rough and sand:
Cochran & Stobbs 1968, second-hand. What no source gives is our choice and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from drillrunner.catalogue.strokes.rating import (
    BAD_LEAST,
    BAD_MOST,
    BAD_PER_ABILITY,
    BOGEY_ABILITY,
    DRIVER,
    HALF_WIDTH_SD,
    PATTERN,
    ROW_YARDS,
    Sex,
    between,
)
from drillrunner.rules.shot import Direction

Lie = Literal["tee", "fairway", "rough", "sand", "recovery"]
LIES: tuple[Lie, ...] = ("tee", "fairway", "rough", "sand", "recovery")

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

WEDGE, WEDGE_POWER = 90.0, 0.9
"""Below 90 yd the sd falls with a power of the length near 1. Our choice (the same source as the
lies has 1, James & Rees 2008, Int. J. Sports Sci. Coaching 3, come to 0.76)."""


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
        across, along = self._sd(length, "lateral"), self._sd(length, "depth")
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

    def _sd(self, length: float, direction: Direction) -> float:
        at = max(length, WEDGE)
        scratch, bogey = (
            between(at, list(zip(ROW_YARDS, row, strict=False)))
            for row in PATTERN[self.sex][direction]
        )
        wide = scratch + (bogey - scratch) * self.ability / BOGEY_ABILITY[self.sex]
        sd = max(wide, scratch / 2.0) / 2.0 / HALF_WIDTH_SD
        return sd if length >= WEDGE else sd * (length / WEDGE) ** WEDGE_POWER
