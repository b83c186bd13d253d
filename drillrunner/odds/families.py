"""The shapes that a shot pattern may have: even, with mishits, leaning to one side, two-way.

Each is a mixture of a few bells, which may be wider on one side than on the other (two-piece
scale). All are brought to the same footing: their mean is 0, and what is known of each is the
half-width about that mean which holds two shots in three for a scale of 1.

The kinds weigh alike before any ball, and so do the shapes of one kind. How far they lean, how far
apart the two misses lie and how often a mishit comes are our own choice, no source; what none of
them fits is left to `Pattern`, which lets the counts bend them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Literal, NamedTuple

import numpy as np

from drillrunner.odds.tails import LIKELIHOODS, TWO_IN_THREE, Floats, Likelihood, normal_right, tail

BendKind = Literal["even", "leaning", "two-way"]
BEND_KINDS: tuple[BendKind, ...] = ("even", "leaning", "two-way")

MISHITS, WIDER = 0.12, 3.5
"""Of the even shape with mishits: the share of them, and how many times wider they fly."""

LEANS = (1.5, 2.25, 4.0)
"""How many times wider a leaning shape is on its long side."""

APART = (1.3, 1.8, 2.6)
"""How many spreads of one hump the two of a two-way shape lie from the middle between them."""

LEFT_SHARES = (0.3, 0.4, 0.5, 0.6, 0.7)


class Bell(NamedTuple):
    """One part of a shape: its share, where it peaks, its scale to the left and to the right."""

    share: float
    at: float
    left: float
    right: float


@dataclass(frozen=True)
class Family:
    """A shape with mean 0 and scale 1. half: holds two in three either side of the mean.

    Of several bells each is a normal, as wide on one side as on the other.
    """

    name: str
    kind: BendKind
    base: Likelihood
    bells: tuple[Bell, ...]
    half: float

    def beyond(self, z: Floats) -> Floats:
        """The chance to finish further out than `z` on its own side (left of it where z < 0)."""
        if len(self.bells) == 1 and self.bells[0] == (1.0, 0.0, 1.0, 1.0):
            return tail(self.base, np.abs(z))
        left = z < 0.0
        if len(self.bells) == 1:
            ((_, at, narrow, wide),) = self.bells
            off = z - at
            right = off >= 0.0
            wider = np.where(right, wide, narrow)
            np.abs(off, out=off)
            off /= wider
            out = tail(self.base, off)
            wider *= 2.0 / (narrow + wide)
            out *= wider
            return np.where(left == right, 1.0 - out, out)
        # Seen from the side on which it lies, as if that were always the right one.
        side, away = np.where(left, -1.0, 1.0), np.abs(z)
        found = np.zeros(z.shape)
        for share, at, scale, _ in self.bells:
            part = normal_right((away - at * side) / scale)
            part *= share
            found += part
        return found


_MEAN_SIZE: dict[Likelihood, float] = {
    "normal": math.sqrt(2.0 / math.pi),
    "t4": 1.0,
    "t2": math.sqrt(2.0),
}
"""The mean of |Z| for a scale of 1: 2 sqrt(n) / ((n - 1) B(n/2, 1/2)) for Student t."""


def _made(name: str, kind: BendKind, base: Likelihood, bells: list[Bell]) -> Family:
    """A family moved to mean 0, with the half-width that holds two in three by bisection."""
    mean = sum(b.share * (b.at + (b.right - b.left) * _MEAN_SIZE[base]) for b in bells)
    moved = tuple(b._replace(at=b.at - mean) for b in bells)
    family = Family(name, kind, base, moved, 1.0)
    low, high = 0.0, 40.0
    for _ in range(60):
        middle = (low + high) / 2.0
        outside = float(family.beyond(np.array([-middle, middle])).sum())
        low, high = (middle, high) if outside > 1.0 / 3.0 else (low, middle)
    return Family(name, kind, base, moved, high)


@cache
def families() -> dict[str, Family]:
    """Every shape by name, kind by kind."""
    found = [
        Family(name, "even", name, (Bell(1.0, 0.0, 1.0, 1.0),), TWO_IN_THREE[name])
        for name in LIKELIHOODS
    ]
    bells = [Bell(1.0 - MISHITS, 0.0, 1.0, 1.0), Bell(MISHITS, 0.0, WIDER, WIDER)]
    found.append(_made("mishits", "even", "normal", bells))
    bases: tuple[Likelihood, ...] = ("normal", "t4")
    for base, lean, side in product(bases, LEANS, ("left", "right")):
        ends = (lean, 1.0) if side == "left" else (1.0, lean)
        found.append(_made(f"{base} {side} {lean:g}", "leaning", base, [Bell(1.0, 0.0, *ends)]))
    for apart, share in product(APART, LEFT_SHARES):
        pair = [Bell(share, -apart, 1.0, 1.0), Bell(1.0 - share, apart, 1.0, 1.0)]
        found.append(_made(f"two-way {apart:g} {share:g}", "two-way", "normal", pair))
    return {family.name: family for family in found}


@cache
def weight_of(names: tuple[str, ...]) -> Floats:
    """The prior weight of these shapes: kinds alike, and the shapes of one kind alike."""
    kinds = [families()[name].kind for name in names]
    found = np.array([1.0 / kinds.count(kind) for kind in kinds])
    weight: Floats = found / found.sum()
    return weight
