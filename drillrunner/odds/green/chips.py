"""How many strokes it takes from off the green, for each player of a family.

The family is the golfer of the expected strokes (`strokes.golfer`) at one ability: one player for
each pair of a factor on the spreads of the short game and one on the putting errors. Chips and
bunker shots are hit at the flag, in the middle of the green, as the solver has them; one that rolls
over the hole drops as a putt would (our choice: the solver has none that drop).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

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
PUTTING: Floats = np.linspace(-0.9, 0.9, 9)
"""Logarithms of the factors on the spreads of short shots, and on both errors of putts."""

FURTHEST = 60.0
"""Yards: the short game ends there; longer ones are taken for this long."""
_AGAIN: Floats = np.array([13.0, 16.0, 20.0, 26.0, 34.0, 45.0, 60.0])
"""Yards off the flag that a ball which has missed the green is played from."""
_NEXT: tuple[Lie, ...] = ("fairway", "rough", "sand")


def chip_strokes(ability: float, sex: Sex, lie: NearLie, yards: float) -> Floats:
    """The chance of one stroke, of two, ... nine or more: strokes x short x putting."""
    return _strokes(round(ability, 1), sex, lie, round(yards, 2))


@lru_cache(128)
def _strokes(ability: float, sex: Sex, lie: NearLie, yards: float) -> Floats:
    greens, offs = _greens(ability), _offs(ability, sex)
    found = np.zeros((MOST_STROKES, len(SHORT), len(PUTTING)))
    for at, log in enumerate(SHORT):
        golfer = Golfer(ability, sex, short=math.exp(float(log)))
        found[:, at] = _first(golfer, LIE[lie], min(yards, FURTHEST), greens, offs[:, at])
    found[-1] += np.maximum(1.0 - found.sum(axis=0), 0.0)
    return found


def _first(golfer: Golfer, lie: Lie, yards: float, greens: Floats, offs: Floats) -> Floats:
    """One shot and what follows: strokes x putting. offs: strokes x lengths x putting."""
    holes, on, off = _shot(golfer, lie, yards)
    later = np.einsum("f,kfv->kv", on, greens) + np.einsum("r,krv->kv", off, offs)
    found = np.zeros((MOST_STROKES, len(PUTTING)))
    found[0] = holes
    found[1:] = (1.0 - holes) * later[:-1]
    return found


def _shot(golfer: Golfer, lie: Lie, yards: float) -> tuple[float, Floats, Floats]:
    """One shot: the chance that it drops; else where it lies on the green, and off it."""
    across, along = golfer.sds(min(yards, 59.99), lie)
    bad = golfer.bad_shots * SHORT_SHARE[lie]
    sideways = SHORT_ACROSS * across
    ways = (
        (1.0 - bad, yards, along, across),
        (bad / 2.0, SHORT_OF * yards, SHORT_SD * yards, sideways),
        (bad / 2.0, LONG_OF * yards, SHORT_SD * yards, sideways),
    )
    window, past = (HOLE_FT - BALL_FT) / 3.0 / across, TOO_FAR / 3.0 / along
    drops = (1.0 - 2.0 * float(tail("normal", np.array([window]))[0])) * (
        0.5 - float(tail("normal", np.array([past]))[0])
    )
    holes = (1.0 - bad) * drops
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
    return holes, on, off


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
    """Strokes after the green was missed: strokes x short x yards x putting."""
    greens, size = _greens(ability), (MOST_STROKES, len(_AGAIN), len(PUTTING))
    ground = TEST_GROUND
    mix = (ground.apron, 1.0 - ground.apron - ground.sand, ground.sand)
    found = np.zeros((MOST_STROKES, len(SHORT), len(_AGAIN), len(PUTTING)))
    for at, log in enumerate(SHORT):
        golfer = Golfer(ability, sex, short=math.exp(float(log)))
        shots = list(_from_all(golfer))
        known = np.zeros(size)
        for _ in range(MOST_STROKES):
            again = np.zeros(size)
            for place, by_lie in enumerate(shots):
                for share, (holes, on, off) in zip(mix, by_lie, strict=True):
                    later = np.einsum("f,kfv->kv", on, greens)
                    later += np.einsum("r,krv->kv", off, known)
                    again[0, place] += share * holes
                    again[1:, place] += share * (1.0 - holes) * later[:-1]
            known = again
        found[:, at] = known
    return found


def _from_all(golfer: Golfer) -> Iterator[list[tuple[float, Floats, Floats]]]:
    for yards in _AGAIN:
        yield [_shot(golfer, lie, float(yards)) for lie in _NEXT]


def read_pairs(table: Floats, rows: Floats, columns: Floats, row: Floats, column: Floats) -> Floats:
    """A table (... x rows x columns) read at pairs of a row and a column, on straight lines."""
    y, x = _place(rows, row), _place(columns, column)
    (low, up), (left, right) = y, x
    found: Floats = (
        table[..., low, left] * (1 - up) * (1 - right)
        + table[..., low + 1, left] * up * (1 - right)
        + table[..., low, left + 1] * (1 - up) * right
        + table[..., low + 1, left + 1] * up * right
    )
    return found


def _place(nodes: Floats, at: Floats) -> tuple[Places, Floats]:
    inside = np.clip(at, nodes[0], nodes[-1])
    low = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    return low, (inside - nodes[low]) / (nodes[low + 1] - nodes[low])
