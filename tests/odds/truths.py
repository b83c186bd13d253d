"""Made-up players for the coverage of the pattern: most come from outside its shapes.

normal, t4, t2: plain bells. mishits in ten, in five: normal, such a share four times as wide.
skewed: a gamma law of shape 4, turned to either side. two-way: two normal humps, 1.2 to 2.4 of
their own spreads from the middle, the left one holding 35 to 65 in a hundred; wider apart than
that nobody could overlook. streaky: normal, each ball's distance from the mean half of the last
one's and half a spread of its own making (correlation 0.5), the long run being what is asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from drillrunner.odds.tails import Floats

KINDS = (
    "normal",
    "t4",
    "t2",
    "mishits in ten",
    "mishits in five",
    "skewed",
    "two-way",
    "streaky",
)
APART = ("two-way", "streaky")
"""Printed apart: the first is asked less of, the second breaks what every interval rests on."""

WIDTHS = (20.0, 40.0, 60.0)
_LONG = 100_000


@dataclass(frozen=True)
class Truth:
    """One player: the mean, a long row of shots, and those that they hit."""

    mean: float
    whole: Floats
    hits: Floats

    @property
    def half(self) -> float:
        """The half-width about the mean that holds two in three."""
        return float(np.quantile(np.abs(self.whole - self.mean), 2.0 / 3.0))

    @property
    def inside(self) -> tuple[float, ...]:
        """The chance inside each of `WIDTHS`."""
        sizes = np.abs(self.whole)
        return tuple(float(np.mean(sizes <= width / 2.0)) for width in WIDTHS)


@cache
def _standard(kind: str) -> Floats:
    """A long sample of a kind, scale 1, from which its truth is counted."""
    return _sample(kind, _LONG, np.random.default_rng(7))


def _sample(kind: str, count: int, rng: np.random.Generator) -> Floats:
    found: Floats
    if kind in ("t4", "t2"):
        found = rng.standard_t(int(kind[1]), count)
    elif kind == "skewed":
        found = (rng.gamma(4.0, 1.0, count) - 4.0) / 2.0
    elif kind == "streaky":
        steps = rng.standard_normal(count) * math.sqrt(0.75)
        found = np.empty(count)
        now = rng.standard_normal()
        for at in range(count):
            now = 0.5 * now + steps[at]
            found[at] = now
    else:
        share = {"mishits in ten": 0.1, "mishits in five": 0.2}.get(kind, 0.0)
        wide = np.where(rng.random(count) < share, 4.0, 1.0)
        found = wide * rng.standard_normal(count)
    return found


def thrown(kind: str, count: int, rng: np.random.Generator) -> Floats:
    """So many balls of a kind, scale 1; a two-way player's humps stand 1.8 from the middle."""
    if kind != "two-way":
        return _sample(kind, count, rng)
    side = np.where(rng.random(count) < 0.5, -1.8, 1.8)
    return side + rng.standard_normal(count)


def player(kind: str, shots: int, rng: np.random.Generator) -> Truth:
    """Draw one player and so many shots, oldest first."""
    bias, spread = rng.uniform(-12.0, 12.0), rng.uniform(7.0, 18.0)
    if kind == "two-way":
        spread = rng.uniform(5.0, 11.0)
        off, left = rng.uniform(1.2, 2.4), rng.uniform(0.35, 0.65)

        def draw(count: int, source: np.random.Generator) -> Floats:
            side = np.where(source.random(count) < left, -off, off)
            return bias + spread * (side + source.standard_normal(count))

        whole, hits = draw(_LONG, np.random.default_rng(7)), draw(shots, rng)
    else:
        turned = -1.0 if rng.random() < 0.5 else 1.0
        base = "normal" if kind == "streaky" else kind
        whole = bias + turned * spread * _standard(base)
        hits = bias + turned * spread * _sample(kind, shots, rng)
    # The mean is known; that of a t2 sample would not settle.
    mean = bias + spread * off * (1.0 - 2.0 * left) if kind == "two-way" else bias
    return Truth(mean, whole, hits)
