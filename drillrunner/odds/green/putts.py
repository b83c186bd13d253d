"""How many putts each player of a family takes, and what a putt leaves, by length.

The family is the putting model (`strokes.putting`): one player for each pair of an angle and a
pace error. All are worked out together on a lattice of logarithms and read on straight lines
between its points. How each error grows with the length beyond the model's own is told apart from
it by a `Growth`: a player may hole well and lag badly.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import (
    AIM_PAST,
    BALL_FT,
    HOLE_FT,
    TOO_FAR,
    TOUR_ANGLE,
    TOUR_PACE,
)
from drillrunner.odds.tails import tail
from drillrunner.rules.outcome import MOST_STROKES

FINEST, COARSEST, STEPS = 0.5, 6.0, 13
"""The errors of the lattice, in those of a tour player."""
_RANGE: Floats = np.linspace(math.log(FINEST), math.log(COARSEST), STEPS)
LOG_ANGLE: Floats = math.log(TOUR_ANGLE) + _RANGE
LOG_PACE: Floats = math.log(TOUR_PACE) + _RANGE
_ANGLE, _PACE = (
    part.ravel() for part in np.meshgrid(np.exp(LOG_ANGLE), np.exp(LOG_PACE), indexing="ij")
)

LAG_FROM, LAG_FULL = 10.0, 30.0
SUDDEN_FROM, SUDDEN_FULL = 20.0, 28.0
"""Feet from which the pace error of a `Growth` grows, and at which it has grown by all it does."""


class Growth(NamedTuple):
    """How errors grow with the length beyond the model's own.

    angle: the power of the length, in tens of feet, that the angle error is multiplied by. pace:
    the logarithm of what the pace error is multiplied by where it has grown whole. sudden: whether
    that comes all at once beyond 20 ft, or little by little from 10 ft on.
    """

    angle: float = 0.0
    pace: float = 0.0
    sudden: bool = False

    def of(self, feet: float) -> tuple[float, float]:
        """What the errors in angle and in pace are multiplied by at a length."""
        at = max(feet, 1.0)
        if self.sudden:
            share = (at - SUDDEN_FROM) / (SUDDEN_FULL - SUDDEN_FROM)
        else:
            share = math.log(at / LAG_FROM) / math.log(LAG_FULL / LAG_FROM)
        more = math.exp(self.pace * min(max(share, 0.0), 1.0))
        return (at / 10.0) ** self.angle, more


EVEN = Growth()

LONGEST = 100.0
"""Feet: longer putts are taken for this long."""
PUTTED: Floats = np.array(
    [0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 65, 80, 100]
)
"""Feet that second and later putts are worked out from."""


class _Grown(NamedTuple):
    """What the errors in angle and in pace are multiplied by."""

    angle: float = 1.0
    pace: float = 1.0


def holed(feet: Floats, grown: _Grown = _Grown()) -> Floats:  # noqa: B008 (a tuple)
    """How likely each putt drops: lengths x lattice."""
    at = feet[:, None]
    window = np.arcsin(np.minimum((HOLE_FT - BALL_FT) / at, 1.0))
    reach = (at + AIM_PAST) * _PACE * grown.pace
    angle = 1.0 - 2.0 * tail("normal", window / (_ANGLE * grown.angle))
    pace = 1.0 - tail("normal", (TOO_FAR - AIM_PAST) / reach) - tail("normal", AIM_PAST / reach)
    found: Floats = angle * pace
    return found


def _missed(feet: float, grown: _Grown, along: int, across: int) -> tuple[Floats, Floats]:
    """Where a putt that does not drop finishes: feet left, and chances (points x lattice).

    How far goes by the pace alone and how far aside by the angle alone: each is worked out once.
    """
    z, x = np.linspace(-4.0, 4.0, along), np.linspace(0.0, 4.0, across)
    past = AIM_PAST + np.outer(z, (feet + AIM_PAST) * np.exp(LOG_PACE) * grown.pace)
    angle = np.outer(x, np.exp(LOG_ANGLE) * grown.angle)
    window = math.asin(min((HOLE_FT - BALL_FT) / feet, 1.0))
    paced = ((past > 0.0) & (past < TOO_FAR))[:, None, None, :]
    drops = paced & (angle < window)[None, :, :, None]
    # The ends of the half that stands for both sides weigh half.
    ends = np.where((x == 0.0) | (x == 4.0), 0.5, 1.0)
    likely = np.exp(-(z[:, None] ** 2 + x**2) / 2.0) * ends
    weight = np.where(drops, 0.0, likely[:, :, None, None]).reshape(-1, len(_PACE))
    squared = (past**2)[:, None, None, :] + ((feet * angle) ** 2)[None, :, :, None]
    left = np.sqrt(squared, out=squared).reshape(-1, len(_PACE))
    total = weight.sum(axis=0)
    weight /= np.where(total > 0.0, total, 1.0)
    return left, weight


def _onto(nodes: Floats, at: Floats, weight: Floats) -> Floats:
    """Weights (points x lattice) put on the nodes on either side: lattice x nodes."""
    place = np.interp(at, nodes, np.arange(float(len(nodes))))
    low = np.minimum(place.astype(np.intp), len(nodes) - 2)
    np.subtract(place, low, out=place)
    place *= weight  # the weight that goes to the further node
    low += np.arange(at.shape[1]) * len(nodes)
    size = at.shape[1] * len(nodes)
    found: Floats = np.bincount(low.ravel(), (weight - place).ravel(), size).astype(float)
    low += 1
    found += np.bincount(low.ravel(), place.ravel(), size)
    return found.reshape(at.shape[1], len(nodes))


@cache
def _later(angle: float) -> Floats:
    """The chance of each number of putts from `PUTTED`: strokes x lattice x lengths.

    Second putts are short: of what grows with the length only the angle error does here.
    """
    more = [_Grown(*Growth(angle).of(float(x))) for x in PUTTED]
    drops = np.stack([holed(PUTTED[at : at + 1], grown)[0] for at, grown in enumerate(more)], 1)
    leaves = np.stack(
        [_onto(PUTTED, *_missed(float(x), g, 41, 21)) for x, g in zip(PUTTED, more, strict=True)], 1
    )
    found = [drops]
    for _ in range(MOST_STROKES - 2):
        found.append((1.0 - drops) * np.einsum("pij,pj->pi", leaves, found[-1]))
    return np.array([*found, np.maximum(1.0 - sum(found), 0.0)])


def putt_strokes(feet: float, growth: Growth = EVEN) -> Floats:
    """The chance of one putt, of two, ... nine or more: strokes x lattice (angle x pace)."""
    feet = min(max(feet, 0.25), LONGEST)
    return _putt_strokes(feet, _Grown(*growth.of(feet)), growth.angle)


@lru_cache(1024)
def _putt_strokes(feet: float, grown: _Grown, angle: float) -> Floats:
    drops = holed(np.array([feet]), grown)[0]
    leave = _onto(PUTTED, *_missed(feet, grown, 41, 21))
    later = (1.0 - drops) * np.einsum("pj,kpj->kp", leave, _later(angle)[:-1])
    found = np.vstack([drops[None], later])
    found[-1] += np.maximum(1.0 - found.sum(axis=0), 0.0)
    return found.reshape(-1, STEPS, STEPS)


@lru_cache(64)
def leaves(feet: float, step: float, count: int) -> Floats:
    """The chance that a putt leaves each of so many steps, the last with all beyond, in feet.

    The first is holed, or left within half a step. Array of steps x lattice (angle x pace).
    """
    feet = min(max(feet, 0.25), LONGEST)
    drops = holed(np.array([feet]))[0]
    at, weight = _missed(feet, _Grown(), 161, 21)
    place = np.minimum(np.floor(at / step + 0.5).astype(int), count - 1)
    players = np.broadcast_to(np.arange(at.shape[1]), at.shape)
    size = at.shape[1] * count
    found = np.bincount((players * count + place).ravel(), weight.ravel(), size)
    shares: Floats = found.reshape(at.shape[1], count).T * (1.0 - drops)
    shares[0] += drops
    return shares.reshape(-1, STEPS, STEPS)
