"""The shot pattern of one player, club, swing and direction: where the ball finishes, how surely.

The posterior lives on a grid over bias, the logarithm of the half-width that holds two shots in
three about the player's own centre, and the three shapes. That half-width is the spread times a
number known for each shape, so one guess serves all three. The grid spans four posterior standard
deviations either way, with at least five steps to each of them, wherever the shots put it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from drillrunner.odds.observe import Observation
from drillrunner.odds.prior import Prior
from drillrunner.odds.shape import LIKELIHOODS, TWO_IN_THREE, Floats, Likelihood, Plausible

HALF_LIFE = 40.0
"""Balls after which a shot counts half. Chosen by `python -m tests.odds.recency`."""

LIVES = 10
"""Half-lives after which a shot is left out: all of them together weigh 0.1 % of the rest."""

REACH = 4.0
STEPS = 5
_FINE, _COARSE = 45, 17
_TURNS = 24
_EDGE = 0.02
_LEAST = 1e-300
LOW, HIGH = 0.1, 0.9


def memory(half_life: float = HALF_LIFE) -> int:
    """How many of the latest shots matter at all."""
    return int(LIVES * half_life)


class Band(NamedTuple):
    """A figure and how sure it is: the posterior median and the ends of its 80 % interval."""

    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Grid:
    """Nodes of the posterior: bias in yards, log of the half-width, each evenly spaced."""

    bias: Floats
    log_half: Floats
    likelihoods: tuple[Likelihood, ...]

    @cached_property
    def points(self) -> Plausible:
        """Every node of every shape as patterns, shape by shape, bias by bias."""
        half = np.exp(self.log_half)
        size = len(self.bias) * len(half)
        spread = np.concatenate(
            [np.tile(half / TWO_IN_THREE[name], len(self.bias)) for name in self.likelihoods]
        )
        bias = np.tile(np.repeat(self.bias, len(half)), len(self.likelihoods))
        weight = np.full(len(bias), 1.0 / len(bias))
        return Plausible(bias, spread, weight, tuple((name, size) for name in self.likelihoods))

    @property
    def shape(self) -> tuple[int, int, int]:
        return len(self.likelihoods), len(self.bias), len(self.log_half)


class _Moments(NamedTuple):
    bias: float
    bias_sd: float
    log_half: float
    log_sd: float


@dataclass(frozen=True)
class Pattern:
    """The posterior after some shots.

    groups: what the shots said, with how much each kind weighs now. shots: how many stand behind
    it. log_likelihood, weight: arrays of shapes x bias x log half-width; `weight` sums to 1.
    """

    prior: Prior
    half_life: float | None
    groups: Mapping[Observation, float]
    shots: int
    grid: Grid
    log_likelihood: Floats
    weight: Floats

    @classmethod
    def of(
        cls,
        newest_first: Iterable[Observation],
        prior: Prior,
        half_life: float | None = HALF_LIFE,
        likelihoods: tuple[Likelihood, ...] = LIKELIHOODS,
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
        return cls._fitted(groups, shots, prior, half_life, likelihoods)

    @classmethod
    def _fitted(
        cls,
        groups: Mapping[Observation, float],
        shots: int,
        prior: Prior,
        half_life: float | None,
        likelihoods: tuple[Likelihood, ...],
        start: _Moments | None = None,
    ) -> Pattern:
        now = start or _Moments(0.0, prior.bias_sd, math.log(prior.half_width), prior.log_sd)
        size = _COARSE if groups else _FINE
        for turn in range(_TURNS):
            grid = _grid(now, size, likelihoods)
            log_likelihood = _log_likelihood(groups, grid)
            weight = _posterior(log_likelihood, prior, grid)
            found, fits = _look(weight, grid)
            if fits and size == _FINE:
                break
            if fits or turn == _TURNS - 3:
                size = _FINE
            now = _next(found, weight, grid, prior)
        return cls(prior, half_life, groups, shots, grid, log_likelihood, weight)

    def after(self, said: Observation) -> Pattern:
        """The pattern one ball later: every older shot fades by one step."""
        fade = 1.0 if self.half_life is None else 0.5 ** (1.0 / self.half_life)
        gone = 0.5**LIVES if self.half_life is not None else 0.0
        groups = {key: w * fade for key, w in self.groups.items() if w * fade > gone}
        groups[said] = groups.get(said, 0.0) + 1.0
        most = math.inf if self.half_life is None else memory(self.half_life)
        shots = int(min(self.shots + 1, most))
        log_likelihood = fade * self.log_likelihood + _log_likelihood({said: 1.0}, self.grid)
        weight = _posterior(log_likelihood, self.prior, self.grid)
        moments, fits = _look(weight, self.grid)
        if fits:
            return replace(
                self, groups=groups, shots=shots, log_likelihood=log_likelihood, weight=weight
            )
        start = _next(moments, weight, self.grid, self.prior)
        return self._fitted(groups, shots, self.prior, self.half_life, self.grid.likelihoods, start)

    @property
    def guess(self) -> bool:
        """Whether the starting guess still outweighs the shots.

        It does while the shots have not halved the variance of the bias and of the log half-width:
        precisions add up, so that is where the shots bring as much as the guess.
        """
        found = _moments(self.weight, self.grid)
        return (
            found.bias_sd**2 > self.prior.bias_sd**2 / 2.0
            or found.log_sd**2 > self.prior.log_sd**2 / 2.0
        )

    @property
    def bias(self) -> Band:
        """Average miss in yards, left and short negative."""
        return _marginal(self.weight.sum(axis=(0, 2)), self.grid.bias)

    @property
    def half_width(self) -> Band:
        """Yards either side of the player's own centre that hold two shots in three."""
        band = _marginal(self.weight.sum(axis=(0, 1)), self.grid.log_half)
        return Band(*(math.exp(value) for value in band))

    def inside(self, width: float) -> Band:
        """The chance to finish within a width, in yards, centred on the aim."""
        return quantiles(self._inside(width), self.weight.ravel())

    def held(self, width: float) -> float:
        """The same in one number, the mean: how likely the next ball is to."""
        return float(self._inside(width) @ self.weight.ravel())

    def _inside(self, width: float) -> Floats:
        inside: Floats = self.grid.points.chances([(-width / 2.0, width / 2.0)])[0]
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
        step = self.grid.bias[1] - self.grid.bias[0]
        share = np.clip(self.grid.bias / step + 0.5, 0.0, 1.0)
        return float(self.weight.sum(axis=(0, 2)) @ share)

    @property
    def tails(self) -> dict[Likelihood, float]:
        """How plausible each shape is."""
        return dict(zip(self.grid.likelihoods, self.weight.sum(axis=(1, 2)).tolist(), strict=True))

    @property
    def mode(self) -> tuple[float, float]:
        """The most plausible bias and log half-width on the grid, whichever the shape."""
        _, bias, half = np.unravel_index(int(np.argmax(self.weight)), self.weight.shape)
        return float(self.grid.bias[bias]), float(self.grid.log_half[half])

    def plausible(self, apart: float = 0.75, least: float = 1e-5) -> Plausible:
        """A few patterns that stand for the whole posterior, for walking a game.

        Nodes about `apart` standard deviations from each other: for a smooth posterior the sum
        over them is as good as over all (the error of a trapezoid sum over a normal density falls
        as exp(-2 pi^2 / apart^2)); what is asked of them is smooth too, unless the guess is wide
        and the target small. Those weighing less than `least` of the heaviest are left out.
        """
        found = _moments(self.weight, self.grid)
        across = _every(self.grid.bias, apart * found.bias_sd)
        along = _every(self.grid.log_half, apart * found.log_sd)
        weight = self.weight[:, across][:, :, along]
        sparse = Grid(self.grid.bias[across], self.grid.log_half[along], self.grid.likelihoods)
        keep = weight.ravel() > least * weight.max()
        shares = weight.sum(axis=(1, 2), keepdims=True)
        # Thinning must not move weight between the shapes.
        whole = self.weight.sum(axis=(1, 2), keepdims=True)
        kept = (
            weight * np.divide(whole, shares, where=shares > 0, out=np.zeros_like(whole))
        ).ravel()[keep]
        counts = keep.reshape(len(self.grid.likelihoods), -1).sum(axis=1).tolist()
        points = sparse.points
        return Plausible(
            points.bias[keep],
            points.spread[keep],
            kept / kept.sum(),
            tuple(zip(self.grid.likelihoods, counts, strict=True)),
        )


