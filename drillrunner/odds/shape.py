"""The three shapes that a shot pattern may have, and how likely a shot is under each.

`normal`, and Student t with 4 (`t4`) and 2 (`t2`) degrees of freedom, which have closed forms:
shots fit a plain normal less well than a heavier tail (Ko, PhD thesis, Columbia 2012).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
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


@dataclass(frozen=True)
class Plausible:
    """Weighted patterns in one direction: K of them, grouped by shape.

    bias, spread, weight: arrays of K, yards (spread: the scale of the shape), weights sum to 1.
    shapes: how many of the K have each shape, in the order in which they stand.
    """

    bias: Floats
    spread: Floats
    weight: Floats
    shapes: tuple[tuple[Likelihood, int], ...]

    @classmethod
    def known(cls, bias: float, spread: float, likelihood: Likelihood = "t4") -> Plausible:
        """One pattern that is known exactly. Raises ValueError for a spread that is not > 0."""
        if not (math.isfinite(bias) and math.isfinite(spread) and spread > 0):
            raise ValueError(f"bias {bias}, spread {spread}: expected numbers, spread above 0")
        if likelihood not in LIKELIHOODS:
            raise ValueError(f"{likelihood!r}: expected one of {', '.join(LIKELIHOODS)}")
        one = np.ones(1)
        return cls(bias * one, spread * one, one, ((likelihood, 1),))

    def chances(self, spans: Sequence[Span]) -> Floats:
        """How likely each pattern puts a shot into each span: array of spans x K.

        Tails are subtracted from tails, so that far spans keep their relative accuracy.
        """
        edges = sorted({edge for span in spans for edge in span if math.isfinite(edge)})
        rows = {edge: row for row, edge in enumerate(edges)} | {
            -math.inf: len(edges),
            math.inf: len(edges) + 1,
        }
        low = np.array([rows[span[0]] for span in spans])
        high = np.array([rows[span[1]] for span in spans])
        at = np.array(edges)[:, None]
        chances = np.empty((len(spans), len(self.bias)))
        start = 0
        # Shape by shape, so that what is worked on stays in the processor's cache.
        for likelihood, count in self.shapes:
            part = slice(start, start + count)
            start += count
            z = (at - self.bias[part]) / self.spread[part]
            beyond = np.zeros((len(edges) + 2, count))
            left = np.zeros(beyond.shape, dtype=bool)
            left[-2] = True
            left[:-2] = z < 0.0
            beyond[:-2] = tail(likelihood, np.abs(z, out=z))
            at_low, at_high = beyond[low], beyond[high]
            between = 1.0 - at_low - at_high
            np.subtract(at_low, at_high, out=at_low)
            np.abs(at_low, out=at_low)
            chances[:, part] = np.where(left[low] == left[high], at_low, between)
        return chances
