"""Which club and which line from the tee: expected strokes over the pattern, hole by hole.

The ball finishes somewhere across (from the middle of the fairway, on a short hole of the green)
and somewhere along; each place has a lie, and the table of expected strokes says what is left from
there. What a hole does not tell is as on the test ground of `solver`; one that tells of a boundary
has no other. Out of bounds is a stroke
more and the same shot again, water a stroke more and rough beside it (Rules of Golf, Rules 18.2
and 17.1; where one drops is our choice). Pure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from drillrunner.catalogue.strokes.golfer import SHORT_SHARE, Golfer, Lie
from drillrunner.catalogue.strokes.table import GREEN, LEAST_YARDS, SHOTS, Level
from drillrunner.catalogue.strokes.table import level as level_of
from drillrunner.odds.shape import Floats, Plausible, tail
from drillrunner.odds.strokes.solver import (
    CUT,
    SHORT_ACROSS,
    SHORT_OF,
    SHORT_SD,
    TEST_GROUND,
    WILD_ACROSS,
    WILD_OF,
    Ground,
)

Side = Literal["left", "right"]
Trouble = Literal["rough", "trees", "water", "out"]

AIMS: tuple[int, ...] = tuple(range(-40, 41, 2))
"""Lines that are tried, in yards right of the middle."""

NO_DIFFERENCE = 0.05
"""Strokes below which two choices are said to be alike. Our choice: the table's own error."""

_STEP = 0.25
_ACROSS: Floats = np.arange(-240.0, 240.0 + _STEP / 2, _STEP)
_CELLS = 25
"""Cells along; across, each yard is one, cut at every edge besides."""


@dataclass(frozen=True)
class TeeHole:
    """A hole as its tee shot meets it, in yards.

    width: of the landing area, on a short hole of the green; `None` where nothing is told.
    troubles: where each begins on each side, from the middle.
    """

    par: int
    length: float
    width: float | None = None
    troubles: Mapping[tuple[Side, Trouble], float] = field(default_factory=dict)


@dataclass(frozen=True)
class Way:
    """One way that a shot from the tee may go.

    chance: how likely. below: how likely it finishes left of each of `_ACROSS`, aimed at 0.
    along: places in yards from the tee, and the chance of each.
    """

    chance: float
    below: Floats
    along: tuple[Floats, Floats]


@dataclass(frozen=True)
class ClubOffTee:
    """A club as a player hits it: the ways that it may go. length: yards, as meant."""

    club: str
    length: float
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Line:
    """The best line of one club. aim: yards right of the middle; middle: aimed at that."""

    club: str
    aim: int
    expected: float
    middle: float

    @property
    def matters(self) -> bool:
        """Whether the aim makes a difference that can be told."""
        return self.middle - self.expected >= NO_DIFFERENCE


def model_shot(club: str, golfer: Golfer, length: float) -> ClubOffTee:
    """How a golfer of the model hits a club that goes so far: well, short, or wild."""
    across, along = golfer.sds(length, "tee")
    bad = golfer.bad_shots
    short = bad * SHORT_SHARE["tee"]
    wild = bad * 0.5 * (1.0 + min(max(length / golfer.driver * 4.0 - 3.0, 0.0), 1.0))
    wild = wild if length >= 60.0 else 0.0
    ways = (
        Way(1.0 - short - wild, _normal(across), _cells(length, along)),
        Way(short, _normal(SHORT_ACROSS * across), _cells(SHORT_OF * length, SHORT_SD * length)),
        Way(wild, _normal(WILD_ACROSS * across), _cells(WILD_OF * length, along)),
    )
    return ClubOffTee(club, length, ways)


def own_shot(
    club: str, length: float, lateral: Plausible, depth: Plausible, golfer: Golfer
) -> ClubOffTee:
    """How a player hits a club: their own pattern, averaged over all that is plausible of it.

    Wild ones are in its tails. Short ones are as the golfer of the player's index has them: a
    corridor does not tell of them.
    """
    below = _mixture(lateral)
    short = golfer.bad_shots * SHORT_SHARE["tee"]
    half = float(np.median(depth.half))
    bias = float(depth.mean @ depth.weight)
    ways = (
        Way(1.0 - short, below, _cells(length + bias, half)),
        Way(short, below, _cells(SHORT_OF * length, SHORT_SD * length)),
    )
    return ClubOffTee(club, length, ways)


