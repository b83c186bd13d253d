"""How a player's form goes from day to day, and what each day tells of it.

All errors of a day are better or worse together (its form), and the player behind the days changes
little by little, back towards the starting guess: an autoregression of the first order seen through
noise, filtered day by day (Kalman 1960, Trans. ASME J. Basic Eng. 82:35-45, titles from memory) on
a grid. Laws of how much a day differs and how fast one changes are weighed by how well each told
each day from those before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from drillrunner.odds.green.curves import SHARED, Golfers
from drillrunner.odds.shape import Floats


class Law(NamedTuple):
    """day: the sd of the logarithm by which all errors of a day are better or worse. half_life: the
    balls after which half of what sets a player apart from the starting guess has changed; `None`:
    nobody changes.
    """

    day: float
    half_life: float | None

    def stays(self, balls: int) -> float:
        """The correlation of what a player is before and after so many balls."""
        return 1.0 if self.half_life is None else 0.5 ** (balls / self.half_life)


DAYS = ((0.0, 0.40), (0.15, 0.30), (0.30, 0.30))
CHANGES = ((None, 0.60), (200.0, 0.20), (50.0, 0.20))
LAWS = tuple((Law(day, life), v * w) for day, v in DAYS for life, w in CHANGES)
"""The laws, and how plausible each is before the player's days have spoken. Our choice."""

LEAST = 1e-200
"""No node weighs less before a day: else hundreds of balls that contradict those of the days before
would find nobody left who hit them."""


class Past(NamedTuple):
    """Under one law: how plausible it is, and the weight of every node before today."""

    law: Law
    share: float
    weight: Floats


def before(grid: Golfers) -> tuple[Past, ...]:
    """Before any ball."""
    return tuple(Past(law, share, grid.weight) for law, share in LAWS)


def after_days(grid: Golfers, days: Sequence[tuple[Floats, int]]) -> tuple[Past, ...]:
    """After some days, oldest first: the logarithm of what each said at every node, its balls."""
    found = []
    for law, share in LAWS:
        weight, log = grid.weight, math.log(share)
        for said, balls in days:
            most = said.max()
            weight = weight * blurred(grid, law.day, np.exp(said - most))
            total = weight.sum()
            log += math.log(total) + most
            weight = np.maximum(_changed(grid, law.stays(balls), weight / total), LEAST)
        found.append((law, log, weight))
    most = max(log for _, log, _ in found)
    shares = [math.exp(log - most) for _, log, _ in found]
    return tuple(
        Past(law, share / sum(shares), weight)
        for (law, _, weight), share in zip(found, shares, strict=True)
        if share > 0.005 * sum(shares)
    )


def blurred(grid: Golfers, day: float, values: Floats) -> Floats:
    """Values (... x K) averaged over the forms of a day."""
    if not day:
        return values
    boxes = values.reshape(*values.shape[:-1], *grid.boxed(grid.weight).shape)
    found: Floats = np.matmul(_days(grid.sd, day), boxes).reshape(values.shape)
    return found


def today(grid: Golfers, day: float, weight: Floats) -> Floats:
    """The weights of how one is today, from those of how one is from day to day."""
    if not day:
        return weight
    found: Floats = np.matmul(_days(grid.sd, day).T, grid.boxed(weight)).ravel()
    return found


def _changed(grid: Golfers, stays: float, weight: Floats) -> Floats:
    if stays == 1.0:
        return weight
    found: Floats = np.matmul(_change(grid.sd, stays).T, grid.boxed(weight)).ravel()
    return found


@lru_cache(64)
def _days(sd: float, day: float) -> Floats:
    at = SHARED * sd
    return _rows(at[:, None], at[None, :], day)


@lru_cache(256)
def _change(sd: float, stays: float) -> Floats:
    at = SHARED * sd
    return _rows(stays * at[:, None], at[None, :], sd * math.sqrt(1.0 - stays**2))


def _rows(mean: Floats, at: Floats, sd: float) -> Floats:
    """Normal laws about the means, one a row; each sums to 1."""
    far = (at - mean) / sd
    log = -far * far / 2.0
    near = np.exp(log - log.max(axis=1, keepdims=True))
    found: Floats = near / near.sum(axis=1, keepdims=True)
    return found
