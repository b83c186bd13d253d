"""What one player's strokes from a lie tell: a smooth curve over length, and how sure it is.

Every ball of every drill from that lie counts, whatever its length. The posterior lives on a grid
over two numbers that make the curve: on the green the errors in angle and in pace, off it factors
on the spreads of the short game and on the putting. The starting guess is the player of the
expected strokes at one's index.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache
from itertools import groupby
from typing import NamedTuple

import numpy as np

from drillrunner.catalogue.strokes.rating import NO_INDEX, Sex, ability
from drillrunner.odds.green import chips, putts
from drillrunner.odds.green.putts import Growth
from drillrunner.odds.observe import Hit
from drillrunner.odds.pattern import Band, quantiles
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import Stroke
from drillrunner.rules.outcome import MOST_STROKES, Outcome
from drillrunner.rules.shot import Aim, NearLie
from drillrunner.rules.station import Ask
from drillrunner.rules.units import Unit, convert, feet, on_green

COMMON_SD, OWN_SD, UNKNOWN_SD = 0.20, 0.15, 0.25
"""Of the two logarithms about those of the index: what they share, what each has of its own, and
what comes to the shared part where no index is known. Our choice."""

NODES, WIDE = 25, 3.2
"""Nodes to a direction of the grid, and how many standard deviations it reaches."""

ODD = 0.002
"""How often a ball is typed or played so oddly that the curve says nothing of it. Our choice: one
slip of a key then costs little."""

ANGLES = ((-0.2, 0.15), (0.0, 0.5), (0.25, 0.2), (0.5, 0.15))
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


class Law(NamedTuple):
    """How balls are taken. half_life: those after which an older one weighs half (`None`: all weigh
    alike). trust: what a ball weighs when it is hit; less than one where days differ by more than
    their balls explain.
    """

    half_life: float | None
    trust: float = 1.0

    @property
    def fade(self) -> float:
        """What each ball leaves of the weight of those before it."""
        return 1.0 if self.half_life is None else 0.5 ** (1.0 / self.half_life)


LAWS: tuple[tuple[Law, float], ...] = (
    (Law(None), 0.40),
    (Law(None, 0.4), 0.20),
    (Law(100.0), 0.10),
    (Law(40.0), 0.15),
    (Law(15.0), 0.15),
)
"""The laws, and how plausible each is before the player's days have spoken. Our choice."""
_FAINT = 1e-4


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


class _Grid(NamedTuple):
    """Two logarithms at each of K nodes, which growth, and the weight of each before any ball."""

    first: Floats
    second: Floats
    growth: chips.Places
    weight: Floats

    def strokes(self, length: float) -> Floats:
        """The chance of each number of putts at every node: strokes x K."""
        size = len(self.weight) // len(GROWTHS)
        found = []
        for at, (growth, _) in enumerate(GROWTHS):
            part = slice(at * size, (at + 1) * size)
            table = putts.putt_strokes(length, growth)
            found.append(_putted(table, self.first[part], self.second[part]))
        return np.concatenate(found, axis=1)

    def first_putt(self, table: Floats, length: float, nodes: chips.Places | None) -> Floats:
        """A table of what one putt does, read at every node, or at some: ... x K."""
        every = np.arange(len(self.weight)) if nodes is None else nodes
        more = [growth.of(length) for growth, _ in GROWTHS]
        wider, further = (np.log(part)[self.growth[every]] for part in zip(*more, strict=True))
        return _putted(table, self.first[every] + wider, self.second[every] + further)


def _putted(table: Floats, angle: Floats, pace: Floats) -> Floats:
    return chips.read_pairs(table, putts.LOG_ANGLE, putts.LOG_PACE, angle, pace)


@lru_cache(32)
def _grid(prior: HolingPrior) -> _Grid:
    common = COMMON_SD**2 + (UNKNOWN_SD**2 if prior.handicap is None else 0.0)
    own = OWN_SD**2
    size = math.sqrt(common + own)
    z = np.linspace(-WIDE, WIDE, NODES) * size
    x, y = (part.ravel() for part in np.meshgrid(z, z, indexing="ij"))
    # The two are normal with the shared part as covariance.
    det = (common + own) ** 2 - common**2
    square = ((common + own) * (x * x + y * y) - 2.0 * common * x * y) / det
    weight = np.exp(-square / 2.0)
    if prior.lie != "green":
        return _Grid(x, y, np.zeros(len(x), int), weight / weight.sum())
    stroke = Stroke.of(prior.ability)
    x, y = x + math.log(stroke.angle), y + math.log(stroke.pace)
    shares = np.array([share for _, share in GROWTHS])
    every = np.repeat(np.arange(len(GROWTHS)), len(x))
    weight = np.outer(shares, weight / weight.sum()).ravel()
    return _Grid(np.tile(x, len(GROWTHS)), np.tile(y, len(GROWTHS)), every, weight)


