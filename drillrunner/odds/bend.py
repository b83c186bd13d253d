"""What the counts make of a shape that does not fit: a Dirichlet law around it.

The law of the shots is taken as a Dirichlet process about a node of the grid (Ferguson 1973, Ann.
Statist. 1:209-230), mixed over nodes and over its concentration A (Antoniak 1974, Ann. Statist.
2:1152-1174; titles from memory), seen on a few stretches of the miss: within one a law keeps its
own form. With p a stretch's share under a node and c its count, the evidence beside the node's own
is closed: G(A)/G(A+n) prod G(A p + c) / (G(A p) p^c), G the gamma function. So the figures go to
what was counted as the balls grow, and stay with the shape where nothing was counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from drillrunner.odds.families import BendKind, families
from drillrunner.odds.fit import Fit, Grid
from drillrunner.odds.observe import Observation
from drillrunner.odds.shape import Bent, Plausible
from drillrunner.odds.tails import Floats, Ints, Span

FIRM = (10.0, 30.0, 100.0, 300.0)
"""Concentrations tried: a law bends as easily as if so many balls spoke for its own form."""

UNBENT = 0.02
"""The prior weight of a shape being exactly right."""

STRETCHES = 24
FEWEST, TAPER = 3.0, 0.6
"""A stretch holds about a 24th of the fitted law; towards a tail ever less, by this factor, down to
so many balls."""

SHARED = 36.0
"""Concentration at which balls of which only a zone was seen are shared over the stretches."""

LATTICE = np.array([0.7548776662466927, 0.5698402909980532])
"""One over the plastic number, and its square: multiples of them fill a square evenly."""

LEAST = 1e-7
"""Nodes weighing less than this of the heaviest are not looked at."""


class Counts(NamedTuple):
    """Balls by stretch. edges: the G - 1 ends between them, yards. counted: weights, array of G."""

    edges: Floats
    counted: Floats


def count(groups: Mapping[Observation, float], fitted: Fit) -> Counts:
    """What was counted, in stretches that hold about alike much of the fitted law."""
    ends = sorted({end for said in groups for span in said.spans for end in span})
    edges = np.array([end for end in ends if math.isfinite(end)])
    if not len(edges):
        return Counts(np.zeros(0), np.zeros(1))
    law = _mean(fitted, edges)
    said = list(groups)
    weights = np.fromiter(groups.values(), dtype=float)
    middles = np.concatenate([[-math.inf], (edges[1:] + edges[:-1]) / 2.0, [math.inf]])
    covers = np.array([_covered(one, middles) for one in said])
    counted = np.zeros(len(law))
    for _ in range(2):
        mixed = (SHARED * law + counted) / (SHARED + counted.sum())
        shares = covers * np.maximum(mixed, 1e-12)
        counted = weights @ (shares / shares.sum(axis=1, keepdims=True))
    return _merged(edges, law, counted)


def _mean(fitted: Fit, edges: Floats) -> Floats:
    """The share of each cell between these edges under the posterior as a whole."""
    at = np.flatnonzero(fitted.weight.ravel() > LEAST * 1e3 * fitted.weight.max())
    points = picked(fitted.grid, fitted.weight, at)
    found: Floats = points.chances(cells(edges)) @ points.weight
    return found


def cells(edges: Floats) -> list[Span]:
    """The spans between edges, the outermost without an end."""
    ends = [-math.inf, *edges.tolist(), math.inf]
    return list(pairwise(ends))


def picked(grid: Grid, weight: Floats, at: Ints) -> Plausible:
    """Some nodes of a grid, by number in order, as patterns with these weights."""
    points, weight = grid.points, weight.ravel()[at]
    per = grid.shape[1] * grid.shape[2]
    counts = np.bincount(at // per, minlength=len(grid.names)).tolist()
    shapes = tuple((n, c) for n, c in zip(grid.names, counts, strict=True) if c)
    return Plausible(points.bias[at], points.spread[at], weight / weight.sum(), shapes)


def _covered(said: Observation, middles: Floats) -> Floats:
    # One that may have gone wrong in the other direction may lie anywhere in this one, that likely.
    found = np.full(len(middles), 1.0 - said.share)
    for low, high in said.spans:
        found[(middles >= low) & (middles <= high)] = 1.0
    return found


def _merged(edges: Floats, law: Floats, counted: Floats) -> Counts:
    """Only the ends nearest to even shares of the law, and to ever smaller ones in its tails."""
    reached = np.cumsum(law)[:-1]
    least = min(FEWEST / max(float(counted.sum()), 1.0), 1.0 / STRETCHES)
    tail = [1.0 / STRETCHES]
    while tail[-1] * TAPER > least:
        tail.append(tail[-1] * TAPER)
    shares = [k / STRETCHES for k in range(1, STRETCHES)] + tail + [1.0 - share for share in tail]
    off = np.abs(reached[:, None] - np.array(shares))
    kept = np.flatnonzero(np.bincount(np.argmin(off, axis=0)))
    sums = np.add.reduceat(counted, np.concatenate([[0], kept + 1]))
    return Counts(edges[kept], sums)


def bent_weight(fitted: Fit, counts: Counts) -> Floats:
    """The weight of every node and concentration: shapes x bias x log half-width x (1 + A).

    The first of the last axis is that of the shape being exactly right. All weights sum to 1.
    How far a bent law explains more than the node's own changes slowly from node to node: it is
    worked out at every second one along each axis, with straight lines between.
    """
    weight, whole = fitted.weight, counts.counted.sum()
    if whole <= 0.0 or not len(counts.edges):
        return np.concatenate([weight[..., None], np.zeros((*weight.shape, len(FIRM)))], axis=-1)
    grid = fitted.grid
    sparse = Grid(grid.names, grid.bias[:, ::2], grid.log_half[:, ::2])
    near = fitted.weight[:, ::2, ::2].ravel()
    at = np.flatnonzero(near > LEAST * near.max())
    shares = np.maximum(picked(sparse, near, at).chances(cells(counts.edges)), 1e-12)
    some = counts.counted > 0.0
    held, shares = counts.counted[some, None], shares[some]
    alone = counts.counted[some] @ np.log(shares)
    ratios = np.full((len(near), len(FIRM)), -math.inf)
    for column, firm in enumerate(FIRM):
        scaled = firm * shares
        ratio = (log_gamma(scaled + held) - log_gamma(scaled)).sum(axis=0)
        ratios[at, column] = ratio + math.lgamma(firm) - math.lgamma(firm + whole) - alone
    worst = ratios[at].min(axis=0)
    np.maximum(ratios, worst, out=ratios)
    between = _between(_between(ratios.reshape(*sparse.shape, -1), 1), 2)
    logs = np.concatenate([np.zeros((*weight.shape, 1)), between], axis=-1)
    logs += np.log(np.array([_weights(families()[name].kind) for name in grid.names]))[
        :, None, None
    ]
    logs += np.log(np.maximum(weight, 1e-300))[..., None]
    found: Floats = np.exp(logs - logs.max())
    found /= found.sum()
    return found


def _weights(kind: BendKind) -> list[float]:
    """Prior weights of a shape being right, and of each concentration.

    The shares of the two humps come in steps, which must not be taken for known: a two-way shape is
    always bent, and as by a hundred balls at most.
    """
    if kind == "two-way":
        loose = sum(firm <= 100.0 for firm in FIRM)
        return [1e-12] + [1.0 / loose if firm <= 100.0 else 1e-12 for firm in FIRM]
    return [UNBENT] + [(1.0 - UNBENT) / len(FIRM)] * len(FIRM)


def _between(values: Floats, axis: int) -> Floats:
    """The same with a value put between every two along an axis."""
    values = np.moveaxis(values, axis, 0)
    found = np.empty((2 * len(values) - 1, *values.shape[1:]))
    found[::2] = values
    found[1::2] = (values[1:] + values[:-1]) / 2.0
    return np.moveaxis(found, 0, axis)


def log_gamma(x: Floats) -> Floats:
    """The logarithm of the gamma function for x > 0, to 1e-10: Stirling's series after x + 7."""
    up = x * (x + 1.0) * (x + 2.0) * (x + 3.0) * (x + 4.0) * (x + 5.0) * (x + 6.0)
    y = x + 7.0
    inverse = 1.0 / y
    square = inverse * inverse
    series = inverse * (1 / 12 - square * (1 / 360 - square * (1 / 1260 - square / 1680)))
    found: Floats = (y - 0.5) * np.log(y) - y + 0.5 * math.log(2.0 * math.pi) + series - np.log(up)
    return found


