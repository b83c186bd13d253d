"""How many putts each player of a family takes, and what a putt leaves, by length.

The family is the putting model (`strokes.putting`): one player for each pair of an angle and a
pace error. All are worked out together on a lattice of logarithms and read on straight lines
between its points. With a slope both errors grow beyond the model's own, as that power of the
length from 10 ft on.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

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

LONGEST = 100.0
"""Feet: longer putts are taken for this long."""
PUTTED: Floats = np.array(
    [0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 15, 18, 22, 27, 33, 40, 50, 65, 80, 100]
)
"""Feet that second and later putts are worked out from."""


def _grown(feet: Floats | float, slope: float) -> Floats:
    """What both errors are multiplied by at a length."""
    found: Floats = (np.maximum(np.asarray(feet, float), 1.0) / 10.0) ** slope
    return found


def holed(feet: Floats, slope: float = 0.0) -> Floats:
    """How likely each putt drops: lengths x lattice."""
    at = feet[:, None]
    more = _grown(at, slope)
    window = np.arcsin(np.minimum((HOLE_FT - BALL_FT) / at, 1.0))
    reach = (at + AIM_PAST) * _PACE * more
    angle = 1.0 - 2.0 * tail("normal", window / (_ANGLE * more))
    pace = 1.0 - tail("normal", (TOO_FAR - AIM_PAST) / reach) - tail("normal", AIM_PAST / reach)
    found: Floats = angle * pace
    return found


def _missed(feet: float, slope: float, along: int, across: int) -> tuple[Floats, Floats]:
    """Where a putt that does not drop finishes: feet left, and chances (points x lattice)."""
    z = np.linspace(-4.0, 4.0, along)[:, None, None]
    x = np.linspace(0.0, 4.0, across)[None, :, None]
    more = _grown(feet, slope)
    past = AIM_PAST + (feet + AIM_PAST) * _PACE * more * z
    angle = _ANGLE * more * x
    window = math.asin(min((HOLE_FT - BALL_FT) / feet, 1.0))
    drops = (angle < window) & (past > 0.0) & (past < TOO_FAR)
    # The ends of the half that stands for both sides weigh half.
    ends = np.where((x == 0.0) | (x == 4.0), 0.5, 1.0)
    weight = np.where(drops, 0.0, np.exp(-(z**2 + x**2) / 2.0) * ends)
    weight = weight.reshape(-1, len(_PACE))
    left = np.hypot(past, feet * angle).reshape(-1, len(_PACE))
    total = weight.sum(axis=0)
    return left, weight / np.where(total > 0.0, total, 1.0)


def _onto(nodes: Floats, at: Floats, weight: Floats) -> Floats:
    """Weights (points x lattice) put on the nodes on either side: lattice x nodes."""
    inside = np.clip(at, nodes[0], nodes[-1])
    low = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    share = (inside - nodes[low]) / (nodes[low + 1] - nodes[low])
    players = np.broadcast_to(np.arange(at.shape[1]), at.shape)
    place = players * len(nodes) + low
    size = at.shape[1] * len(nodes)
    near = (weight * (1.0 - share)).ravel()
    found: Floats = np.bincount(place.ravel(), near, size).astype(float)
    found = found + np.bincount(place.ravel() + 1, (weight * share).ravel(), size)
    return found.reshape(at.shape[1], len(nodes))


@cache
def _later(slope: float) -> Floats:
    """The chance of each number of putts from `PUTTED`: strokes x lattice x lengths."""
    drops = holed(PUTTED, slope).T
    leaves = np.stack([_onto(PUTTED, *_missed(float(x), slope, 41, 21)) for x in PUTTED], axis=1)
    found = [drops]
    for _ in range(MOST_STROKES - 2):
        found.append((1.0 - drops) * np.einsum("pij,pj->pi", leaves, found[-1]))
    return np.array([*found, np.maximum(1.0 - sum(found), 0.0)])


@lru_cache(256)
def putt_strokes(feet: float, slope: float = 0.0) -> Floats:
    """The chance of one putt, of two, ... nine or more: strokes x lattice (angle x pace)."""
    feet = min(max(feet, 0.25), LONGEST)
    drops = holed(np.array([feet]), slope)[0]
    leave = _onto(PUTTED, *_missed(feet, slope, 41, 21))
    later = (1.0 - drops) * np.einsum("pj,kpj->kp", leave, _later(slope)[:-1])
    found = np.vstack([drops[None], later])
    found[-1] += np.maximum(1.0 - found.sum(axis=0), 0.0)
    return found.reshape(-1, STEPS, STEPS)


@lru_cache(64)
def leaves(feet: float, step: float, count: int, slope: float = 0.0) -> Floats:
    """The chance that a putt leaves each of so many steps, the last with all beyond, in feet.

    The first is holed, or left within half a step. Array of steps x lattice (angle x pace).
    """
    feet = min(max(feet, 0.25), LONGEST)
    drops = holed(np.array([feet]), slope)[0]
    at, weight = _missed(feet, slope, 161, 21)
    place = np.minimum(np.floor(at / step + 0.5).astype(int), count - 1)
    players = np.broadcast_to(np.arange(at.shape[1]), at.shape)
    size = at.shape[1] * count
    found = np.bincount((players * count + place).ravel(), weight.ravel(), size)
    shares: Floats = found.reshape(at.shape[1], count).T * (1.0 - drops)
    shares[0] += drops
    return shares.reshape(-1, STEPS, STEPS)
