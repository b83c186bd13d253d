"""The states that a game can reach, found once through its own outcomes and kept."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, NamedTuple

import numpy as np

from drillrunner.odds.tails import Ints
from drillrunner.rules import AnyGame, Ask, Outcome, Score, Shot


class TooMany(Exception):
    """More states than the caller allowed."""


class Layer(NamedTuple):
    """The balls from one set of states to the next.

    states: the states played from, by number. starts: where each one's edges begin. to: for each
    edge its place in the next layer, or -(j + 1) for sink j. by: the group of outcomes it takes.
    """

    states: list[int]
    starts: Ints
    to: Ints
    by: Ints


class Question(NamedTuple):
    """What can be answered to a question, and the kinds of answers that a game tells apart.

    kinds: of each a shot, and the places of all its answers. alone: the group that a kind is by
    itself, by the identity of its places, once that is known; `None` till then.
    """

    number: int
    outcomes: tuple[Outcome, ...]
    kinds: list[tuple[Shot, tuple[int, ...]]]
    alone: dict[int, int | None]


def asker(game: AnyGame) -> Callable[[Any], Ask]:
    """What a game asks in a state; the same for all where it has no word of its own on that."""
    if not game.moves:
        only = game.asked_at(game.stations[0])
        return lambda _: only
    return game.asked


class Graph:
    """States by number, and which groups of outcomes lead from one to another.

    Outcomes that lead to the same state are one edge. What is asked may differ by state; a group
    belongs to one question. Several threads may walk one graph.
    """

    def __init__(self, game: AnyGame) -> None:
        self.game = game
        self.scores: list[Score] = []
        self.over: list[bool] = []
        self.lock = Lock()
        self._states: list[Any] = []
        self._number: dict[Any, int] = {}
        self._edges: dict[int, tuple[list[int], list[int]]] = {}
        self._groups: dict[tuple[int, tuple[int, ...]], int] = {}
        self._questions: dict[Ask, Question] = {}
        self._listed: list[tuple[Ask, tuple[int, ...]]] = []
        self._ask = asker(game)

    def __len__(self) -> int:
        return len(self._states)

    def number(self, state: Any) -> int:
        """The number of a state, given at first sight."""
        found = self._number.get(state)
        if found is None:
            found = self._number[state] = len(self._states)
            self._states.append(state)
            self.over.append(self.game.over(state))
            self.scores.append(self.game.score(state))
        return found

    def ask(self, at: int) -> Ask:
        """What is asked in a state."""
        return self._ask(self._states[at])

    def outcomes_of(self, ask: Ask) -> tuple[Outcome, ...]:
        """The answers to a question."""
        return self._question(ask).outcomes

    def _question(self, ask: Ask) -> Question:
        found = self._questions.get(ask)
        if found is None:
            outcomes, alike = ask.outcomes(), dict[Hashable, list[int]]()
            for place, outcome in enumerate(outcomes):
                alike.setdefault(self.game.goes_by(ask, outcome.shot), []).append(place)
            kinds = [(outcomes[places[0]].shot, tuple(places)) for places in alike.values()]
            alone = dict[int, int | None].fromkeys(id(places) for _, places in kinds)
            found = self._questions[ask] = Question(len(self._questions), outcomes, kinds, alone)
        return found

    @property
    def asks(self) -> tuple[Ask, ...]:
        """All that was asked by now."""
        return tuple(self._questions)

    def edges(self, at: int) -> tuple[list[int], list[int]]:
        """Where one more ball leads, and by which groups of outcomes."""
        found = self._edges.get(at)
        if found is None:
            state, after, known = self._states[at], self.game.after, self._number
            question = self._question(self._ask(state))
            takes: dict[int, tuple[int, ...]] = {}
            for shot, places in question.kinds:
                reached = after(state, shot)
                to = known.get(reached)
                if to is None:
                    to = self.number(reached)
                takes[to] = (*takes[to], *places) if to in takes else places
            alone, by = question.alone, list[int]()
            for places in takes.values():
                # Most lead where no other does: what all of them are is looked up once.
                group = alone.get(id(places))
                if group is None:
                    group = self._group(question.number, places)
                    if id(places) in alone:
                        alone[id(places)] = group
                by.append(group)
            found = self._edges[at] = (list(takes), by)
        return found

    def _group(self, asked: int, places: tuple[int, ...]) -> int:
        """The number of a group of answers to a question."""
        return self._groups.setdefault((asked, tuple(sorted(places))), len(self._groups))

    @property
    def groups(self) -> int:
        """How many groups of outcomes there are by now."""
        return len(self._groups)

    def taken(self, group: int) -> tuple[Ask, tuple[int, ...]]:
        """What was asked, and which of its answers are in a group."""
        if len(self._listed) <= group:
            asks = self.asks
            self._listed = [(asks[asked], places) for asked, places in self._groups]
        return self._listed[group]

    def members(self, group: int) -> tuple[Outcome, ...]:
        """The outcomes of a group."""
        ask, places = self.taken(group)
        return tuple(self.outcomes_of(ask)[place] for place in places)

    def layer(
        self,
        states: list[int],
        sink_of: Callable[[int], Any],
        sinks: dict[Any, int],
    ) -> tuple[Layer, list[int]]:
        """One more ball from these states, and the states that are played on from.

        sink_of: the label of a state that is settled, `None` for one that is played on from.
        """
        nexts: dict[int, int] = {}
        starts: list[int] = []
        to: list[int] = []
        by: list[int] = []
        for at in states:
            starts.append(len(to))
            reached, groups = self.edges(at)
            by.extend(groups)
            for child in reached:
                label = sink_of(child)
                if label is None:
                    to.append(nexts.setdefault(child, len(nexts)))
                else:
                    to.append(-1 - sinks.setdefault(label, len(sinks)))
        return Layer(states, np.array(starts), np.array(to), np.array(by)), list(nexts)


_KEPT = 6
"""Graphs that are kept in any case, the latest."""
_MANY, _SMALL = 64, 20_000
"""So many are kept as long as they have no more states than this together: a dial has many steps,
and each is a graph of its own."""
_FULL = 100_000
_graphs: dict[Hashable, Graph] = {}
_lock = Lock()


def graph_of(game: AnyGame) -> Graph:
    """The graph of a game as set; the latest are kept, so that a run finds its own again."""
    key = (type(game), game.settings, game.stations, game.unit)
    with _lock:
        graph = _graphs.pop(key, None)
        if graph is None or len(graph) > _FULL:
            graph = Graph(game)
        _graphs[key] = graph
        states = sum(map(len, _graphs.values()))
        while len(_graphs) > _KEPT and (len(_graphs) > _MANY or states > _SMALL):
            states -= len(_graphs.pop(next(iter(_graphs))))
    return graph
