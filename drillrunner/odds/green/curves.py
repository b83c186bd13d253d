"""The curve of strokes over length that each player of a family has, from one lie.

A player is a node of a grid: on the green the errors in angle and in pace and how they grow with
the length, off it factors on the spreads of the short game and on the putting, and how often a
shot goes bad. The starting guess is the player of the expected strokes at one's index.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from drillrunner.catalogue.strokes.rating import NO_INDEX, Sex, ability
from drillrunner.odds.green import chips, putts
from drillrunner.odds.green.putts import Growth
from drillrunner.odds.observe import Hit
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import Stroke
from drillrunner.rules.outcome import MOST_STROKES
from drillrunner.rules.shot import Aim, NearLie
from drillrunner.rules.units import Unit, convert, feet, on_green

COMMON_SD, OWN_SD, UNKNOWN_SD = 0.20, 0.15, 0.25
"""Of the two logarithms about those of the index: what they share, what each has of its own, and
what comes to the shared part where no index is known. Our choice."""

SHARED: Floats = np.linspace(-4.2, 4.2, 33)
APART: Floats = np.linspace(-3.2, 3.2, 13)
"""Nodes over half the sum and half the difference of the two logarithms, in standard deviations. A
poor day lies on the first too, so it reaches further."""

ODD = 0.002
"""How often a ball is typed or played so oddly that the curve says nothing of it. Our choice: one
slip of a key then costs little."""

ANGLES = ((-0.25, 0.15), (0.0, 0.40), (0.35, 0.25), (0.7, 0.20))
LAGS = (
    (0.0, False, 0.40),
    (-0.30, False, 0.10),
    (0.35, False, 0.15),
    (0.70, False, 0.10),
    (-0.30, True, 0.05),
    (0.35, True, 0.10),
    (0.70, True, 0.10),
)
"""How the errors in angle and in pace may grow with the length, and how plausible each is before a
ball: a second skill, so that a player who is poor from far only is not taken for one who is poor
from near. Our choice."""
GROWTHS = tuple((Growth(a, p, s), v * w) for a, v in ANGLES for p, s, w in LAGS)


class HolingPrior(NamedTuple):
    """The starting guess: from which lie, and for whom."""

    lie: NearLie
    handicap: float | None = None
    sex: Sex = "men"

    @property
    def ability(self) -> float:
        """The model's ability for the index."""
        return ability(NO_INDEX if self.handicap is None else self.handicap, self.sex)


class StrokesTold(NamedTuple):
    """What one ball said. length: feet on the green, else yards. strokes, or what was left: how
    many steps of so many feet; `None` for the other.
    """

    length: float
    strokes: int | None
    left: tuple[int, float] | None = None


def told(record: Hit) -> StrokesTold | None:
    """What a ball said of holing out; `None` for one that was asked something else."""
    shot, aim, unit = record.shot, record.aim, record.unit
    if aim.length is None or aim.lie is None:
        return None
    length = far_of(aim, unit)
    if shot.strokes is not None:
        return StrokesTold(length, shot.strokes)
    if shot.leave is None or shot.leave_grid is None:
        return None
    step = shot.leave_grid
    size = float(feet(step, on_green(unit)))
    return StrokesTold(length, None, (int(shot.leave / step), size))


def far_of(aim: Aim, unit: Unit) -> float:
    """A length in feet on the green, else in yards."""
    assert aim.length is not None
    if aim.lie == "green":
        return float(feet(aim.length, aim.measure(unit)))
    return float(convert(aim.length, unit, "yd"))


class Golfers(NamedTuple):
    """Two logarithms at each of K nodes, how they grow or how often a shot goes bad, by its number,
    and the weight of each before any ball.

    K runs over that number, then half the sum of the logarithms less the index's (what is better or
    worse of all at once), then half their difference. sd: of the second, beside which it has nodes.
    """

    first: Floats
    second: Floats
    kind: chips.Places
    weight: Floats
    sd: float

    def boxed(self, values: Floats) -> Floats:
        """Values at the K nodes: kinds x `SHARED` x `APART`."""
        return values.reshape(-1, len(SHARED), len(APART))

    def read(self, tables: Sequence[Floats], rows: Floats, columns: Floats) -> Floats:
        """A table for each kind, read at its nodes: ... x K."""
        size = len(self.weight) // len(tables)
        parts = [slice(at * size, (at + 1) * size) for at in range(len(tables))]
        found = [
            chips.read_pairs(table, rows, columns, self.first[part], self.second[part])
            for table, part in zip(tables, parts, strict=True)
        ]
        return np.concatenate(found, axis=1)

    def first_putt(self, table: Floats, length: float, nodes: chips.Places | None) -> Floats:
        """A table of what one putt does, read at every node, or at some: ... x K."""
        every = np.arange(len(self.weight)) if nodes is None else nodes
        more = [growth.of(length) for growth, _ in GROWTHS]
        wider, further = (np.log(part)[self.kind[every]] for part in zip(*more, strict=True))
        angle, pace = self.first[every] + wider, self.second[every] + further
        # Some of many steps, so they must sum to 1 by themselves.
        return chips.read_pairs(table, putts.LOG_ANGLE, putts.LOG_PACE, angle, pace, straight=True)


