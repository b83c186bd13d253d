"""The journal beside a plain list, driven by Hypothesis through undo, void, close and reopen."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from drillrunner.rules.run import Entry, Kind, Refused
from drillrunner.store.records import typed
from tests.shipped import CATALOGUE
from tests.store.conftest import Clock, entry
from tests.store.world import opened

DRILL = CATALOGUE.drill("hold-the-corridor")
LIVES = 3


class Model:
    """The plain list: what was typed, and a stack of what is in force."""

    def __init__(self) -> None:
        self.typed: list[Entry] = []
        self.stack: list[tuple[int, Kind, str]] = []

    @property
    def balls(self) -> list[tuple[int, str]]:
        """Balls in force that no void in force has taken, in order."""
        voids = sum(kind is Kind.VOID for _, kind, _ in self.stack)
        shots = [(at, text) for at, kind, text in self.stack if kind is Kind.SHOT]
        # Balls may be void before later ones are hit, so walk the stack and pop for each void.
        left: list[tuple[int, str]] = []
        for at, kind, text in self.stack:
            if kind is Kind.SHOT:
                left.append((at, text))
            elif kind is Kind.VOID:
                left.pop()
        assert len(left) == len(shots) - voids
        return left

    @property
    def held(self) -> int:
        return sum(text == "5" for _, text in self.balls)

    @property
    def lost(self) -> int:
        return len(self.balls) - self.held

    @property
    def ended(self) -> str | None:
        if any(kind is Kind.GIVE_UP for _, kind, _ in self.stack):
            return "given up"
        return "out of lives" if self.lost == LIVES else None

    def take(self, given: Entry) -> None:
        if given.kind is Kind.UNDO:
            self.stack.pop()
        else:
            self.stack.append((len(self.typed), given.kind, given.text))
        self.typed.append(given)


class JournalMachine(RuleBasedStateMachine):
    @initialize()
    def start(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "drillrunner.db"
        self.clock = Clock()
        self.store = opened(self.path, self.clock)
        self.player = self.store.add_player("Ines")
        self.playing = self.store.begin(self.player.id, DRILL)
        self.model = Model()
        self.earlier: dict[str, Model] = {}

    def teardown(self) -> None:
        if hasattr(self, "store"):
            self.store.close()
            self.folder.cleanup()

    def give(self, given: Entry, possible: bool) -> None:
        before = self.playing.run
        if not possible:
            with pytest.raises(Refused):
                self.playing.append(given)
            assert self.playing.run is before
            return
        self.playing.append(given)
        self.model.take(given)

    @rule(key=st.sampled_from("5555546"))
    def shot(self, key: str) -> None:
        self.give(entry(key, DRILL.game().ask), self.model.ended is None)

    @rule()
    def undo(self) -> None:
        self.give(Entry(Kind.UNDO), bool(self.model.stack))

    @rule()
    def void(self) -> None:
        self.give(Entry(Kind.VOID), bool(self.model.balls))

    @rule(text=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0")))
    def note(self, text: str) -> None:
        self.give(Entry(Kind.NOTE, text), True)

    @rule()
    def give_up(self) -> None:
        self.give(Entry(Kind.GIVE_UP), self.model.ended is None)

    @rule()
    def close_and_reopen(self) -> None:
        self.store.close()
        self.store = opened(self.path, self.clock)
        if self.model.typed:
            self.playing = self.store.resume(self.playing.id, CATALOGUE.games)
        else:
            assert self.store.history() == () or self.earlier
            self.playing = self.store.begin(self.player.id, DRILL)

    @precondition(lambda self: self.model.typed and self.model.ended)
    @rule()
    def another_run(self) -> None:
        self.earlier[self.playing.id] = self.model
        self.playing, self.model = self.store.begin(self.player.id, DRILL), Model()

    @invariant()
    def what_lies_on_disk_is_the_list(self) -> None:
        model = self.model
        stored = self.store.entries(self.playing.id)
        assert list(typed(stored)) == model.typed == list(self.playing.run.entries)
        live = {at for at, _, _ in model.stack}
        assert [e.live for e in stored] == [at in live for at in range(len(stored))]
        counting = {at for at, _ in model.balls}
        assert [e.counts for e in stored] == [at in counting for at in range(len(stored))]

    @invariant()
    def the_run_row_follows_from_the_list(self) -> None:
        row, model = self.store.run(self.playing.id), self.model
        if not model.typed:
            assert row is None
            return
        assert row is not None
        assert (row.score, row.counted) == (model.held, len(model.balls))
        assert row.undone == sum(e.kind is Kind.UNDO for e in model.typed)
        assert row.ended == model.ended
        assert row.finished == (model.ended == "out of lives")
        assert (row.ended_at is None) == (model.ended is None)
        is_open = self.store.open_run(self.player.id, DRILL.id)
        assert (is_open is not None) == (model.ended is None)

    @invariant()
    def the_best_is_the_best_of_the_finished_ones(self) -> None:
        models = [*self.earlier.values(), self.model]
        scores = [model.held for model in models if model.ended == "out of lives"]
        best = self.store.best(self.player.id, DRILL.fingerprint)
        assert (best and best.score) == (max(scores) if scores else None)
        counting = sum(len(model.balls) for model in models)
        assert len(self.store.recent_shots(self.player.id, "driver")) == counting


TestJournal = JournalMachine.TestCase
TestJournal.settings = settings(
    max_examples=20,
    stateful_step_count=40,
    suppress_health_check=[HealthCheck.too_slow],
)
