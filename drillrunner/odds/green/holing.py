"""What one player's strokes from a lie tell: a smooth curve over length, and how sure it is.

Every ball of every drill from that lie counts, whatever its length. The posterior lives on a grid
over two numbers that make the curve: on the green the errors in angle and in pace, off it factors
on the spreads of the short game and on the putting. The starting guess is the player of the
expected strokes at one's index.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache
from itertools import groupby
from typing import NamedTuple

import numpy as np

from drillrunner.odds.green import chips, putts
from drillrunner.odds.observe import Hit
from drillrunner.odds.pattern import Band, quantiles
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.golfer import Sex, ability
from drillrunner.odds.strokes.putting import Stroke
from drillrunner.rules.outcome import MOST_STROKES, Outcome
from drillrunner.rules.shot import Aim, NearLie
from drillrunner.rules.station import Ask
from drillrunner.rules.units import Unit, convert, feet, on_green

UNKNOWN_INDEX = 20.0
"""What a player without an index counts as."""

COMMON_SD, OWN_SD, UNKNOWN_SD = 0.20, 0.15, 0.25
"""Of the two logarithms about those of the index: what they share, what each has of its own, and
what comes to the shared part where no index is known. Our choice."""

NODES, WIDE = 31, 3.2
"""Nodes to a direction of the grid, and how many standard deviations it reaches."""

ODD = 0.002
"""How often a ball is typed or played so oddly that the curve says nothing of it. Our choice: one
slip of a key then costs little."""

SLOPES = ((-0.15, 0.2), (0.0, 0.6), (0.3, 0.2))
"""With what power of the length, from 10 ft on, both errors may grow beyond the model's own, and
how plausible each is before a ball: so a player who is poor from far only is not taken for one who
is poor from near. Our choice."""

FADING: tuple[tuple[float | None, float], ...] = (
    (None, 0.55),
    (100.0, 0.15),
    (40.0, 0.15),
    (15.0, 0.15),
)
"""Balls after which an older one weighs half (`None`: all weigh alike), and how plausible each is
before the player's days have spoken. Our choice."""
_FAINT = 1e-4


class HolingPrior(NamedTuple):
    """The starting guess: from which lie, and for whom."""

    lie: NearLie
    handicap: float | None = None
    sex: Sex = "men"

    @property
    def ability(self) -> float:
        """The model's ability for the index."""
        return ability(UNKNOWN_INDEX if self.handicap is None else self.handicap, self.sex)


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
    """Two logarithms at each of K nodes, a slope, and the weight of each before any ball."""

    first: Floats
    second: Floats
    slope: Floats
    weight: Floats

    def putts(self, table: Callable[[float], Floats]) -> Floats:
        """A table of the putting lattice for each slope, read at every node."""
        size = len(self.weight) // len(SLOPES)
        parts = [slice(at * size, (at + 1) * size) for at in range(len(SLOPES))]
        read = [
            chips.read_pairs(
                table(slope), putts.LOG_ANGLE, putts.LOG_PACE, self.first[part], self.second[part]
            )
            for (slope, _), part in zip(SLOPES, parts, strict=True)
        ]
        return np.concatenate(read, axis=1)


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
        return _Grid(x, y, np.zeros(len(x)), weight / weight.sum())
    stroke = Stroke.of(prior.ability)
    x, y = x + math.log(stroke.angle), y + math.log(stroke.pace)
    slopes, shares = (np.array(part) for part in zip(*SLOPES, strict=True))
    every = np.repeat(slopes, len(x))
    weight = np.outer(shares, weight / weight.sum()).ravel()
    return _Grid(np.tile(x, len(SLOPES)), np.tile(y, len(SLOPES)), every, weight)


@lru_cache(512)
def _strokes(prior: HolingPrior, length: float) -> Floats:
    """The chance of each number of strokes at each node: strokes x K."""
    grid = _grid(prior)
    if prior.lie == "green":
        found = grid.putts(lambda slope: putts.putt_strokes(length, slope))
    else:
        table = chips.chip_strokes(prior.ability, prior.sex, prior.lie, length)
        found = chips.read_pairs(table, chips.SHORT, chips.PUTTING, grid.first, grid.second)
    odd = 0.5 ** np.arange(1, MOST_STROKES + 1)
    mixed: Floats = (1.0 - ODD) * found + ODD * (odd / odd.sum())[:, None]
    return mixed


