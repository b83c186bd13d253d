"""Expected strokes to hole out from every distance and lie: value iteration on test ground.

A golfer (`golfer`) picks the length that costs least; a shot is solid, short, too long (only meant
under 60 yd) or wild, and is played on from where it ends, from the centre line again. Numbers of
the ground are our choice, but for the fairway (medium 35 to 45 yd, 32 to 40 hold two thirds of a
scratch and a 20-handicap golfer's drives: J. Brauer, Golf Course Industry) and stroke and distance
(Rules of Golf, Rule 18.2). No wind, slope or nerves; chips are never holed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from drillrunner.catalogue.strokes.golfer import LIES, SHORT_SHARE, Golfer, Lie
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import FEET, Stroke, spread
from drillrunner.odds.tails import normal_right

YARDS: Floats = np.concatenate(
    [np.arange(12.0, 59.0, 2.0), np.arange(60.0, 296.0, 5.0), np.arange(300.0, 661.0, 10.0)]
)
"""The distances, yards to the middle of the green, that strokes are worked out at."""


@dataclass(frozen=True)
class Ground:
    """The hole: yards from the middle of the green, or from the centre line."""

    green: float = 13.0
    pin: float = 3.5
    pin_from: float = 60.0
    around: float = 20.0
    sand: float = 0.2
    apron: float = 0.3
    fairway: float = 36.0
    trees: float = 30.0
    blocked: float = 0.5
    boundary: float = 50.0
    out: float = 0.5


TEST_GROUND = Ground()

CUT, CELL = 3.3, 0.2
"""Normals end at 3.3 sd and are cut into cells of at most 0.2 sd, and at every edge besides."""
SHORT_OF, SHORT_SD, LONG_OF = 0.55, 0.20, 1.45
SHORT_ACROSS, WILD_OF, WILD_ACROSS = 1.1, 0.9, 3.0
DRIVER_ONLY = 40.0
"""On holes longer than the driver and this the tee shot is the driver."""
_NEXT: tuple[Lie, ...] = ("fairway", "rough", "sand", "recovery")
_SWEEPS = 60


@dataclass(frozen=True)
class Solved:
    """Expected strokes. shots: lies x `YARDS`; putts: `FEET`.

    misses: lies x `YARDS`, what is left on average after a shot from there that stays off the
    green and in play.
    """

    shots: Floats
    putts: Floats
    misses: Floats

    def of(self, distance: float, lie: Lie) -> float:
        """Strokes from `distance` yards off the green, between the nodes on a straight line."""
        return float(np.interp(distance, YARDS, self.shots[LIES.index(lie)]))

    def green(self, feet: float) -> float:
        """Putts from `feet` feet."""
        return float(np.interp(feet, FEET, self.putts))


@dataclass(frozen=True)
class _Shot:
    """One way that a shot may go: how likely, how far on average, sd's along and across."""

    chance: float
    far: float
    along: float
    across: float


def solve(golfer: Golfer, ground: Ground = TEST_GROUND) -> Solved:
    """Solve the ground for a golfer; strokes agree with the published check to 0.02."""
    putts = Stroke.of(golfer.ability, golfer.putting).putts()
    greens = {far: _on_green(putts, ground, far) for far in (False, True)}
    rows, own, replay, state = [], [], [], []
    for at, (lie, yards) in enumerate(product(LIES, YARDS)):
        for length in _lengths(golfer, lie, float(yards)):
            row, on, out = _outcome(golfer, ground, lie, float(yards), length, greens)
            rows.append(row)
            own.append(on)
            replay.append(out)
            state.append(at)
    moves, fixed, outs = np.array(rows), np.array(own), np.array(replay)
    starts = np.searchsorted(state, np.arange(len(LIES) * len(YARDS)))
    strokes = np.full((len(LIES), len(YARDS)), 3.0)
    for _ in range(_SWEEPS):
        # A ball out of bounds is a stroke more and the same shot again (Rule 18.2).
        tried = (1.0 + fixed + outs + moves @ strokes[1:].ravel()) / (1.0 - outs)
        after = np.minimum.reduceat(tried, starts).reshape(strokes.shape)
        settled = np.abs(after - strokes).max() < 1e-9
        strokes = after
        if settled:
            break
    off = moves @ strokes[1:].ravel() / np.maximum(moves.sum(axis=1), 1e-12)
    ends = np.append(starts[1:], len(state))
    best = [low + int(np.argmin(tried[low:high])) for low, high in zip(starts, ends, strict=True)]
    return Solved(strokes, putts, off[best].reshape(strokes.shape))


def _lengths(golfer: Golfer, lie: Lie, yards: float) -> Iterator[float]:
    longest = golfer.longest(lie)
    if lie == "tee" and yards > longest + DRIVER_ONLY:
        yield longest
        return
    if yards <= longest:
        yield yards
    for tenth in range(2, 11):
        length = longest * tenth / 10
        if length < yards:
            yield length


