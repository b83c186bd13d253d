"""How likely each answer to each question of a game is, under a player's plausible patterns.

One pattern is weighed node by node, as it is. Where a game involves several (two clubs, two
numbers), they are drawn together, evenly over all of them: a Halton sequence (Halton 1960, Numer.
Math. 2:84-90) shifted at random a few times, so that the shifts tell the error of the average
(randomly shifted points: Cranley & Patterson 1976, SIAM J. Numer. Anal. 13:904-914).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

import numpy as np

from drillrunner.odds.graph import Graph, asker
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.observe import span_of
from drillrunner.odds.shape import Floats, Plausible
from drillrunner.odds.tails import Ints
from drillrunner.rules import AnyGame, Ask, Direction, Outcome, Score
from drillrunner.rules.outcome import EVERYWHERE
from drillrunner.rules.shot import Interval
from drillrunner.rules.station import HOLING

_FAINT = 1e-4
"""Pairs of a lateral and a depth pattern weighing less than this of the heaviest are left out."""

SHIFTS = 8
"""Times that the points are shifted: what they differ by tells the error."""

POINTS = (64, 256, 1024)
"""Joint draws to each shift; more of them where the error asks for it."""

REMEMBERED = 20_000
"""States of a rolled game that are remembered, with where their balls led."""

LISTED = 100_000
"""Numbers up to which they are kept as a list: looked up in faster, but four times as large."""

T = TypeVar("T")


@dataclass(frozen=True)
class Patterns:
    """A player's plausible patterns with one club and swing; independent of each other.

    label: whose they are (club and swing): patterns of one label are drawn with one another.
    """

    lateral: Plausible | None = None
    depth: Plausible | None = None
    label: Hashable = None
    hole: Holing | None = None

    def holing(self) -> Holing:
        """What is known of holing out. Raises ValueError where nothing is."""
        if self.hole is None:
            raise ValueError("this game asks for strokes: a pattern says nothing of them")
        return self.hole

    def of(self, direction: Direction) -> Plausible:
        """The patterns in one direction. Raises ValueError where there are none."""
        found = self.lateral if direction == "lateral" else self.depth
        if found is None:
            raise ValueError(f"this game needs a pattern in {direction}")
        return found

    def at(self, ask: Ask) -> Patterns:
        """Those for what is asked: these, whatever it is."""
        return self


class PatternsAt(Protocol):
    """The patterns that a game depends on, station by station."""

    def at(self, ask: Ask) -> Patterns:
        """Those with the club and swing, and at the number, of what is asked."""
        ...


@lru_cache(512)
def needed(ask: Ask) -> tuple[Direction, ...]:
    """The directions that the answers to a question depend on."""
    return directions(ask.outcomes())


def directions(outcomes: Iterable[Outcome]) -> tuple[Direction, ...]:
    """The directions that the outcomes of a game depend on."""
    both: tuple[Direction, ...] = ("lateral", "depth")
    listed = tuple(outcomes)
    return tuple(d for d in both if any(getattr(o, d) != EVERYWHERE for o in listed))


def asks_of(game: AnyGame) -> tuple[Ask, ...]:
    """What the stations of a game ask, each once."""
    return tuple(dict.fromkeys(game.asked_at(station) for station in game.stations))


class Weights(NamedTuple):
    """Chances of every outcome (outcomes x K) under K patterns, and the weights of those."""

    chances: Floats
    weight: Floats


def weigh(game: AnyGame, outcomes: tuple[Outcome, ...], patterns: Patterns) -> Weights:
    """How likely each outcome of the first ball is; ValueError where a pattern is missing."""
    table = Table(game, (game.ask,), patterns)
    return Weights(table.outcomes(game.ask, outcomes), table.weight)


class Grown(Exception):
    """A question depends on a pattern that the table was not made for."""

    def __init__(self, ask: Ask) -> None:
        super().__init__(f"a pattern with {ask.club} ({ask.swing}) is asked for late in the game")


@dataclass
class Table:
    """Joint patterns, K of them, and what each makes of the questions of a game.

    asks: what may be asked; others are taken as long as they depend on the same patterns, else
    Grown is raised. points: joint draws to a shift, where it comes to draws. Raises ValueError
    where a pattern is missing.
    """

    game: AnyGame
    asks: tuple[Ask, ...]
    patterns: PatternsAt
    points: int = POINTS[0]
    seed: int = 1
    weight: Floats = field(init=False)
    drawn: bool = field(init=False)
    """Whether the K are draws, alike in weight and shift by shift, so that an average has an error.
    """

    def __post_init__(self) -> None:
        self._places: dict[int, Ints] = {}
        self._groups: list[Floats] = []
        parts: dict[int, tuple[Hashable, Plausible | Holing]] = {}
        whole: dict[int, Patterns] = {}
        for ask in self.asks:
            found = self.patterns.at(ask)
            whole[id(found)] = found
            for direction in needed(ask):
                part = found.of(direction)
                parts[id(part)] = ((found.label or id(found), direction), part)
            if ask.asks in HOLING:
                hole = found.holing()
                parts[id(hole)] = ((hole.prior.lie, "hole"), hole)
        # Held, so that no other may come to have the same identity.
        self._held = parts, whole
        self.drawn = False
        wide = [part for _, part in parts.values() if len(part.weight) > 1]
        if len(wide) <= 1:
            only = wide[0] if wide else None
            self.weight = np.ones(1) if only is None else only.weight
            for key, (_, other) in parts.items():
                size = len(self.weight)
                self._places[key] = np.arange(size) if other is only else np.zeros(size, np.intp)
        elif len(whole) == 1:
            (one,) = whole.values()
            across, along = one.of("lateral"), one.of("depth")
            if across.drawn and along.drawn:
                # Two samples of alike many: each law of the one meets one of the other, by chance.
                size = max(len(across.weight), len(along.weight))
                met = np.random.default_rng(1).permutation(size)
                places = {
                    id(part): at * len(part.weight) // size
                    for part, at in ((across, np.arange(size)), (along, met))
                }
                self.weight = np.full(size, 1.0 / size)
                self._places = places
                return
            pairs = across.weight[:, None] * along.weight
            left, right = np.nonzero(pairs > _FAINT * pairs.max())
            self.weight = pairs[left, right] / pairs[left, right].sum()
            self._places = {id(across): left, id(along): right}
        else:
            self._draw(parts)

    def _draw(self, parts: dict[int, tuple[Hashable, Plausible | Holing]]) -> None:
        """Joint draws. Parts of one label share a dimension: they are one player's one swing."""
        self.drawn = True
        dimensions = list(dict.fromkeys(label for label, _ in parts.values()))
        points = halton(self.points, len(dimensions))
        shifts = np.random.default_rng(self.seed).random((SHIFTS, 1, len(dimensions)))
        places = ((points + shifts) % 1.0).reshape(-1, len(dimensions))
        self.weight = np.full(len(places), 1.0 / len(places))
        for key, (label, part) in parts.items():
            reached = np.cumsum(part.weight)
            at = np.searchsorted(reached, places[:, dimensions.index(label)] * reached[-1])
            self._places[key] = np.minimum(at, len(reached) - 1)

    def error(self, values: Floats) -> float:
        """The standard error of the average of K values; 0 where they are no draws."""
        if not self.drawn:
            return 0.0
        means = values.reshape(SHIFTS, -1).mean(axis=1)
        return float(means.std(ddof=1) / math.sqrt(SHIFTS))

    def outcomes(self, ask: Ask, outcomes: tuple[Outcome, ...]) -> Floats:
        """The chances of all the answers to a question (outcomes x K)."""
        chances, at = self.apart(ask, outcomes)
        return chances[:, at]

    def apart(self, ask: Ask, outcomes: tuple[Outcome, ...]) -> tuple[Floats, Ints]:
        """The same of the patterns that differ there, and which of them each of the K is."""
        parts = self._parts(ask, outcomes)
        if len(parts) == 1:
            return parts[0]
        found = np.ones((len(outcomes), len(self.weight)))
        for chances, at in parts:
            found *= chances[:, at]
        return found, np.arange(len(self.weight))

    def groups(self, graph: Graph) -> Floats:
        """The chances of the groups of outcomes that a graph knows by now (groups x K)."""
        new = [graph.taken(number) for number in range(len(self._groups), graph.groups)]
        sums = self._alone(graph, new)
        rest: dict[Ask, list[int]] = {}
        for number, (ask, _) in enumerate(new):
            if number not in sums:
                rest.setdefault(ask, []).append(number)
        # Question by question: of one that has many answers, what is kept of them is small.
        for ask, numbers in rest.items():
            chances, at = self.apart(ask, graph.outcomes_of(ask))
            for number in numbers:
                sums[number] = chances[list(new[number][1])].sum(axis=0)[at]
        self._groups += (sums[number] for number in range(len(new)))
        return np.array(self._groups)

    def _alone(self, graph: Graph, groups: list[tuple[Ask, tuple[int, ...]]]) -> dict[int, Floats]:
        """The chances of the groups whose question depends on one direction alone.

        Answers that lie side by side are one stretch, whose ends alone are worked out.
        """
        stretches: dict[int, list[Interval]] = {}
        of_part: dict[int, tuple[Plausible, dict[Interval, None]]] = {}
        for number, (ask, takes) in enumerate(groups):
            wanted = needed(ask)
            if len(wanted) == 1:
                part = self._part(ask, wanted[0])
                outcomes = graph.outcomes_of(ask)
                found = joined(getattr(outcomes[place], wanted[0]) for place in takes)
                stretches[number] = found
                of_part.setdefault(id(part), (part, {}))[1].update(dict.fromkeys(found))
        weighed = {}
        for key, (part, intervals) in of_part.items():
            rows = part.chances([span_of(interval, self.game.unit) for interval in intervals])
            weighed[key] = dict(zip(intervals, rows, strict=True))
        sums = {}
        for number, found in stretches.items():
            ask = groups[number][0]
            key = id(self._part(ask, needed(ask)[0]))
            sums[number] = sum(weighed[key][one] for one in found)[self._places[key]]
        return sums

    def _part(self, ask: Ask, direction: Direction) -> Plausible:
        """The patterns that a question depends on in a direction. Raises Grown for unknown ones."""
        part = self.patterns.at(ask).of(direction)
        if id(part) not in self._places:
            raise Grown(ask)
        return part

    def _parts(self, ask: Ask, outcomes: tuple[Outcome, ...]) -> list[tuple[Floats, Ints]]:
        """For each direction that matters the chances (outcomes x nodes), and each one's node."""
        found: list[tuple[Floats, Ints]] = []
        if ask.asks in HOLING:
            hole = self.patterns.at(ask).holing()
            if id(hole) not in self._places:
                raise Grown(ask)
            found.append((hole.answers(ask, outcomes), self._places[id(hole)]))
        for direction in needed(ask):
            part = self._part(ask, direction)
            intervals = [getattr(outcome, direction) for outcome in outcomes]
            distinct = list(dict.fromkeys(intervals))
            rows = part.chances([span_of(interval, self.game.unit) for interval in distinct])
            place = {interval: row for row, interval in enumerate(distinct)}
            chances = rows[[place[interval] for interval in intervals]]
            found.append((chances, self._places[id(part)]))
        return found