def quantiles(values: Floats, weights: Floats) -> Band:
    """Median and 80 % interval of weighted values."""
    order = np.argsort(values)
    reached = np.cumsum(weights[order])
    middle = (reached - weights[order] / 2.0) / reached[-1]
    median, low, high = np.interp((0.5, LOW, HIGH), middle, values[order]).tolist()
    return Band(median, low, high)


def _grid(around: _Moments, size: int, likelihoods: tuple[Likelihood, ...]) -> Grid:
    nodes = np.linspace(-REACH, REACH, size)
    return Grid(
        around.bias + around.bias_sd * nodes, around.log_half + around.log_sd * nodes, likelihoods
    )


def _log_likelihood(groups: Mapping[Observation, float], grid: Grid) -> Floats:
    if not groups:
        return np.zeros(grid.shape)
    spans = [span for said in groups for span in said.spans]
    starts = np.cumsum([0] + [len(said.spans) for said in groups])[:-1]
    chances = grid.points.chances(spans)
    if len(spans) > len(groups):
        chances = np.add.reduceat(chances, starts, axis=0)
    shares = np.array([said.share for said in groups])
    if shares.min() < 1.0:
        chances = 1.0 - shares[:, None] * (1.0 - chances)
    np.maximum(chances, _LEAST, out=chances)
    weights = np.fromiter(groups.values(), dtype=float)
    return (weights @ np.log(chances, out=chances)).reshape(grid.shape)


