"""How likely a shot is to finish beyond so many spreads, for three plain bells.

`normal`, and Student t with 4 (`t4`) and 2 (`t2`) degrees of freedom, which have closed forms:
shots fit a plain normal less well than a heavier tail (Ko, PhD thesis, Columbia 2012).
"""

from __future__ import annotations

import math
from functools import cache
from typing import Literal, NamedTuple

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


_NODES = 64
_FURTHEST = 37.5


class _Table(NamedTuple):
    tails: Floats
    density: Floats


@cache
def _table() -> _Table:
    """`math.erfc` at every 1/64 of a spread: numpy has no such function of its own."""
    nodes = [k / _NODES for k in range(int(_FURTHEST * _NODES) + 2)]
    return _Table(
        np.array([math.erfc(x / math.sqrt(2.0)) / 2.0 for x in nodes]),
        np.array([math.exp(-x * x / 2.0) / math.sqrt(2.0 * math.pi) for x in nodes]),
    )


def _normal_tail(z: Floats) -> Floats:
    """Taylor series of order 6 about the nearest node; derivatives are Hermite polynomials."""
    near = np.minimum(z, _FURTHEST)
    at = np.rint(near * _NODES).astype(np.intp)
    x = at / _NODES
    d = near - x
    x2 = x * x
    series = d * (x * (15.0 - x2 * (10.0 - x2)) / -720.0)
    series = d * ((x2 * (x2 - 6.0) + 3.0) / 120.0 + series)
    series = d * (x * (3.0 - x2) / 24.0 + series)
    series = d * ((x2 - 1.0) / 6.0 + series)
    series = d * (x / -2.0 + series)
    table = _table()
    beyond: Floats = table.tails[at] - table.density[at] * d * (1.0 + series)
    return beyond