def draw(fitted: Fit, counts: Counts, many: int, seed: int = 1) -> Plausible:
    """So many laws of the shots, alike in weight, that stand for the whole posterior.

    Shape and concentration come in their due number, bias and half-width along a lattice, so that
    sums over the laws are far nearer than over as many independent ones; only the bends are drawn
    by chance.
    """
    cube = bent_weight(fitted, counts)
    columns = cube.shape[-1]
    slabs = cube.sum(axis=(1, 2))
    due = np.concatenate([[0.0], np.cumsum(slabs.ravel())])
    numbers = np.diff(np.ceil(due / due[-1] * many - 0.5)).astype(int)
    shape, firm = np.divmod(np.repeat(np.arange(len(numbers)), numbers), columns)
    bias, log_half = _lattice(cube, fitted.grid, shape, firm)
    per = numbers.reshape(-1, columns).sum(axis=1).tolist()
    shapes = tuple((n, count) for n, count in zip(fitted.grid.names, per, strict=True) if count)
    even = np.full(many, 1.0 / many)
    plain = Plausible(bias, np.ones(many), even, shapes, None, True)
    plain = Plausible(bias, np.exp(log_half) / plain.half, even, shapes, None, True)
    if not firm.any():
        return plain
    share = plain.chances(cells(counts.edges)).T
    loose = firm > 0
    strength = np.array((math.inf, *FIRM))[firm[loose]]
    rng = np.random.default_rng(seed)
    drawn = rng.standard_gamma(strength[:, None] * share[loose] + counts.counted) + 1e-12
    share[loose] = drawn / drawn.sum(axis=1, keepdims=True)
    return replace(plain, bent=Bent(counts.edges, share))