def _posterior(log_likelihood: Floats, prior: Prior, grid: Grid) -> Floats:
    bias = grid.bias / prior.bias_sd
    log_half = (grid.log_half - math.log(prior.half_width)) / prior.log_sd
    if prior.flat:
        guess = np.where(
            (np.abs(bias) <= REACH)[:, None] & (np.abs(log_half) <= REACH), 0.0, -math.inf
        )
    else:
        guess = -0.5 * (bias[:, None] ** 2 + log_half**2)
    total = log_likelihood + guess
    weight: Floats = np.exp(total - total.max())
    weight /= weight.sum()
    return weight


def _moments(weight: Floats, grid: Grid) -> _Moments:
    bias = weight.sum(axis=(0, 2))
    half = weight.sum(axis=(0, 1))
    bias_at, half_at = float(bias @ grid.bias), float(half @ grid.log_half)
    return _Moments(
        bias_at,
        math.sqrt(bias @ (grid.bias - bias_at) ** 2),
        half_at,
        math.sqrt(half @ (grid.log_half - half_at) ** 2),
    )


def _axes(weight: Floats, grid: Grid) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """For each axis its nodes and the weight of each of them."""
    return (
        (grid.bias, weight.sum(axis=(0, 2))),
        (grid.log_half, weight.sum(axis=(0, 1))),
    )


def _cut(weights: Floats) -> bool:
    """Whether a grid ends where the posterior does not."""
    return bool(max(weights[0], weights[-1]) > _EDGE * weights.max())


def _look(weight: Floats, grid: Grid) -> tuple[_Moments, bool]:
    """What was found on a grid, and whether it is fine enough for that, and reaches far enough."""
    found = _moments(weight, grid)
    fits = True
    pairs = ((found.bias, found.bias_sd), (found.log_half, found.log_sd))
    for (mean, sd), (nodes, weights) in zip(pairs, _axes(weight, grid), strict=True):
        step = nodes[1] - nodes[0]
        fine = STEPS if len(nodes) == _FINE else STEPS * _COARSE / _FINE
        near = nodes[0] <= mean - 3.3 * sd and mean + 3.3 * sd <= nodes[-1]
        fits = fits and near and bool(sd >= fine * step) and not _cut(weights)
    return found, fits


def _next(found: _Moments, weight: Floats, grid: Grid, prior: Prior) -> _Moments:
    """Where to look next.

    A posterior that falls between two nodes shows no width of its own, and one that is cut off too
    little; shots can only narrow the guess, so its own width is the most.
    """
    across, along = (
        max(sd, (nodes[1] - nodes[0]) / 2.0) * (2.0 if _cut(weights) else 1.0)
        for sd, (nodes, weights) in zip(
            (found.bias_sd, found.log_sd), _axes(weight, grid), strict=True
        )
    )
    return found._replace(bias_sd=min(across, prior.bias_sd), log_sd=min(along, prior.log_sd))


def _marginal(weight: Floats, nodes: Floats) -> Band:
    """Median and 80 % interval of one axis, each node's weight spread evenly over its step."""
    step = nodes[1] - nodes[0]
    edges = np.append(nodes - step / 2.0, nodes[-1] + step / 2.0)
    reached = np.append(0.0, np.cumsum(weight))
    median, low, high = np.interp((0.5, LOW, HIGH), reached / reached[-1], edges).tolist()
    return Band(median, low, high)


def _every(nodes: Floats, apart: float) -> slice:
    stride = max(int(apart / (nodes[1] - nodes[0])), 1)
    return slice((len(nodes) // 2) % stride, None, stride)
