"""The states that a game can reach, found once through its own outcomes and kept."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drillrunner.odds.shape import Floats
from drillrunner.rules import AnyGame, Outcome, Score

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


class Graph:
    """States by number, and which groups of outcomes lead from one to another.

    Outcomes that lead to the same state are one edge. Several threads may walk one graph.
    """

    def __init__(self, game: AnyGame) -> None:
        self.game = game
        self.outcomes: tuple[Outcome, ...] = game.outcomes()
        self.scores: list[Score] = []
        self.over: list[bool] = []
        self.lock = Lock()
        self._states: list[Any] = []
        self._number: dict[Any, int] = {}
        self._edges: dict[int, tuple[list[int], list[int]]] = {}
        self._groups: dict[tuple[int, ...], int] = {}
        self._takes: list[tuple[int, ...]] = []

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

    def edges(self, at: int) -> tuple[list[int], list[int]]:
        """Where one more ball leads, and by which groups of outcomes."""
        found = self._edges.get(at)
        if found is None:
            state, after = self._states[at], self.game.after
            takes: dict[int, list[int]] = {}
            for place, outcome in enumerate(self.outcomes):
                takes.setdefault(self.number(after(state, outcome.shot)), []).append(place)
            by = [self._group(tuple(places)) for places in takes.values()]
            found = self._edges[at] = (list(takes), by)
        return found

    def _group(self, places: tuple[int, ...]) -> int:
        found = self._groups.setdefault(places, len(self._takes))
        if found == len(self._takes):
            self._takes.append(places)
        return found

    def members(self, group: int) -> tuple[Outcome, ...]:
        """The outcomes of a group."""
        return tuple(self.outcomes[place] for place in self._takes[group])

    def group_chances(self, chances: Floats) -> Floats:
        """From the chances of the outcomes (outcomes x K) those of the groups (groups x K)."""
        takes = np.zeros((len(self._takes), len(self.outcomes)))
        for row, places in enumerate(self._takes):
            takes[row, list(places)] = 1.0
        return takes @ chances

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
    key = (type(game), game.settings, game.aim, game.grid, game.unit)
    with _lock:
        graph = _graphs.pop(key, None)
        if graph is None or len(graph) > _FULL:
            graph = Graph(game)
        _graphs[key] = graph
        while len(_graphs) > _KEPT:
            del _graphs[next(iter(_graphs))]
    return graph