@lru_cache(32)
def golfers_of(prior: HolingPrior) -> Golfers:
    """The grid of a starting guess."""
    common = COMMON_SD**2 + (UNKNOWN_SD**2 if prior.handicap is None else 0.0)
    sd, apart = math.sqrt(common + OWN_SD**2 / 2.0), OWN_SD / math.sqrt(2.0)
    u, v = np.meshgrid(SHARED, APART, indexing="ij")
    one = np.exp(-(u**2 + v**2) / 2.0).ravel()
    first, second = (sd * u + apart * v).ravel(), (sd * u - apart * v).ravel()
    shares = np.array(chips.BAD_SHARES)
    if prior.lie == "green":
        stroke = Stroke.of(prior.ability)
        first, second = first + math.log(stroke.angle), second + math.log(stroke.pace)
        shares = np.array([share for _, share in GROWTHS])
    weight = np.outer(shares, one / one.sum()).ravel()
    kinds, size = len(shares), len(one)
    kind = np.repeat(np.arange(kinds), size)
    return Golfers(np.tile(first, kinds), np.tile(second, kinds), kind, weight, sd)


@lru_cache(64)
def strokes_at(prior: HolingPrior, length: float) -> Floats:
    """The chance of each number of strokes at each node: strokes x K."""
    grid = golfers_of(prior)
    if prior.lie == "green":
        tables = [putts.putt_strokes(length, growth) for growth, _ in GROWTHS]
        found = grid.read(tables, putts.LOG_ANGLE, putts.LOG_PACE)
    else:
        found = grid.read(
            list(chips.chip_strokes(prior.ability, prior.sex, prior.lie, length)),
            chips.SHORT,
            chips.PUTTING,
        )
    odd = 0.5 ** np.arange(1, MOST_STROKES + 1)
    found = np.maximum(found, 0.0)
    mixed: Floats = (1.0 - ODD) * found / found.sum(axis=0) + ODD * (odd / odd.sum())[:, None]
    return mixed


def leaves_at(
    prior: HolingPrior, left: Left, steps: Sequence[int], nodes: chips.Places | None = None
) -> Floats:
    """The chance that a putt leaves each of some steps: steps x K, or x the nodes asked for."""
    some, odd = list(steps), 0.9 ** np.arange(left.most)
    table = putts.leaves(left.length, left.step, left.most)[some]
    found = golfers_of(prior).first_putt(table, left.length, nodes)
    found *= 1.0 - ODD
    found += ODD * (odd / odd.sum())[some, None]
    return found


class Left(NamedTuple):
    """From how far a putt was, and how what it left is read: steps of so many feet, so many."""

    length: float
    step: float
    most: int

    @classmethod
    def of(cls, length: float, step: float) -> Left:
        """As lengths up to the longest that can be left are read."""
        return cls(length, step, max(int(100.0 / step), 2))


def usual(prior: HolingPrior, length: float) -> tuple[float, ...]:
    """The chance of one stroke, of two ... for the player of the expected strokes at that index."""
    if prior.lie == "green":
        stroke = Stroke.of(prior.ability)
        table, rows, columns = putts.putt_strokes(length), putts.LOG_ANGLE, putts.LOG_PACE
        at = math.log(stroke.angle), math.log(stroke.pace)
    else:
        tables = chips.chip_strokes(prior.ability, prior.sex, prior.lie, length)
        table = tables[chips.BAD.index(1.0)]
        rows, columns, at = chips.SHORT, chips.PUTTING, (0.0, 0.0)
    first, second = (np.array([value]) for value in at)
    found: list[float] = chips.read_pairs(table, rows, columns, first, second)[:, 0].tolist()
    return tuple(found)


@lru_cache(512)
def log_told(prior: HolingPrior, said: StrokesTold) -> Floats:
    """The logarithm of how likely each node made what a ball said."""
    if said.strokes is not None:
        return np.asarray(np.log(strokes_at(prior, said.length)[said.strokes - 1]))
    assert said.left is not None
    steps, step = said.left
    left = Left.of(said.length, step)
    return np.asarray(np.log(leaves_at(prior, left, [min(steps, left.most - 1)])[0]))