def best_lines(
    hole: TeeHole, shots: Sequence[ClubOffTee], level: Level, ground: Ground = TEST_GROUND
) -> tuple[Line, ...]:
    """For each club the line with the fewest expected strokes, the best club first.

    Of lines that are level it is the nearest to the middle.
    """
    places = _Places(hole, level, ground)
    lines = [_best(shot, _expected(places, shot, AIMS)) for shot in shots]
    return tuple(sorted(lines, key=lambda line: line.expected))


def _best(shot: ClubOffTee, found: Floats) -> Line:
    middle = float(found[AIMS.index(0)])
    least = float(found.min())
    near = [aim for aim, strokes in zip(AIMS, found, strict=True) if strokes <= least + 0.001]
    aim = min(near, key=abs)
    return Line(shot.club, aim, float(found[AIMS.index(aim)]), middle)


def expected(
    hole: TeeHole,
    shot: ClubOffTee,
    level: Level,
    aims: Sequence[float] = AIMS,
    ground: Ground = TEST_GROUND,
) -> Floats:
    """Expected strokes from the tee for each aim, in yards right of the middle."""
    return _expected(_Places(hole, level, ground), shot, aims)


def _expected(places: _Places, shot: ClubOffTee, aims: Sequence[float]) -> Floats:
    left = np.zeros(len(aims))
    out = np.zeros(len(aims))
    for way in shot.ways:
        at = places.edges[None, :] - np.asarray(aims, float)[:, None]
        across = np.diff(np.interp(at, _ACROSS, way.below, 0.0, 1.0), axis=1)
        strokes, lost = places.worth(way.along)
        whole = np.maximum(across.sum(axis=1), 1e-12)
        left += way.chance * (across @ strokes) / whole
        out += way.chance * (across @ lost) / whole
    # A ball that is out counts two, and the next one from the tee goes as this one did.
    found: Floats = (1.0 + left + out) / (1.0 - out)
    return found


def zones(hole: TeeHole, places: Sequence[float], ground: Ground = TEST_GROUND) -> list[str]:
    """What lies at each of these places across a hole: the names of `_ZONES`."""
    found = _Places(hole, level_of(20.0), ground)
    return [found.zone(place)[0] for place in places]


def across(shot: ClubOffTee, aim: float, places: Sequence[float]) -> list[float]:
    """How likely a shot aimed there finishes within half a yard of each place across."""
    at = np.asarray(places, float) - aim
    found = np.zeros(len(at))
    for way in shot.ways:
        found += (
            way.chance
            * np.diff(np.interp(np.stack([at - 0.5, at + 0.5]), _ACROSS, way.below), axis=0)[0]
        )
    listed: list[float] = found.tolist()
    return listed


