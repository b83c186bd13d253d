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
    """Taylor series of order 4 about every 1/256 of a spread, by powers of so much.

    `math.erfc` at each node, since numpy has no such function of its own, and its derivatives,
    which are Hermite polynomials.
    """
    x = np.arange(int(_FURTHEST * _NODES) + 2) / _NODES
    density = np.exp(-x * x / 2.0) / math.sqrt(2.0 * math.pi)
    tails = np.array([math.erfc(at) / 2.0 for at in (x / math.sqrt(2.0)).tolist()])
    terms: tuple[Floats, ...] = (x / 2.0, (1.0 - x * x) / 6.0, x * (x * x - 3.0) / 24.0)
    steps = [density * term / _NODES**power for power, term in enumerate(terms, 2)]
    return (tails, -density / _NODES, *steps)


def _normal_tail(z: Floats) -> Floats:
    near = np.minimum(z, _FURTHEST)
    near *= _NODES
    node = np.rint(near)
    near -= node
    at = node.astype(np.intp)
    *lower, beyond = (part[at] for part in _series())
    for part in reversed(lower):
        beyond *= near
        beyond += part
    return beyond