def _lattice(cube: Floats, grid: Grid, shape: Ints, firm: Ints) -> tuple[Floats, Floats]:
    """Bias and log half-width of laws by quantile: along the bias, then along the other given it.

    shape, firm: of each law, one after the other, where in the cube it belongs.
    """
    across, along = ((0.5 + np.arange(len(shape))[:, None] * LATTICE) % 1.0).T
    rows = cube.sum(axis=2)
    reached = np.cumsum(rows, axis=1) / np.maximum(rows.sum(axis=1, keepdims=True), 1e-300)
    row, part = _fallen(reached[shape, :, firm], across)
    step = grid.bias[:, 1] - grid.bias[:, 0]
    bias = grid.bias[shape, row] + (part - 0.5) * step[shape]
    inner = np.cumsum(cube[shape, row, :, firm], axis=1)
    inner /= np.maximum(rows[shape, row, firm], 1e-300)[:, None]
    node, part = _fallen(inner, along)
    step = grid.log_half[:, 1] - grid.log_half[:, 0]
    return bias, grid.log_half[shape, node] + (part - 0.5) * step[shape]


def _fallen(reached: Floats, at: Floats) -> tuple[Ints, Floats]:
    """Into which cell each place falls, by shares summed up, and how far into it."""
    one, last = np.arange(len(at)), reached.shape[1] - 1
    cell = np.minimum((reached < at[:, None]).sum(axis=1), last)
    low = np.where(cell > 0, reached[one, cell - 1], 0.0)
    part = (at - low) / np.maximum(reached[one, cell] - low, 1e-300)
    return cell, np.clip(part, 0.0, 1.0)
