"""Weighted patterns in one direction, and how likely a shot is under each of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from drillrunner.odds.families import families
from drillrunner.odds.tails import (
    LIKELIHOODS,
    TWO_IN_THREE,
    Floats,
    Ints,
    Likelihood,
    Span,
    tail,
)

__all__ = [
    "LIKELIHOODS",
    "TWO_IN_THREE",
    "Bent",
    "Floats",
    "Likelihood",
    "Plausible",
    "Span",
    "tail",
]

_FINE = np.sinh(np.linspace(-9.0, 9.0, 3001)) / 4.0
_BEYOND, _NOTHING = 5.0, 1e-10
_RADII = np.geomspace(0.35, 12.0, 40)
_FEW = 6
_PLACES = 32


@dataclass(frozen=True)
class Bent:
    """How counted balls bend the laws of a `Plausible`: stretch by stretch.

    edges: G - 1 ends of the stretches in yards, rising. share: K x G, what of a law's shots
    finish in each. Within a stretch a law keeps its own form.
    """

    edges: Floats
    share: Floats


@dataclass(frozen=True)
class Plausible:
    """Weighted patterns in one direction: K of them, grouped by shape.

    bias, spread, weight: arrays of K, yards (bias: the mean of the shape; spread: its scale),
    weights sum to 1. shapes: how many of the K have each shape of `families`, in the order in
    which they stand. drawn: the K are alike in weight and a sample, not a grid.
    """

    bias: Floats
    spread: Floats
    weight: Floats
    shapes: tuple[tuple[str, int], ...]
    bent: Bent | None = None
    drawn: bool = False

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
        if self.bent is not None:
            below = np.zeros((len(edges) + 2, len(self.bias)))
            below[-1] = 1.0
            # Some places at a time: what is worked on is many times as large as what is found.
            for first in range(0, len(edges), _PLACES):
                few = slice(first, min(first + _PLACES, len(edges)))
                below[few] = self.below(at[few])
            found: Floats = below[high] - below[low]
            return found
        chances = np.empty((len(spans), len(self.bias)))
        start = 0
        # Shape by shape, so that what is worked on stays in the processor's cache.
        for name, count in self.shapes:
            part = slice(start, start + count)
            start += count
            z = (at - self.bias[part]) / self.spread[part]
            beyond = np.zeros((len(edges) + 2, count))
            left = np.zeros(beyond.shape, dtype=bool)
            left[-2] = True
            left[:-2] = z < 0.0
            beyond[:-2] = families()[name].beyond(z)
            at_low, at_high = beyond[low], beyond[high]
            across = left[low] != left[high]
            some = np.flatnonzero(across.any(axis=1))
            between = 1.0 - at_low[some] - at_high[some]
            at_low -= at_high
            np.abs(at_low, out=at_low)
            at_low[some] = np.where(across[some], between, at_low[some])
            chances[:, part] = at_low
        return chances

    def below(self, at: Floats) -> Floats:
        """How likely each pattern finishes left of (short of) a place: places x K.

        at: places x K, or places x 1 where they are the same for all.
        """
        plain = self._plain(at)
        return plain if self.bent is None else self._bend(at, plain, self.bent)

    def _bend(self, at: Floats, plain: Floats, bent: Bent) -> Floats:
        place = np.searchsorted(bent.edges, at, side="left")
        was, now = self._ends
        low, high = _picked(was, place), _picked(was, place + 1)
        # Where a law has next to nothing of its own, what was counted lies evenly in the stretch.
        ends = np.concatenate([[bent.edges[0] - _BEYOND], bent.edges, [bent.edges[-1] + _BEYOND]])
        even = (at - ends[place]) / (ends[place + 1] - ends[place])
        own = high - low
        part = np.where(own > _NOTHING, (plain - low) / np.maximum(own, _NOTHING), even)
        np.clip(part, 0.0, 1.0, out=part)
        part *= _picked(bent.share.T, place)
        part += _picked(now, place)
        return part

    @cached_property
    def _ends(self) -> tuple[Floats, Floats]:
        """What lies below the ends of the stretches, for the laws as they were and as bent."""
        assert self.bent is not None
        edges, share = self.bent.edges, self.bent.share
        none = np.zeros(len(self.bias))
        ends = self._plain(edges[:, None])
        was = np.vstack([none, ends, none + 1.0])
        return was, np.vstack([none, np.cumsum(share.T, axis=0)])

    def _plain(self, at: Floats) -> Floats:
        z = (at - self.bias) / self.spread
        found = np.empty(z.shape)
        start = 0
        for name, count in self.shapes:
            part = slice(start, start + count)
            start += count
            beyond = families()[name].beyond(z[:, part])
            found[:, part] = np.where(z[:, part] < 0.0, beyond, 1.0 - beyond)
        return found

    @cached_property
    def half(self) -> Floats:
        """Yards either side of each pattern's own mean that hold two shots in three: array of K."""
        factor = np.concatenate([np.full(n, families()[name].half) for name, n in self.shapes])
        half: Floats = self.spread * factor
        if self.bent is None:
            return half

        def inside(radii: Floats) -> Floats:
            right, left = np.split(self.below(np.vstack([self.mean + radii, self.mean - radii])), 2)
            return right - left

        # Which of the radii it lies between: between which few of them first.
        few = inside(half * _RADII[_FEW::_FEW, None])
        first = _FEW * (few < 2.0 / 3.0).sum(axis=0)
        rows = np.minimum(first + np.arange(_FEW + 1)[:, None], len(_RADII) - 1)
        radii = half * _RADII[rows]
        held = inside(radii)
        row = (held < 2.0 / 3.0).sum(axis=0).clip(1, _FEW)
        one = np.arange(len(half))
        low, high = held[row - 1, one], held[row, one]
        part = np.clip((2.0 / 3.0 - low) / np.maximum(high - low, 1e-300), 0.0, 1.0)
        found: Floats = radii[row - 1, one] * (1.0 - part) + radii[row, one] * part
        return found

    @cached_property
    def mean(self) -> Floats:
        """Where each pattern finishes on average, in yards: array of K."""
        if self.bent is None:
            return self.bias
        edges = self.bent.edges
        z = (edges[:, None] - self.bias) / self.spread
        sums = np.zeros((len(edges) + 2, len(self.bias)))
        start = 0
        for name, count in self.shapes:
            part = slice(start, start + count)
            start += count
            sums[1:-1, part] = np.interp(z[:, part], _FINE, _sums(name))
        was, _ = self._ends
        own = np.diff(was, axis=0)
        within = self.bias + self.spread * np.diff(sums, axis=0) / np.maximum(own, _NOTHING)
        ends = np.concatenate([[edges[0] - _BEYOND], edges, [edges[-1] + _BEYOND]])
        middle = ((ends[1:] + ends[:-1]) / 2.0)[:, None]
        found: Floats = (self.bent.share.T * np.where(own > _NOTHING, within, middle)).sum(axis=0)
        return found


def _picked(table: Floats, place: Ints) -> Floats:
    """Of each column of a table the rows named; one column of places is meant for all."""
    if place.shape[1] == 1:
        return table[place[:, 0]]
    found: Floats = table[place, np.arange(table.shape[1])]
    return found


@cache
def _sums(name: str) -> Floats:
    """The sum of what lies below each of `_FINE`, each place with its share, for a scale of 1."""
    beyond = families()[name].beyond(_FINE)
    below = np.where(_FINE < 0.0, beyond, 1.0 - beyond)
    pieces = np.diff(below) * (_FINE[1:] + _FINE[:-1]) / 2.0
    found: Floats = np.concatenate([[0.0], np.cumsum(pieces)])
    return found
