"""The shot pattern of one player, club, swing and direction: where the ball finishes, how surely.

The posterior lives on grids over bias, the logarithm of the half-width that holds two shots in
three about the player's own centre, and the shapes of `families`. That half-width is the spread
times a number known for each shape, so one guess serves all. Around it the counts may bend the law
(`bend`). Every figure comes from one sample of laws that stands for all of that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from drillrunner.odds import bend, fit
from drillrunner.odds.drift import HALF_LIFE
from drillrunner.odds.families import BEND_KINDS, BendKind, families
from drillrunner.odds.fit import Grid
from drillrunner.odds.observe import Observation
from drillrunner.odds.prior import Prior
from drillrunner.odds.shape import Plausible
from drillrunner.odds.tails import Floats

LIVES = 10
"""Half-lives after which a shot is left out: all of them together weigh 0.1 % of the rest."""

LAWS = 1024
"""Laws that the figures of a pattern are read from."""

WALKED, GUESSED = 400, 1200
"""Laws that a game is walked under; more before any ball, when all shapes are in play."""

LOW, HIGH = 0.1, 0.9

__all__ = ["HALF_LIFE", "Band", "Grid", "Pattern", "memory", "quantiles"]


def memory(half_life: float = HALF_LIFE) -> int:
    """How many of the latest shots matter at all."""
    return int(LIVES * half_life)


class Band(NamedTuple):
    """A figure and how sure it is: the posterior median and the ends of its 80 % interval."""

    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Pattern:
    """The posterior after some shots.

    groups: what the shots said, with how much each kind weighs now. shots: how many stand behind
    it. names: of the shapes that are thought of.
    """

    prior: Prior
    half_life: float | None
    groups: Mapping[Observation, float]
    shots: int
    names: tuple[str, ...]

    @classmethod
    def of(
        cls,
        newest_first: Iterable[Observation],
        prior: Prior,
        half_life: float | None = HALF_LIFE,
        names: tuple[str, ...] | None = None,
    ) -> Pattern:
        """The pattern that these shots tell of. Without a half-life all of them count alike."""
        fade = 1.0 if half_life is None else 0.5 ** (1.0 / half_life)
        most = math.inf if half_life is None else memory(half_life)
        groups: dict[Observation, float] = {}
        shots, weight = 0, 1.0
        for said in newest_first:
            if shots >= most:
                break
            groups[said] = groups.get(said, 0.0) + weight
            shots += 1
            weight *= fade
        names = tuple(families()) if names is None else names
        return cls(prior, half_life, groups, shots, names)

    def after(self, said: Observation) -> Pattern:
        """The pattern one ball later: every older shot fades by one step."""
        fade = 1.0 if self.half_life is None else 0.5 ** (1.0 / self.half_life)
        gone = 0.5**LIVES if self.half_life is not None else 0.0
        groups = {key: w * fade for key, w in self.groups.items() if w * fade > gone}
        groups[said] = groups.get(said, 0.0) + 1.0
        most = math.inf if self.half_life is None else memory(self.half_life)
        shots = int(min(self.shots + 1, most))
        return Pattern(self.prior, self.half_life, groups, shots, self.names)

    @cached_property
    def fitted(self) -> fit.Fit:
        """The grids, worked out when first asked for: of some balls nobody asks before the next."""
        return fit.fit(self.groups, self.prior, self.names)

    @property
    def grid(self) -> Grid:
        """The grids of the shapes that are left."""
        return self.fitted.grid

    @property
    def weight(self) -> Floats:
        """The weight of every node if no shape is bent: shapes x bias x log half-width."""
        return self.fitted.weight

    @cached_property
    def counts(self) -> bend.Counts:
        """What was counted, stretch by stretch; where an edge may lie elsewhere nothing was."""
        exact = {said: w for said, w in self.groups.items() if not said.blur}
        return bend.count(exact, self.fitted)

    @cached_property
    def laws(self) -> Plausible:
        """The laws that all figures are read from."""
        return bend.draw(self.fitted, self.counts, LAWS)

    @cached_property
    def _walked(self) -> Plausible:
        return bend.draw(self.fitted, self.counts, WALKED if self.groups else GUESSED)

    def plausible(self) -> Plausible:
        """A few laws, alike in weight, that stand for the whole posterior, for walking a game."""
        return self._walked

    @property
    def guess(self) -> bool:
        """Whether the starting guess still outweighs the shots.

        It does while the shots have not halved the variance of the bias and of the log half-width:
        precisions add up, so that is where the shots bring as much as the guess.
        """
        bias, log_half = self._mean_sd
        return (
            bias[1] ** 2 > self.prior.bias_sd**2 / 2.0
            or log_half[1] ** 2 > self.prior.log_sd**2 / 2.0
        )

    @property
    def _mean_sd(self) -> tuple[tuple[float, float], tuple[float, float]]:
        found = []
        for weights, nodes in (
            (self.weight.sum(axis=2), self.grid.bias),
            (self.weight.sum(axis=1), self.grid.log_half),
        ):
            mean = float((weights * nodes).sum())
            found.append((mean, math.sqrt(float((weights * (nodes - mean) ** 2).sum()))))
        return found[0], found[1]

    @cached_property
    def bias(self) -> Band:
        """Average miss in yards, left and short negative."""
        return quantiles(self.laws.mean, self.laws.weight)

    @cached_property
    def half_width(self) -> Band:
        """Yards either side of the player's own centre that hold two shots in three."""
        return quantiles(self.laws.half, self.laws.weight)

    def inside(self, width: float, off: float = 0.0) -> Band:
        """The chance to finish within a width, in yards, about the aim or a place beside it."""
        return quantiles(self._inside(width, off), self.laws.weight)

    def held(self, width: float, off: float = 0.0) -> float:
        """The same in one number, the mean: how likely the next ball is to."""
        return float(self._inside(width, off) @ self.laws.weight)

    def _inside(self, width: float, off: float) -> Floats:
        inside: Floats = self.laws.chances([(off - width / 2.0, off + width / 2.0)])[0]
        return inside

    def by_shape(self, width: float) -> bool:
        """Whether `inside` a width follows from the shape alone, not from what was seen.

        So it is where most of the shots were verdicts and no verdict was given at that width.
        """
        verdicts = {said: w for said, w in self.groups.items() if said.edge is not None}
        if 2.0 * sum(verdicts.values()) <= sum(self.groups.values()):
            return False
        return not any(math.isclose(2.0 * said.edge, width) for said in verdicts if said.edge)

    @property
    def right(self) -> float:
        """The chance that the bias is to the right (in depth: long)."""
        return float(np.mean(self.laws.mean > 0.0))

    @property
    def shapes(self) -> dict[str, float]:
        """How plausible each shape is that is left."""
        weights = self.weight.sum(axis=(1, 2)).tolist()
        return dict(zip(self.grid.names, weights, strict=True))

    @property
    def kinds(self) -> dict[BendKind, float]:
        """How plausible it is that the shots are even, leaning, or two-way."""
        shapes = self.shapes
        return {
            kind: sum(w for name, w in shapes.items() if families()[name].kind == kind)
            for kind in BEND_KINDS
        }

    @cached_property
    def bent(self) -> float:
        """How plausible it is that none of the shapes is quite right."""
        return float(bend.bent_weight(self.fitted, self.counts)[..., 1:].sum())

    @property
    def mode(self) -> tuple[float, float]:
        """The most plausible bias and log half-width on the grid, whichever the shape."""
        shape, bias, half = np.unravel_index(int(np.argmax(self.weight)), self.weight.shape)
        return float(self.grid.bias[shape, bias]), float(self.grid.log_half[shape, half])


def quantiles(values: Floats, weights: Floats) -> Band:
    """Median and 80 % interval of weighted values."""
    order = np.argsort(values)
    reached = np.cumsum(weights[order])
    middle = (reached - weights[order] / 2.0) / reached[-1]
    median, low, high = np.interp((0.5, LOW, HIGH), middle, values[order]).tolist()
    return Band(median, low, high)