def _ways(golfer: Golfer, lie: Lie, length: float, at_flag: bool) -> Iterator[_Shot]:
    across, along = golfer.sds(length, lie)
    held = golfer.held(length, lie, at_flag=at_flag)
    bad = golfer.bad_shots
    short = bad * SHORT_SHARE[lie]
    wild = 0.0
    if length >= 60.0:
        wild = bad * 0.5
        if lie == "tee":
            # Up to twice as many, from three quarters of the driver on.
            wild *= 1.0 + min(max(length / golfer.driver * 4.0 - 3.0, 0.0), 1.0)
    yield _Shot(1.0 - short - wild, length, along * held, across * held)
    long = short / 2.0 if length < 60.0 else 0.0
    sideways = SHORT_ACROSS * across
    yield _Shot(short - long, SHORT_OF * length, SHORT_SD * length, sideways)
    if long:
        yield _Shot(long, LONG_OF * length, SHORT_SD * length, sideways)
    if wild:
        yield _Shot(wild, WILD_OF * length, along * held, WILD_ACROSS * across * held)


def _outcome(
    golfer: Golfer,
    ground: Ground,
    lie: Lie,
    yards: float,
    length: float,
    greens: dict[bool, tuple[Floats, Floats]],
) -> tuple[Floats, float, float]:
    """One shot: the chance of each next lie and distance, putts it leads to, chance of out."""
    row = np.zeros((len(_NEXT), len(YARDS)))
    radii, putts = greens[yards > ground.pin_from]
    ways = _ways(golfer, lie, length, at_flag=length == yards)
    cells = [_cells(ground, way, yards) for way in ways]
    left, x, weight = (np.concatenate(parts) for parts in zip(*cells, strict=True))
    r = np.hypot(left, x)
    green = r <= ground.green
    near = ~green & (r <= ground.green + ground.around)
    away = ~green & ~near
    fair = away & (x <= ground.fairway / 2)
    woods = away & (x > ground.trees)
    rough = away & ~fair & ~woods
    beyond = woods & (x > ground.boundary)
    on = float(weight[green] @ np.interp(r[green], radii, putts))
    out = ground.out * float(weight[beyond].sum())
    weight[beyond] *= 1.0 - ground.out
    around, wood = np.where(near, weight, 0.0), np.where(woods, weight, 0.0)
    stuck = ground.blocked * wood
    shares = (
        np.where(fair, weight, 0.0) + around * ground.apron,
        np.where(rough, weight, 0.0) + wood - stuck + around * (1.0 - ground.apron - ground.sand),
        around * ground.sand,
        stuck,
    )
    spread(row, YARDS, np.maximum(r, ground.green), shares)
    return row.ravel(), on, out


def _cells(ground: Ground, way: _Shot, yards: float) -> tuple[Floats, Floats, Floats]:
    """Where a shot may end: what is left along, sideways (one side), chance.

    Cells are cut at every edge, of the green for each stretch of depth by itself, so that a
    narrower spread never jumps over one.
    """
    rings = np.array((ground.green, ground.green + ground.around))
    marks = np.concatenate([yards - rings, yards + rings])
    edges, chance = _cut(way.far, way.along, marks, -CUT)
    left = yards - np.maximum((edges[1:] + edges[:-1]) / 2.0, 0.0)
    both = np.empty((len(left), 3 + len(rings)))
    both[:, :3] = ground.fairway / 2, ground.trees, ground.boundary
    both[:, 3:] = np.sqrt(np.maximum(rings**2 - left[:, None] ** 2, 0.0))
    far, weight = _cut(0.0, way.across, both, 0.0)
    x = (far[:, 1:] + far[:, :-1]) / 2.0
    weight *= way.chance * chance[:, None]
    return np.repeat(left, x.shape[1]), x.ravel(), weight.ravel()


def _cut(mean: float, sd: float, marks: Floats, low: float) -> tuple[Floats, Floats]:
    """Edges of cells from `low` to 3.3 sd, cut at marks too (last axis), and their chances."""
    count = int(np.ceil((CUT - low) / CELL)) + 1
    edges = np.empty((*marks.shape[:-1], count + marks.shape[-1]))
    edges[..., :count] = np.linspace(low, CUT, count)
    edges[..., count:] = np.minimum(np.maximum((marks - mean) / sd, low), CUT)
    edges.sort(axis=-1)
    beyond = normal_right(edges)
    chance = beyond[..., :-1] - beyond[..., 1:]
    chance /= chance.sum(axis=-1, keepdims=True)
    return mean + sd * edges, chance


def _on_green(putts: Floats, ground: Ground, far: bool) -> tuple[Floats, Floats]:
    """Putts by how far from the middle a ball lies, averaged over where the pin stands."""
    radii = np.linspace(0.0, ground.green, 131)
    if not far:
        return radii, np.interp(3.0 * radii, FEET, putts)
    angle = (np.arange(48) + 0.5) * np.pi / 48
    feet = 3.0 * np.hypot(radii[:, None] - ground.pin * np.cos(angle), ground.pin * np.sin(angle))
    return radii, np.interp(feet, FEET, putts).mean(axis=1)
