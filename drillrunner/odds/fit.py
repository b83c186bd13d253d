"""The posterior of a pattern on a grid: for each shape, bias and log half-width.

Every shape has a grid of its own about its own posterior, four standard deviations either way: the
sum over evenly spaced nodes of a smooth density is then as good as the integral (the error falls as
exp(-2 pi^2 / step^2), step in standard deviations), and no shape is cut short by another's place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drillrunner.odds.families import families, weight_of
from drillrunner.odds.observe import Observation
from drillrunner.odds.prior import Prior
from drillrunner.odds.shape import Plausible
from drillrunner.odds.tails import Floats, Ints

Bools = NDArray[np.bool_]

REACH = 4.0
NODES = 17
"""Along each axis: a step of half a standard deviation."""

FINE = 33
"""Where there is nothing to weigh yet, and the guess itself is looked at."""

FAINT = 8.0
"""A shape whose evidence is below e^-8 of the best is left out."""

_TURNS = 30
_EDGE = 0.02
_LEAST = 1e-300


class Moments(NamedTuple):
    """Of each shape: where its posterior lies and how wide, arrays of F."""

    bias: Floats
    bias_sd: Floats
    log_half: Floats
    log_sd: Floats

    def of(self, which: Ints) -> Moments:
        """Those of some shapes."""
        return Moments(*(values[which] for values in self))


@dataclass(frozen=True)
class Grid:
    """names: of F shapes. bias: yards, F x N. log_half: of the half-width in yards, F x N."""

    names: tuple[str, ...]
    bias: Floats
    log_half: Floats

    @cached_property
    def points(self) -> Plausible:
        """Every node of every shape as patterns, shape by shape, bias by bias."""
        count = self.bias.shape[1] * self.log_half.shape[1]
        spread = np.concatenate(
            [
                np.tile(np.exp(row) / families()[name].half, self.bias.shape[1])
                for name, row in zip(self.names, self.log_half, strict=True)
            ]
        )
        bias = np.repeat(self.bias, self.log_half.shape[1], axis=1).ravel()
        weight = np.full(len(bias), 1.0 / len(bias))
        return Plausible(bias, spread, weight, tuple((name, count) for name in self.names))

    @property
    def shape(self) -> tuple[int, int, int]:
        """Shapes, nodes of bias, nodes of the log half-width."""
        return len(self.names), self.bias.shape[1], self.log_half.shape[1]

    def only(self, which: Sequence[int]) -> Grid:
        """The same of some shapes."""
        at = list(which)
        return Grid(tuple(self.names[k] for k in at), self.bias[at], self.log_half[at])

    @property
    def log_cell(self) -> Floats:
        """Of each shape: the logarithm of the area that a node stands for."""
        across, along = (nodes[:, 1] - nodes[:, 0] for nodes in (self.bias, self.log_half))
        found: Floats = np.log(across) + np.log(along)
        return found


class Fit(NamedTuple):
    """log_likelihood, weight: shapes x bias x log half-width; `weight` sums to 1."""

    grid: Grid
    log_likelihood: Floats
    weight: Floats


def fit(
    groups: Mapping[Observation, float],
    prior: Prior,
    names: Sequence[str],
    start: Moments | None = None,
) -> Fit:
    """The posterior of these shapes. start: one row, about where to look."""
    names = tuple(names)
    wide = Moments(*(np.array([v]) for v in (0.0, prior.bias_sd, _log(prior), prior.log_sd)))
    if not groups:
        grid = _grid(names, _same(wide, len(names)), FINE)
        none = np.zeros(grid.shape)
        return Fit(grid, none, posterior(none, prior, grid))
    if start is None:
        # One shape finds the place; the others look around there.
        first = names[:1]
        found = _settled(groups, prior, first, wide)
        start = moments(found.weight, found.grid)
    around = _same(start, len(names))
    around = around._replace(
        bias_sd=np.minimum(2.0 * around.bias_sd, prior.bias_sd),
        log_sd=np.minimum(2.0 * around.log_sd, prior.log_sd),
    )
    return _settled(groups, prior, names, around)


def _settled(
    groups: Mapping[Observation, float], prior: Prior, names: tuple[str, ...], around: Moments
) -> Fit:
    grid = _grid(names, around, NODES)
    likelihood = log_likelihood(groups, grid)
    for _ in range(_TURNS):
        weight, evidence = _weighed(likelihood, prior, grid)
        found, fits = look(weight, grid)
        keep = (evidence > evidence.max() - FAINT) | (
            ~fits & (evidence > evidence.max() - 10.0 * FAINT)
        )
        at = np.flatnonzero(keep)
        if not keep.all():
            grid, likelihood, weight = grid.only(at.tolist()), likelihood[at], weight[at]
            found, fits = found.of(np.asarray(at)), fits[at]
        moving = np.flatnonzero(~fits)
        if not len(moving):
            break
        now = _next(found, weight, grid, prior).of(moving)
        moved = _grid(tuple(grid.names[k] for k in moving), now, NODES)
        bias, log_half = grid.bias.copy(), grid.log_half.copy()
        bias[moving], log_half[moving] = moved.bias, moved.log_half
        grid = Grid(grid.names, bias, log_half)
        likelihood = likelihood.copy()
        likelihood[moving] = log_likelihood(groups, moved)
    return Fit(grid, likelihood, posterior(likelihood, prior, grid))


def _log(prior: Prior) -> float:
    return math.log(prior.half_width)


def _same(one: Moments, count: int) -> Moments:
    return Moments(*(np.repeat(values, count) for values in one))


def _grid(names: tuple[str, ...], around: Moments, nodes: int) -> Grid:
    line = np.linspace(-REACH, REACH, nodes)
    return Grid(
        names,
        around.bias[:, None] + around.bias_sd[:, None] * line,
        around.log_half[:, None] + around.log_sd[:, None] * line,
    )


def log_likelihood(groups: Mapping[Observation, float], grid: Grid) -> Floats:
    """How well each node of a grid explains what was said, each group with its weight."""
    total = np.zeros(len(grid.points.bias))
    plain = {said: w for said, w in groups.items() if not said.blur}
    if plain:
        total += _explained(plain, grid.points)
    for blur in {said.blur for said in groups if said.blur}:
        # One width was misjudged, for all balls alike: it is the whole that is averaged.
        soft = {said: w for said, w in groups.items() if said.blur == blur}
        shifts = [
            math.log(share)
            + _explained({_shifted(said, step * blur): w for said, w in soft.items()}, grid.points)
            for step, share in _hermite()
        ]
        total += np.logaddexp.reduce(np.array(shifts), axis=0)
    return total.reshape(grid.shape)


@cache
def _hermite() -> list[tuple[float, float]]:
    """Steps of a standard normal that is averaged over, and the share of each."""
    nodes, weights = np.polynomial.hermite.hermgauss(5)
    shares = weights / math.sqrt(math.pi)
    return list(zip((math.sqrt(2.0) * nodes).tolist(), shares.tolist(), strict=True))


def _shifted(said: Observation, by: float) -> Observation:
    """The same ball, judged by an edge that lies so many yards further out on either side."""
    edge = said.edge or 0.0
    by = max(by, 0.5 - edge)

    def end(value: float) -> float:
        if math.isclose(abs(value), edge):
            return math.copysign(edge + by, value)
        return value

    return said._replace(spans=tuple((end(low), end(high)) for low, high in said.spans))


def _explained(groups: Mapping[Observation, float], points: Plausible) -> Floats:
    spans = [span for said in groups for span in said.spans]
    starts = np.cumsum([0] + [len(said.spans) for said in groups])[:-1]
    chances = points.chances(spans)
    if len(spans) > len(groups):
        chances = np.add.reduceat(chances, starts, axis=0)
    shares = np.array([said.share for said in groups])
    if shares.min() < 1.0:
        chances = 1.0 - shares[:, None] * (1.0 - chances)
    np.maximum(chances, _LEAST, out=chances)
    weights = np.fromiter(groups.values(), dtype=float)
    found: Floats = weights @ np.log(chances, out=chances)
    return found


def log_prior(prior: Prior, grid: Grid) -> Floats:
    """Of each node, with the area it stands for and the weight of its shape."""
    bias = grid.bias / prior.bias_sd
    log_half = (grid.log_half - _log(prior)) / prior.log_sd
    if prior.flat:
        near = (np.abs(bias) <= REACH)[:, :, None] & (np.abs(log_half) <= REACH)[:, None, :]
        guess = np.where(near, 0.0, -math.inf)
    else:
        guess = -0.5 * (bias[:, :, None] ** 2 + log_half[:, None, :] ** 2)
    found: Floats = guess + (np.log(weight_of(grid.names)) + grid.log_cell)[:, None, None]
    return found


def posterior(likelihood: Floats, prior: Prior, grid: Grid) -> Floats:
    """The weight of every node; the sum is 1."""
    total = likelihood + log_prior(prior, grid)
    weight: Floats = np.exp(total - total.max())
    weight /= weight.sum()
    return weight


def _weighed(likelihood: Floats, prior: Prior, grid: Grid) -> tuple[Floats, Floats]:
    """The weight of nodes, each shape for itself, and the log evidence of each shape."""
    total = likelihood + log_prior(prior, grid)
    most = total.max(axis=(1, 2), keepdims=True)
    most = np.where(np.isfinite(most), most, 0.0)
    weight = np.exp(total - most)
    whole = weight.sum(axis=(1, 2))
    evidence = np.log(np.maximum(whole, _LEAST)) + most[:, 0, 0]
    return weight / np.maximum(whole, _LEAST)[:, None, None], evidence


def moments(weight: Floats, grid: Grid) -> Moments:
    """Where each shape's posterior lies and how wide it is."""
    found = []
    for weights, nodes in _axes(weight, grid):
        share = weights / np.maximum(weights.sum(axis=1, keepdims=True), _LEAST)
        mean = (share * nodes).sum(axis=1)
        found += [mean, np.sqrt((share * (nodes - mean[:, None]) ** 2).sum(axis=1))]
    return Moments(*found)


