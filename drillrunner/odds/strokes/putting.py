"""Putts: how often one drops, what it leaves, and how many it takes, by length in feet.

Model: a putt drops if its angle is small enough and its pace would carry it less than 3 ft past
an empty hole; both errors are normal. sd's for a tour player fitted to M. Broadie's 2016-18 tour
putts as given with A. Gelman's golf case study. Other players: pace from the share of ten-footers
left short by 80 and 90 golfers (Broadie, Golf Magazine, December 2014, second-hand), angle from the
length holed half the time (6 ft for an index of 0 to 9: New York Times, 21 July 2008, second-hand;
5 ft for a 90-shooter: Broadie 2014). Which index such golfers have is our choice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import erf, sqrt

import numpy as np

from drillrunner.odds.shape import Floats

HOLE_FT, BALL_FT = 4.25 / 24, 1.68 / 24
"""Radii, feet (Rules of Golf, definition of the hole; Equipment Rules, size of the ball)."""
TOUR_ANGLE, TOUR_PACE = 0.0178021, 0.080067
AIM_PAST, TOO_FAR = 1.0, 3.0

FEET: Floats = np.concatenate(
    [np.arange(1, 41) * 0.25, np.arange(11.0, 31.0), np.arange(33.0, 130.0, 3.0)]
)
"""The lengths that putts are worked out at."""

_phi = np.vectorize(lambda x: 0.5 * (1.0 + erf(x / sqrt(2.0))), otypes=[float])


@dataclass(frozen=True)
class Stroke:
    """One player's putting. angle: sd in radians; pace: sd as a share of the way."""

    angle: float
    pace: float

    @classmethod
    def of(cls, ability: float, factor: float = 1.0) -> Stroke:
        """A player of an ability of the model (`golfer.ability`); `factor` on both errors."""
        pace = max(1.0, 1.256 + (1.5466 - 1.256) * (ability - 7.5) / 9.0)
        angle = max(1.0, 1.37663 + (1.58882 - 1.37663) * (ability - 4.5) / 12.0)
        return cls(TOUR_ANGLE * angle * factor, TOUR_PACE * pace * factor)

    def holed(self, feet: Floats) -> Floats:
        """How likely a putt of each length drops."""
        angle = 2.0 * _phi(_window(feet) / self.angle) - 1.0
        reach = (feet + AIM_PAST) * self.pace
        pace = _phi((TOO_FAR - AIM_PAST) / reach) - _phi(-AIM_PAST / reach)
        chance: Floats = angle * pace
        return chance

    def putts(self) -> Floats:
        """Expected putts to hole out from each of `FEET`."""
        moves = np.array([self._leaves(x) for x in FEET])
        missed = 1.0 - self.holed(FEET)
        strokes: Floats = np.linalg.solve(
            np.eye(len(FEET)) - missed[:, None] * moves, np.ones(len(FEET))
        )
        return strokes

    def _leaves(self, feet: float) -> Floats:
        """Where a missed putt finishes: the chance of each of `FEET`, none where all drop."""
        z = np.linspace(-4.0, 4.0, 41)
        weight = np.exp(-z * z / 2.0)
        along, across = np.meshgrid(z, z, indexing="ij")
        weights = weight[:, None] * weight[None, :]
        past = AIM_PAST + (feet + AIM_PAST) * self.pace * along
        drops = (np.abs(self.angle * across) < _window(feet)) & (past > 0.0) & (past < TOO_FAR)
        weights[drops] = 0.0
        left = np.hypot(past, feet * self.angle * across)
        row = np.zeros(len(FEET))
        total = weights.sum()
        if total > 0.0:
            spread(row[None], FEET, left.ravel(), (weights.ravel() / total,))
        return row


def _window(feet: Floats | float) -> Floats:
    """The angle within which a putt of that length meets the hole, radians."""
    return np.asarray(np.arcsin(np.minimum((HOLE_FT - BALL_FT) / np.asarray(feet), 1.0)))


def spread(rows: Floats, nodes: Floats, at: Floats, weights: Iterable[Floats]) -> None:
    """Add weights to the nodes on either side of where they stand, nearest ones most.

    weights: for each row, as many as places.
    """
    inside = np.clip(at, nodes[0], nodes[-1])
    low = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    share = (inside - nodes[low]) / (nodes[low + 1] - nodes[low])
    for row, weight in zip(rows, weights, strict=True):
        above = weight * share
        row += np.bincount(low, weight - above, len(nodes))
        row[1:] += np.bincount(low, above, len(nodes) - 1)