@lru_cache(128)
def _leaves(prior: HolingPrior, length: float, step: float, count: int) -> Floats:
    """The chance that a putt leaves each of so many steps at each node: steps x K."""
    grid = _grid(prior)
    found = grid.putts(lambda slope: putts.leaves(length, step, count, slope))
    odd = 0.9 ** np.arange(count)
    mixed: Floats = (1.0 - ODD) * found + ODD * (odd / odd.sum())[:, None]
    return mixed


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


def _log(prior: HolingPrior, said: StrokesTold) -> Floats:
    """The logarithm of how likely each node made what a ball said."""
    if said.strokes is not None:
        return np.asarray(np.log(_strokes(prior, said.length)[said.strokes - 1]))
    assert said.left is not None
    steps, step = said.left
    count = max(int(100.0 / step), 2)
    return np.asarray(np.log(_leaves(prior, said.length, step, count)[min(steps, count - 1)]))


class Faded(NamedTuple):
    """What balls said under one half-life: how plausible it is, and how much each kind weighs."""

    half_life: float | None
    share: float
    groups: Mapping[StrokesTold, float]


def _fade(half_life: float | None) -> float:
    return 1.0 if half_life is None else 0.5 ** (1.0 / half_life)


@dataclass(frozen=True)
class Holing:
    """The posterior after some balls from one lie.

    fading: for each half-life how plausible it is, and what the balls said, with how much each kind
    weighs now. shots: how many stand behind it; counted: what they said. drawn: as of a
    `Plausible`: the nodes are a grid.
    """

    prior: HolingPrior
    fading: tuple[Faded, ...] = (Faded(None, 1.0, {}),)
    shots: int = 0
    counted: Mapping[StrokesTold, int] = field(default_factory=dict)
    drawn: bool = False

    @classmethod
    def of(
        cls, newest_first: Sequence[tuple[StrokesTold, date | None]], prior: HolingPrior
    ) -> Holing:
        """What these balls tell; how fast they fade, the player's own days decide."""
        found = []
        for half_life, share in _plausible(newest_first, prior):
            fade = _fade(half_life)
            groups: dict[StrokesTold, float] = {}
            weight = 1.0
            for said, _ in newest_first:
                groups[said] = groups.get(said, 0.0) + weight
                weight *= fade
            found.append(Faded(half_life, share, groups))
        return cls(
            prior, tuple(found), len(newest_first), Counter(said for said, _ in newest_first)
        )

    def after(self, said: StrokesTold) -> Holing:
        """The posterior one ball later."""
        found = []
        for half_life, share, before in self.fading:
            fade = _fade(half_life)
            groups = {key: weight * fade for key, weight in before.items()}
            groups[said] = groups.get(said, 0.0) + 1.0
            found.append(Faded(half_life, share, groups))
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
        rows = _leaves(self.prior, length, step, len(outcomes))
        places = [int((o.shot.leave or 0) / ask.grid) for o in outcomes]
        return rows[places][:, self.kept]

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
) -> list[tuple[float | None, float]]:
    """Each half-life by how well each day was told by the days before it; the likely ones."""
    days = [
        Counter(said for said, _ in group)
        for day, group in groupby(reversed(newest_first), key=lambda pair: pair[1])
        if day is not None
    ]
    if len(days) < 2:
        return [(None, 1.0)]
    scores = {
        half_life: math.log(share) + _score(days, prior, half_life) for half_life, share in FADING
    }
    most = max(scores.values())
    shares = {half_life: math.exp(score - most) for half_life, score in scores.items()}
    total = sum(shares.values())
    return [(half, share / total) for half, share in shares.items() if share > 0.01 * total]


def _score(
    days: Iterable[Counter[StrokesTold]], prior: HolingPrior, half_life: float | None
) -> float:
    start = np.log(_grid(prior).weight)
    log, total = np.zeros(len(start)), 0.0
    for day in days:
        said = sum((count * _log(prior, key) for key, count in day.items()), np.zeros(len(start)))
        now = start + log
        total += _sum(now + said) - _sum(now)
        fade = 1.0 if half_life is None else 0.5 ** (day.total() / half_life)
        log = log * fade + said
    return total


def _sum(logs: Floats) -> float:
    most = float(logs.max())
    return most + math.log(float(np.exp(logs - most).sum()))