@lru_cache(64)
def _strokes(prior: HolingPrior, length: float) -> Floats:
    """The chance of each number of strokes at each node: strokes x K."""
    grid = _grid(prior)
    if prior.lie == "green":
        found = grid.strokes(length)
    else:
        table = chips.chip_strokes(prior.ability, prior.sex, prior.lie, length)
        found = chips.read_pairs(table, chips.SHORT, chips.PUTTING, grid.first, grid.second)
    odd = 0.5 ** np.arange(1, MOST_STROKES + 1)
    mixed: Floats = (1.0 - ODD) * found + ODD * (odd / odd.sum())[:, None]
    return mixed


def _leaves(
    prior: HolingPrior, left: _Left, steps: Sequence[int], nodes: chips.Places | None = None
) -> Floats:
    """The chance that a putt leaves each of some steps: steps x K, or x the nodes asked for."""
    some, odd = list(steps), 0.9 ** np.arange(left.most)
    table = putts.leaves(left.length, left.step, left.most)[some]
    found = _grid(prior).first_putt(table, left.length, nodes)
    mixed: Floats = (1.0 - ODD) * found + ODD * (odd / odd.sum())[some, None]
    return mixed


class _Left(NamedTuple):
    """From how far a putt was, and how what it left is read: steps of so many feet, so many."""

    length: float
    step: float
    most: int

    @classmethod
    def of(cls, length: float, step: float) -> _Left:
        """As lengths up to the longest that can be left are read."""
        return cls(length, step, max(int(100.0 / step), 2))


def usual(prior: HolingPrior, length: float) -> tuple[float, ...]:
    """The chance of one stroke, of two ... for the player of the expected strokes at that index."""
    if prior.lie == "green":
        stroke = Stroke.of(prior.ability)
        table, rows, columns = putts.putt_strokes(length), putts.LOG_ANGLE, putts.LOG_PACE
        at = math.log(stroke.angle), math.log(stroke.pace)
    else:
        table = chips.chip_strokes(prior.ability, prior.sex, prior.lie, length)
        rows, columns, at = chips.SHORT, chips.PUTTING, (0.0, 0.0)
    first, second = (np.array([value]) for value in at)
    found: list[float] = chips.read_pairs(table, rows, columns, first, second)[:, 0].tolist()
    return tuple(found)


@lru_cache(512)
def _log(prior: HolingPrior, said: StrokesTold) -> Floats:
    """The logarithm of how likely each node made what a ball said."""
    if said.strokes is not None:
        return np.asarray(np.log(_strokes(prior, said.length)[said.strokes - 1]))
    assert said.left is not None
    steps, step = said.left
    left = _Left.of(said.length, step)
    return np.asarray(np.log(_leaves(prior, left, [min(steps, left.most - 1)])[0]))


class Faded(NamedTuple):
    """What balls said under one law: how plausible it is, and how much each kind weighs."""

    law: Law
    share: float
    groups: Mapping[StrokesTold, float]


