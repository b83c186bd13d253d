"""How likely a shot is to finish beyond so many spreads, for three plain bells.

`normal`, and Student t with 4 (`t4`) and 2 (`t2`) degrees of freedom, which have closed forms:
shots fit a plain normal less well than a heavier tail (Ko, PhD thesis, Columbia 2012).
"""

from __future__ import annotations

import math
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Likelihood = Literal["t4", "t2", "normal"]
LIKELIHOODS: tuple[Likelihood, ...] = ("t4", "t2", "normal")
Span = tuple[float, float]
"""A stretch of the miss in yards, low to high; either end may be infinite."""

TWO_IN_THREE: dict[Likelihood, float] = {
    "normal": 0.967421566101701,
    "t4": 1.099355644253598,
    "t2": 1.264911064067352,
}
"""Half-width that holds two shots in three, for a spread of 1: the quantile at 5/6."""


def tail(likelihood: Likelihood, z: Floats) -> Floats:
    """The chance to finish beyond `z` spreads on one side, for finite z >= 0.

    Relative error below 1e-9 out to 10 spreads, absolute error below 1e-14.
    """
    if likelihood == "normal":
        return _normal_tail(z)
    if likelihood == "t2":
        root = np.sqrt(z * z + 2.0)
        beyond: Floats = 1.0 / (root * (root + z))
        return beyond
    root = np.sqrt(z * z + 4.0)
    rest: Floats = 4.0 / (root * (root + z))
    return rest * rest * (3.0 - rest) * 0.25


_NODES = 256
_FURTHEST = 37.5


@cache
def _series() -> tuple[Floats, ...]:
    """Taylor series of order 4 about every 1/256 of a spread, by powers of so much, from 0 on.

    `math.erfc` at each node, since numpy has no such function of its own, and its derivatives,
    which are Hermite polynomials.
    """
    x = np.arange(int(_FURTHEST * _NODES) + 2) / _NODES
    density = np.exp(-x * x / 2.0) / math.sqrt(2.0 * math.pi)
    tails = np.array([math.erfc(at) / 2.0 for at in (x / math.sqrt(2.0)).tolist()])
    terms: tuple[Floats, ...] = (x / 2.0, (1.0 - x * x) / 6.0, x * (x * x - 3.0) / 24.0)
    steps = [density * term / _NODES**power for power, term in enumerate(terms, 2)]
    return (tails, -density / _NODES, *steps)


@cache
def _both_sides() -> tuple[Floats, ...]:
    """The same from the furthest left to the furthest right."""
    tails, *steps = _series()
    turned = (part[:0:-1] * (1.0 if power % 2 else -1.0) for power, part in enumerate(steps, 1))
    left = [1.0 - tails[:0:-1], *turned]
    return tuple(np.concatenate(both) for both in zip(left, (tails, *steps), strict=True))


def _normal_tail(z: Floats) -> Floats:
    # What lies further out than the last node is taken for that; no whole number may be too large.
    near = np.minimum(z, _FURTHEST)
    near *= _NODES
    node = np.rint(near)
    near -= node
    return _summed(_series(), node.astype(np.intp), near)


def normal_right(z: Floats) -> Floats:
    """The chance of a normal to finish right of `z` spreads, on either side and finite."""
    near = np.minimum(z, _FURTHEST)
    np.maximum(near, -_FURTHEST, out=near)
    near *= _NODES
    node = np.rint(near)
    near -= node
    at = node.astype(np.intp)
    at += len(_series()[0]) - 1
    return _summed(_both_sides(), at, near)


def _summed(series: tuple[Floats, ...], at: Ints, near: Floats) -> Floats:
    # Nothing is beyond the ends; numpy looks up faster so.
    beyond = series[-1].take(at, mode="clip")
    for part in series[-2::-1]:
        beyond *= near
        beyond += part.take(at, mode="clip")
    return beyond