class _Places:
    """Where a tee shot may finish across the hole, and what each place leaves to be played."""

    def __init__(self, hole: TeeHole, level: Level, ground: Ground) -> None:
        self.hole, self.level, self.ground = hole, level, ground
        half = None if hole.width is None else hole.width / 2.0
        short = hole.par == 3
        self.green = half if short and half is not None else ground.green
        self.fairway = half if not short and half is not None else ground.fairway / 2.0
        told = [far if side == "right" else -far for (side, _), far in hole.troubles.items()]
        marks = np.array([self.fairway, ground.trees, ground.boundary, self.green])
        yards = np.arange(-120.0, 121.0)
        ends = np.array([_ACROSS[0], _ACROSS[-1], *told])
        # Cut wherever something begins, so that no cell lies in two of them.
        self.edges: Floats = np.unique(np.concatenate([ends, yards, marks, -marks]))
        self.across: Floats = (self.edges[1:] + self.edges[:-1]) / 2.0
        found = [self.zone(float(x)) for x in self.across]
        self.zones = np.array([_ZONES.index(name) for name, _, _ in found])
        self.told = np.array([told for _, told, _ in found])
        self.outs: Floats = np.array([out for _, _, out in found])

    def worth(self, along: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
        """Strokes left after a ball in each cell across, and how likely that is out of bounds (for
        which none are counted): averaged over how far it went.
        """
        ground = self.ground
        far, chance = along
        x = self.across[:, None]
        r = np.hypot(self.hole.length - far[None, :], x)
        of = {lie: self._of(r, lie) for lie in _LIES}
        trees = ground.blocked * of["recovery"] + (1.0 - ground.blocked) * of["rough"]
        by_zone = (of["fairway"], of["rough"], trees, 1.0 + of["rough"], np.zeros_like(r))
        sand, apron = ground.sand, ground.apron
        near = sand * of["sand"] + apron * of["fairway"] + (1.0 - sand - apron) * of["rough"]
        ring = (r <= self.green + ground.around) & ~self.told[:, None]
        strokes = np.where(ring, near, np.choose(self.zones[:, None], by_zone))
        out = np.where(ring, 0.0, self.outs[:, None])
        on = r <= self.green
        strokes = np.where(on, self._putts(r), strokes)
        out = np.where(on, 0.0, out)
        return ((1.0 - out) * strokes) @ chance, out @ chance

    def zone(self, x: float) -> tuple[str, bool, float]:
        """What lies so far across: its name, whether the hole tells it, and how likely a ball
        there is out of bounds.
        """
        side: Side = "right" if x > 0.0 else "left"
        off, ground = abs(x), self.ground
        told = {what: far for (s, what), far in self.hole.troubles.items() if s == side}
        # Where a hole tells of a boundary on either side, it has no other.
        bounded = any(what == "out" for _, what in self.hole.troubles)
        share = 0.0 if bounded or off <= ground.boundary else ground.out
        begun = [(far, what) for what, far in told.items() if what != "rough" and far <= off]
        if begun:
            what = max(begun)[1]
            return what, True, {"trees": share, "water": 0.0, "out": 1.0}[what]
        if off > ground.trees and "trees" not in told:
            return "trees", False, share
        fair = off <= told.get("rough", self.fairway)
        return ("fairway" if fair else "rough"), False, 0.0 if fair else share

    def _of(self, r: Floats, lie: Lie) -> Floats:
        found: Floats = np.interp(np.maximum(r, LEAST_YARDS), SHOTS, self.level.shots[lie])
        return found

    def _putts(self, r: Floats) -> Floats:
        """Putts by how far from the middle of the green, averaged over where the pin stands."""
        ground = self.ground
        radii = np.linspace(0.0, self.green, 40)
        angle = (np.arange(24) + 0.5) * math.pi / 24
        feet = 3.0 * np.hypot(
            radii[:, None] - ground.pin * np.cos(angle), ground.pin * np.sin(angle)
        )
        putts = np.interp(feet, GREEN, self.level.putts).mean(axis=1)
        found: Floats = np.interp(r, radii, putts)
        return found


_LIES: tuple[Lie, ...] = ("fairway", "rough", "sand", "recovery")
_ZONES = ("fairway", "rough", "trees", "water", "out")


def _normal(sd: float) -> Floats:
    """How likely a normal shot finishes left of each place, ends cut as the model cuts them."""
    z = np.clip(_ACROSS / sd, -CUT, CUT)
    beyond = tail("normal", np.abs(z))
    below = np.where(z < 0.0, beyond, 1.0 - beyond)
    found: Floats = (below - below[0]) / (below[-1] - below[0])
    return found


def _mixture(patterns: Plausible) -> Floats:
    """The same for a pattern, averaged over all that is plausible of it."""
    coarse = _ACROSS[::4]
    below = patterns.below(np.broadcast_to(coarse[:, None], (len(coarse), len(patterns.bias))))
    found: Floats = np.interp(_ACROSS, coarse, below @ patterns.weight)
    return found


def _cells(mean: float, sd: float) -> tuple[Floats, Floats]:
    """Places along and the chance of each: a normal, its ends cut, none behind the tee."""
    z = np.linspace(-CUT, CUT, _CELLS + 1)
    beyond = tail("normal", np.abs(z))
    chance = np.diff(np.where(z < 0.0, beyond, 1.0 - beyond))
    return np.maximum(mean + sd * (z[1:] + z[:-1]) / 2.0, 0.0), chance / chance.sum()