@dataclass(frozen=True)
class Holing:
    """The posterior after some balls from one lie.

    fading: for each law how plausible it is, and what the balls said, with how much each kind
    weighs now. shots: how many stand behind it; counted: what they said. drawn: as of a
    `Plausible`: the nodes are a grid.
    """

    prior: HolingPrior
    fading: tuple[Faded, ...] = tuple(Faded(law, share, {}) for law, share in LAWS)
    shots: int = 0
    counted: Mapping[StrokesTold, int] = field(default_factory=dict)
    drawn: bool = False

    @classmethod
    def of(
        cls, newest_first: Sequence[tuple[StrokesTold, date | None]], prior: HolingPrior
    ) -> Holing:
        """What these balls tell; how fast they fade, the player's own days decide."""
        found = []
        for law, share in _plausible(newest_first, prior):
            groups: dict[StrokesTold, float] = {}
            weight = law.trust
            for said, _ in newest_first:
                groups[said] = groups.get(said, 0.0) + weight
                weight *= law.fade
            found.append(Faded(law, share, groups))
        return cls(
            prior, tuple(found), len(newest_first), Counter(said for said, _ in newest_first)
        )

    def after(self, said: StrokesTold) -> Holing:
        """The posterior one ball later."""
        found = []
        for law, share, before in self.fading:
            groups = {key: weight * law.fade for key, weight in before.items()}
            groups[said] = groups.get(said, 0.0) + law.trust
            found.append(Faded(law, share, groups))
        counted = {**self.counted, said: self.counted.get(said, 0) + 1}
        return Holing(self.prior, tuple(found), self.shots + 1, counted)

    @cached_property
    def whole(self) -> Floats:
        """The weight of every node of the grid."""
        start = np.log(_grid(self.prior).weight)
        found: Floats = np.zeros(len(start))
        for _, share, groups in self.fading:
            log = start
            for said, weight in groups.items():
                log = log + weight * _log(self.prior, said)
            one = np.exp(log - log.max())
            found = found + share * one / one.sum()
        return found

    @cached_property
    def kept(self) -> chips.Places:
        """The nodes that matter."""
        return np.flatnonzero(self.whole > _FAINT * self.whole.max())

    @cached_property
    def weight(self) -> Floats:
        """Their weights; they sum to 1."""
        some: Floats = self.whole[self.kept]
        some = some / some.sum()
        return some

    def answers(self, ask: Ask, outcomes: Sequence[Outcome]) -> Floats:
        """How likely each node makes each answer to a question: outcomes x K."""
        length = far_of(ask.aim, ask.unit)
        if ask.asks == "strokes":
            rows = _strokes(self.prior, length)
            return rows[[(o.shot.strokes or 1) - 1 for o in outcomes]][:, self.kept]
        step = float(feet(ask.grid, ask.measure))
        places = [int((o.shot.leave or 0) / ask.grid) for o in outcomes]
        return _leaves(self.prior, _Left(length, step, len(outcomes)), places, self.kept)

    def within(self, length: float, strokes: int = 1) -> Band:
        """The chance to hole out in at most so many strokes; feet on the green, else yards."""
        rows = _strokes(self.prior, length)[:strokes, self.kept]
        return quantiles(rows.sum(axis=0), self.weight)

    def likely(self, length: float, strokes: int = 1) -> float:
        """The same in one number: how likely the next ball is to."""
        rows = _strokes(self.prior, length)[:strokes, self.kept]
        return float(rows.sum(axis=0) @ self.weight)

    def expected(self, length: float) -> Band:
        """Strokes to hole out, on average."""
        counts = np.arange(1.0, MOST_STROKES + 1.0)
        return quantiles(counts @ _strokes(self.prior, length)[:, self.kept], self.weight)

    @property
    def guess(self) -> bool:
        """Whether the starting guess still outweighs the balls: see `Pattern.guess`.

        What is asked is how well one holes out at a middle length, so that is where it is judged.
        """
        length = 10.0 if self.prior.lie == "green" else 20.0
        counts = np.arange(1.0, MOST_STROKES + 1.0)
        values = counts @ _strokes(self.prior, length)
        before = _variance(values, _grid(self.prior).weight)
        return _variance(values, self.whole) > before / 2.0


def _variance(values: Floats, weight: Floats) -> float:
    mean = float(values @ weight)
    return float((values - mean) ** 2 @ weight)


def _plausible(
    newest_first: Sequence[tuple[StrokesTold, date | None]], prior: HolingPrior
) -> list[tuple[Law, float]]:
    """Each law by how well each day was told by the days before it; the likely ones."""
    days = [
        Counter(said for said, _ in group)
        for day, group in groupby(reversed(newest_first), key=lambda pair: pair[1])
        if day is not None
    ]
    start = np.log(_grid(prior).weight)
    told = [
        (sum((n * _log(prior, said) for said, n in day.items()), np.zeros(len(start))), day.total())
        for day in days
    ]
    scores = {law: math.log(share) + _score(start, told, law) for law, share in LAWS}
    most = max(scores.values())
    shares = {law: math.exp(score - most) for law, score in scores.items()}
    total = sum(shares.values())
    return [(law, share / total) for law, share in shares.items() if share > 0.01 * total]


def _score(start: Floats, told: Sequence[tuple[Floats, int]], law: Law) -> float:
    """How well days were told by those before them; the first is told by none.

    start: the logarithms of the weights before any ball. told: what each day said, and its balls.
    """
    log, total = np.zeros(len(start)), 0.0
    for number, (said, balls) in enumerate(told):
        now = start + log
        total += _sum(now + said) - _sum(now) if number else 0.0
        log = log * law.fade**balls + law.trust * said
    return total


def _sum(logs: Floats) -> float:
    most = float(logs.max())
    return most + math.log(float(np.exp(logs - most).sum()))
