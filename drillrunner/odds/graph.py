"""The states that a game can reach, found once through its own outcomes and kept."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drillrunner.rules import AnyGame, Ask, Outcome, Score

Ints = NDArray[np.intp]


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
        self._groups: dict[tuple[Ask, tuple[int, ...]], int] = {}
        self._outcomes: dict[Ask, tuple[Outcome, ...]] = {}
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
        found = self._outcomes.get(ask)
        if found is None:
            found = self._outcomes[ask] = ask.outcomes()
        return found

    @property
    def asks(self) -> tuple[Ask, ...]:
        """All that was asked by now."""
        return tuple(self._outcomes)

    def edges(self, at: int) -> tuple[list[int], list[int]]:
        """Where one more ball leads, and by which groups of outcomes."""
        found = self._edges.get(at)
        if found is None:
            state, after = self._states[at], self.game.after
            ask = self._ask(state)
            takes: dict[int, list[int]] = {}
            for place, outcome in enumerate(self.outcomes_of(ask)):
                takes.setdefault(self.number(after(state, outcome.shot)), []).append(place)
            by = [
                self._groups.setdefault((ask, tuple(places)), len(self._groups))
                for places in takes.values()
            ]
            found = self._edges[at] = (list(takes), by)
        return found

    @property
    def groups(self) -> int:
        """How many groups of outcomes there are by now."""
        return len(self._groups)

    def taken(self, group: int) -> tuple[Ask, tuple[int, ...]]:
        """What was asked, and which of its answers are in a group."""
        while len(self._listed) <= group:
            self._listed = list(self._groups)
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
_FULL = 100_000
_graphs: dict[Hashable, Graph] = {}
_lock = Lock()


def graph_of(game: AnyGame) -> Graph:
    """The graph of a game as set; the latest few are kept, so that a run finds its own again."""
    key = (type(game), game.settings, game.stations, game.unit)
    with _lock:
        graph = _graphs.pop(key, None)
        if graph is None or len(graph) > _FULL:
            graph = Graph(game)
        _graphs[key] = graph
        while len(_graphs) > _KEPT:
            del _graphs[next(iter(_graphs))]
    return graph
