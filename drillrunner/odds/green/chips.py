"""How many strokes it takes from off the green, for each player of a family.

The family is the golfer of the expected strokes (`strokes.golfer`) at one ability: one player for
each pair of a factor on the spreads of the short game and one on the putting errors, and for how
often a shot goes bad. Chips and bunker shots are hit at the flag, in the middle of the green, as
the solver has them; one that rolls over the hole drops as a putt would (our choice: the solver has
none that drop).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drillrunner.catalogue.strokes.golfer import SHORT_SHARE, Golfer, Lie
from drillrunner.catalogue.strokes.rating import Sex
from drillrunner.odds.green import putts
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import BALL_FT, HOLE_FT, TOO_FAR, Stroke
from drillrunner.odds.strokes.solver import (
    CUT,
    LONG_OF,
    SHORT_ACROSS,
    SHORT_OF,
    SHORT_SD,
    TEST_GROUND,
)
from drillrunner.odds.tails import tail
from drillrunner.rules.outcome import MOST_STROKES
from drillrunner.rules.shot import NearLie

Places = NDArray[np.intp]

LIE: dict[NearLie, Lie] = {"fringe": "fairway", "rough": "rough", "sand": "sand"}
"""What a lie counts as in the model of expected strokes: the fringe is short grass."""

SHORT: Floats = np.linspace(-1.2, 1.2, 13)
PUTTING: Floats = np.linspace(-1.1, 1.1, 11)
"""Logarithms of the factors on the spreads of short shots, and on both errors of putts."""

BAD, BAD_SHARES = (0.5, 1.0, 2.0), (0.25, 0.5, 0.25)
"""How many times as often as the golfer of that index a player hits a bad one, and how plausible
each is before a ball. Our choice: a third skill, beside how near solid ones come."""
MOST_BAD = 0.9

FURTHEST = 60.0
"""Yards: the short game ends there; longer ones are taken for this long."""
_AGAIN: Floats = np.array([13.0, 16.0, 20.0, 26.0, 34.0, 45.0, 60.0])
"""Yards off the flag that a ball which has missed the green is played from."""
_NEXT: tuple[Lie, ...] = ("fairway", "rough", "sand")


class _Flight(NamedTuple):
    """Shots of one sort: the chance that one drops; else where it lies on the green, and off it."""

    holes: float
    on: Floats
    off: Floats


class _Shot(NamedTuple):
    """One shot: as a solid one goes, and as a bad one, of which there are `bad` in 1."""

    solid: _Flight
    mishit: _Flight
    bad: float

    def ends(self, often: float) -> _Flight:
        """Where it ends if bad ones are so many times as often: chances that sum to 1."""
        bad = min(self.bad * often, MOST_BAD)
        good, poor = self.solid, self.mishit
        holes = (1.0 - bad) * good.holes + bad * poor.holes
        on = (1.0 - bad) * good.on + bad * poor.on
        off = (1.0 - bad) * good.off + bad * poor.off
        return _Flight(holes, (1.0 - holes) * on, (1.0 - holes) * off)


def chip_strokes(ability: float, sex: Sex, lie: NearLie, yards: float) -> Floats:
    """The chance of one stroke, of two, ... nine or more: bad x strokes x short x putting."""
    return _strokes(round(ability, 1), sex, lie, round(yards, 2))


@lru_cache(128)
def _strokes(ability: float, sex: Sex, lie: NearLie, yards: float) -> Floats:
    greens, offs = _greens(ability), _offs(ability, sex)
    found = np.zeros((len(BAD), MOST_STROKES, len(SHORT), len(PUTTING)))
    for at, log in enumerate(SHORT):
        golfer = Golfer(ability, sex, short=math.exp(float(log)))
        shot = _shot(golfer, LIE[lie], min(yards, FURTHEST))
        for number, often in enumerate(BAD):
            holes, on, off = shot.ends(often)
            found[number, 0, at] = holes
            later = np.tensordot(greens, on, (1, 0)) + np.tensordot(
                offs[number, :, at], off, (1, 0)
            )
            found[number, 1:, at] = later[:-1]
    found[:, -1] += np.maximum(1.0 - found.sum(axis=1), 0.0)
    return found


def _shot(golfer: Golfer, lie: Lie, yards: float) -> _Shot:
    across, along = golfer.sds(min(yards, 59.99), lie)
    sideways = SHORT_ACROSS * across
    window, past = (HOLE_FT - BALL_FT) / 3.0 / across, TOO_FAR / 3.0 / along
    drops = (1.0 - 2.0 * float(tail("normal", np.array([window]))[0])) * (
        0.5 - float(tail("normal", np.array([past]))[0])
    )
    solid = _flight(drops, yards, ((1.0, yards, along, across),))
    ways = (
        (0.5, SHORT_OF * yards, SHORT_SD * yards, sideways),
        (0.5, LONG_OF * yards, SHORT_SD * yards, sideways),
    )
    return _Shot(solid, _flight(0.0, yards, ways), golfer.bad_shots * SHORT_SHARE[lie])


def _flight(drops: float, yards: float, ways: tuple[tuple[float, ...], ...]) -> _Flight:
    on, off = np.zeros(len(putts.PUTTED)), np.zeros(len(_AGAIN))
    for chance, far, deep, wide in ways:
        z = np.linspace(-CUT, CUT, 33)[:, None]
        x = np.linspace(0.0, CUT, 18)[None, :]
        weight = np.exp(-(z**2 + x**2) / 2.0) * np.where(x == 0.0, 0.5, 1.0)
        weight = (chance * weight / weight.sum()).ravel()
        left = np.hypot(yards - np.maximum(far + deep * z, 0.0), wide * x).ravel()
        green = left <= TEST_GROUND.green
        _add(on, putts.PUTTED, 3.0 * left[green], weight[green])
        _add(off, _AGAIN, left[~green], weight[~green])
    return _Flight(drops, on, off)


def _add(row: Floats, nodes: Floats, at: Floats, weight: Floats) -> None:
    inside = np.clip(at, nodes[0], nodes[-1])
    low = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    share = (inside - nodes[low]) / (nodes[low + 1] - nodes[low])
    row += np.bincount(low, weight * (1.0 - share), len(nodes))
    row += np.bincount(low + 1, weight * share, len(nodes))


@lru_cache(16)
def _greens(ability: float) -> Floats:
    """Putts by length on the line of players whose errors keep their ratio: strokes x ft x v."""
    stroke = Stroke.of(ability)
    angle, pace = math.log(stroke.angle) + PUTTING, math.log(stroke.pace) + PUTTING
    rows = [
        read_pairs(putts.putt_strokes(float(x)), putts.LOG_ANGLE, putts.LOG_PACE, angle, pace)
        for x in putts.PUTTED
    ]
    return np.stack(rows, axis=1)


@lru_cache(16)
def _offs(ability: float, sex: Sex) -> Floats:
    """Strokes after the green was missed: bad x strokes x short x yards x putting."""
    greens, ground = _greens(ability), TEST_GROUND
    mix = (ground.apron, 1.0 - ground.apron - ground.sand, ground.sand)
    found = np.zeros((len(BAD), MOST_STROKES, len(SHORT), len(_AGAIN), len(PUTTING)))
    for at, log in enumerate(SHORT):
        golfer = Golfer(ability, sex, short=math.exp(float(log)))
        shots = [[_shot(golfer, lie, float(yards)) for lie in _NEXT] for yards in _AGAIN]
        for number, often in enumerate(BAD):
            ends = [
                (place, share, shot.ends(often))
                for place, by_lie in enumerate(shots)
                for share, shot in zip(mix, by_lie, strict=True)
            ]
            holes = np.zeros(len(_AGAIN))
            on, off = np.zeros((len(_AGAIN), len(putts.PUTTED))), np.zeros((len(_AGAIN),) * 2)
            for place, share, end in ends:
                holes[place] += share * end.holes
                on[place] += share * end.on
                off[place] += share * end.off
            first = np.matmul(on, greens[:-1])
            known = np.zeros((MOST_STROKES, len(_AGAIN), len(PUTTING)))
            for _ in range(MOST_STROKES):
                rest = first + np.matmul(off, known[:-1])
                known = np.concatenate([np.broadcast_to(holes[:, None], known[:1].shape), rest])
            found[number, :, at] = known
    return found


_PAIRS = 1024


def read_pairs(
    table: Floats,
    rows: Floats,
    columns: Floats,
    row: Floats,
    column: Floats,
    *,
    straight: bool = False,
) -> Floats:
    """A table of chances (... x rows x columns, evenly spaced) read at pairs of a row and a column.

    By cubic convolution (Keys 1981, IEEE Trans. Acoust. Speech Signal Process. 29:1153-1160, title
    from memory): straight lines between nodes so far apart shift a chance by half a point. Beside
    a chance of nothing it may come out a hair below 0; on straight lines it does not.
    """
    near = _on_lines if straight else _on_curves
    flat = table.reshape(-1, len(rows) * len(columns))
    found: Floats = np.zeros((len(flat), len(row)))
    # Some pairs at a time, so that what is worked on stays in the processor's cache.
    for first in range(0, len(row), _PAIRS):
        some = slice(first, first + _PAIRS)
        across = near(*_place(columns, column[some]), len(columns))
        for up, by in near(*_place(rows, row[some]), len(rows)):
            for left, share in across:
                part = flat.take(up * len(columns) + left, axis=1, mode="clip")
                part *= by * share
                found[:, some] += part
    return found.reshape(*table.shape[:-2], len(row))


def _place(nodes: Floats, at: Floats) -> tuple[Places, Floats]:
    """The node below each place, and how far on it is to the next; the ends stand for beyond."""
    inside = np.clip(at, nodes[0], nodes[-1])
    low = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    return low, (inside - nodes[low]) / (nodes[low + 1] - nodes[low])


def _on_lines(low: Places, t: Floats, nodes: int) -> list[tuple[Places, Floats]]:
    return [(low, 1.0 - t), (low + 1, t)]


def _on_curves(low: Places, t: Floats, nodes: int) -> list[tuple[Places, Floats]]:
    counts = (
        t * (-0.5 + t * (1.0 - 0.5 * t)),
        1.0 + t * t * (-2.5 + 1.5 * t),
        t * (0.5 + t * (2.0 - 1.5 * t)),
        t * t * (-0.5 + 0.5 * t),
    )
    places = [np.clip(low + step, 0, nodes - 1) for step in (-1, 0, 1, 2)]
    return list(zip(places, counts, strict=True))