def _axes(weight: Floats, grid: Grid) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    return (weight.sum(axis=2), grid.bias), (weight.sum(axis=1), grid.log_half)


def _cut(weights: Floats) -> Bools:
    """Whether a grid ends where the posterior does not, for each shape."""
    ends = np.maximum(weights[:, 0], weights[:, -1])
    found: Bools = ends > _EDGE * weights.max(axis=1)
    return found


def look(weight: Floats, grid: Grid) -> tuple[Moments, Bools]:
    """What was found, and of each shape whether its grid is fine enough and reaches far enough."""
    found = moments(weight, grid)
    fits = np.ones(len(grid.names), dtype=bool)
    pairs = ((found.bias, found.bias_sd), (found.log_half, found.log_sd))
    for (mean, sd), (weights, nodes) in zip(pairs, _axes(weight, grid), strict=True):
        step = nodes[:, 1] - nodes[:, 0]
        near = (nodes[:, 0] <= mean - 3.0 * sd) & (mean + 3.0 * sd <= nodes[:, -1])
        fits &= near & (sd >= 1.2 * step) & ~_cut(weights)
    return found, fits


def _next(found: Moments, weight: Floats, grid: Grid, prior: Prior) -> Moments:
    """Where to look next.

    A posterior that falls between two nodes shows no width of its own, and one that is cut off too
    little; shots can only narrow the guess, so its own width is the most.
    """
    widths = []
    for sd, most, (weights, nodes) in zip(
        (found.bias_sd, found.log_sd),
        (prior.bias_sd, prior.log_sd),
        _axes(weight, grid),
        strict=True,
    ):
        least = (nodes[:, 1] - nodes[:, 0]) / 2.0
        wide = np.maximum(sd, least) * np.where(_cut(weights), 2.0, 1.0)
        widths.append(np.minimum(wide, most))
    return found._replace(bias_sd=widths[0], log_sd=widths[1])