def joined(intervals: Iterable[Interval]) -> list[Interval]:
    """Rising intervals, those that meet joined to one."""
    found: list[Interval] = []
    for low, high in intervals:
        if found and low is not None and found[-1][1] == low:
            found[-1] = found[-1][0], high
        else:
            found.append((low, high))
    return found


Rows = list[list[float]] | list[Floats]


class Stop(Generic[T]):
    """A state that a rolled game comes to. result: what it is settled as, `None` to play on.

    outcomes, reached: the answers to what is asked there, and for each pattern where each but the
    last one ends on a line from 0 to 1. after: where those lead that have come up.
    """

    __slots__ = ("after", "outcomes", "reached", "result", "score", "state")

    def __init__(self, state: Any, score: Score, result: T | None) -> None:
        self.state, self.score, self.result = state, score, result
        self.outcomes: tuple[Outcome, ...] = ()
        self.reached: Rows = []
        self.after: dict[int, Stop[T]] = {}


class Rolling(Generic[T]):
    """For rolling a game: what a ball leads to is asked of it once, whichever run comes there.

    settled: what a score, and whether the game is over, make of a run; `None` to play on.
    """

    def __init__(self, table: Table, settled: Callable[[Score, bool], T | None]) -> None:
        self._table, self._settled = table, settled
        self._asked = asker(table.game)
        self._known: dict[Ask, tuple[tuple[Outcome, ...], Rows]] = {}
        self._stops: dict[Any, Stop[T] | None] = {}
        """What was come to; of what came late it is known that it was, and no more."""

    def __len__(self) -> int:
        """How many states were come to."""
        return len(self._stops)

    def stop(self, state: Any) -> Stop[T]:
        """Where a run is in this state."""
        game = self._table.game
        score = game.score(state)
        found = Stop(state, score, self._settled(score, game.over(state)))
        if found.result is None:
            found.outcomes, found.reached = self._of(self._asked(state))
        return found

    def ball(self, now: Stop[T], place: int) -> Stop[T]:
        """Where the answer at a place among the outcomes leads."""
        found = now.after.get(place)
        if found is None:
            state = self._table.game.after(now.state, now.outcomes[place].shot)
            found = self._stops.get(state)
            if found is None:
                found = self.stop(state)
                self._stops[state] = found if len(self._stops) < REMEMBERED else None
            if self._stops[state] is not None:
                now.after[place] = found
        return found

    def _of(self, ask: Ask) -> tuple[tuple[Outcome, ...], Rows]:
        found = self._known.get(ask)
        if found is None:
            outcomes = ask.outcomes()
            chances, at = self._table.apart(ask, outcomes)
            ends = np.cumsum(chances, axis=0)[:-1].T
            rows: Rows = ends.tolist() if ends.size < LISTED else list(ends)
            # One row for all of the K that do not differ there.
            found = self._known[ask] = outcomes, [rows[row] for row in at.tolist()]
        return found


@lru_cache(16)
def halton(points: int, dimensions: int) -> Floats:
    """The first points of the Halton sequence: array of points x dimensions, each in [0, 1)."""
    found = np.zeros((points, dimensions))
    for column, base in enumerate(_primes(dimensions)):
        rest, scale = np.arange(1, points + 1), 1.0 / base
        while rest.any():
            rest, digit = np.divmod(rest, base)
            found[:, column] += digit * scale
            scale /= base
    return found


def _primes(count: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found
