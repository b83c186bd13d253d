"""Runs played again in great number: what a game said of a state is heard once for all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from drillrunner.catalogue.drill import Drill
from drillrunner.rules.run import AsItStands, Entry, Kind, Run
from drillrunner.rules.soundness import Heard, Unsound, after, contained, hear, unsound
from drillrunner.store.entry_rows import Summary, follows
from drillrunner.store.shapes import shot

MOST = 50_000
"""States that are remembered of one drill as set; beyond, they are heard anew."""

Typed = tuple[Any, ...]
"""An entry as it is stored: kind, text, then `SHOT_COLUMNS`."""


@dataclass(slots=True)
class _State:
    """One state of a game, and where each ball leads from it, by how it is stored."""

    heard: Heard
    to: dict[Typed, _State] = field(default_factory=dict)


class Replay:
    """One drill as set, whose runs are played again."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self._game = drill.game()
        self._begin()

    def _begin(self) -> None:
        self._states: dict[Any, _State] = {}
        with contained():
            self._start = self._state(self._game.start(), None)

    def _state(self, state: Any, last: Heard | None) -> _State:
        known = self._states.get(state)
        if known is None:
            heard = hear(self._game, state, None if last is None else last.ask)
            for wrong in unsound(self._game, heard):
                raise Unsound(wrong)
            known = self._states[state] = _State(heard)
        return known

    def follows(self, typed: Iterable[Typed], tally: bool, decider: bool) -> Summary:
        """What follows from a run's entries, as `journal.follows` has it. Raises as `Run.fold`."""
        typed = list(typed)
        run = self._straight(typed) if tally or self.drill.between is None else None
        if run is None:
            entries = [entry(row) for row in typed]
            return follows(Run.fold(self._game, entries, self.drill.between, tally), decider)
        return follows(run, decider)

    def _straight(self, typed: list[Typed]) -> _Straight | None:
        """A run in which nothing was taken back; `None` for any other, or one that can't be."""
        state, counted, given_up = self._start, 0, False
        if len(self._states) > MOST:
            self._begin()
        for kind, _, *read in typed:
            if kind == Kind.SHOT:
                if state.heard.over or given_up:
                    return None
                state, counted = self._after(state, tuple(read)), counted + 1
            elif kind == Kind.GIVE_UP and not (state.heard.over or given_up):
                given_up = True
            elif kind != Kind.NOTE:
                return None
        return _Straight(self._game, state.heard, counted, given_up)

    def _after(self, state: _State, read: Typed) -> _State:
        known = state.to.get(read)
        if known is None:
            with contained():
                later = after(self._game, state.heard.state, shot(*read))
                known = state.to[read] = self._state(later, state.heard)
        return known


@dataclass(frozen=True, slots=True)
class _Straight(AsItStands):
    """Of such a run what a `Run` says."""

    game: Any
    now: Heard
    counted: int
    given_up: bool
    voided: int = 0
    undone: int = 0


def entry(row: Typed) -> Entry:
    """An entry as the rules have it."""
    kind, text, *read = row
    return Entry(Kind(kind), text, shot(*read) if kind == Kind.SHOT else None)
