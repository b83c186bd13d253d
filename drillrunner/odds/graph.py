"""The states that a game can reach, found once through its own outcomes and kept."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, NamedTuple, cast

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

    shots: one of each kind. places: of each kind those of all its answers. alone: the group that
    each kind is by itself, once they have been asked for.
    """

    number: int
    outcomes: tuple[Outcome, ...]
    shots: list[Shot]
    places: list[tuple[int, ...]]
    alone: list[int]


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
            places = [tuple(all_of) for all_of in alike.values()]
            shots = [outcomes[one[0]].shot for one in places]
            number = len(self._questions)
            found = self._questions[ask] = Question(number, outcomes, shots, places, [])
        return found

    @property
    def asks(self) -> tuple[Ask, ...]:
        """All that was asked by now."""
        return tuple(self._questions)

    def edges(self, at: int) -> tuple[list[int], list[int]]:
        """Where one more ball leads, and by which groups of outcomes."""
        found = self._edges.get(at)
        if found is None:
            state, after = self._states[at], self.game.after
            question = self._question(self._ask(state))
            reached = [after(state, shot) for shot in question.shots]
            to = list(map(self._number.get, reached))
            if None in to:
                to = list(map(self.number, reached))
            found = self._edges[at] = self._grouped(question, cast("list[int]", to))
        return found

    def _grouped(self, question: Question, to: list[int]) -> tuple[list[int], list[int]]:
        """Edges from what each kind of answer leads to. Mostly no two lead to the same state."""
        if len(set(to)) == len(to):
            if not question.alone:
                alone = (self._group(question.number, places) for places in question.places)
                question.alone.extend(alone)
            return to, question.alone
        takes: dict[int, tuple[int, ...]] = {}
        for one, places in zip(to, question.places, strict=True):
            takes[one] = (*takes.get(one, ()), *places)
        return list(takes), [self._group(question.number, places) for places in takes.values()]

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
        starts: list[int] = []
        reached: list[int] = []
        by: list[int] = []
        for at in states:
            starts.append(len(reached))
            to, groups = self.edges(at)
            reached += to
            by += groups
        nexts: list[int] = []
        place: dict[int, int] = dict.fromkeys(reached, 0)
        for child in place:
            label = sink_of(child)
            if label is None:
                place[child] = len(nexts)
                nexts.append(child)
            else:
                place[child] = -1 - sinks.setdefault(label, len(sinks))
        ends = np.fromiter(map(place.__getitem__, reached), np.intp, len(reached))
        return Layer(states, np.array(starts), ends, np.array(by)), nexts


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
