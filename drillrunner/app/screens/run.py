"""One run, entry by entry."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static
from textual.widgets.option_list import Option

from drillrunner.app import words
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.practice.looking_back.run_words import entry_words
from drillrunner.rules.run import Entry, Kind

if TYPE_CHECKING:
    from drillrunner.store.shapes import StoredEntry, StoredRun
    from drillrunner.store.store import Store


class RunScreen(ListScreen):
    """The entries of one stored run, in the order typed."""

    topic = "run"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "run.go_on", "go_on", "Go on", shown=True),
        key("not_me", "run.not_me"),
    ]

    def __init__(self, run: StoredRun) -> None:
        super().__init__()
        self.run_shown = run
        self.title = f"{run.title} · {run.player}"

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield BlockList(id="entries")

    def read(self, store: Store) -> None:
        run = store.run(self.run_shown.run) or self.run_shown
        self.run_shown = run
        score = f"score {words.score(run.score)} · {words.ending(run)}"
        when = words.when(run.started, self.drillrunner.clock())
        self.query_one("#progress", Static).update(
            f"{score}\n{when} · {words.setting(run.setting)}"
        )
        ball, rows = 0, []
        for entry in store.entries(run.run):
            ball += entry.counts
            rows.append(Option(self._row(entry, ball, run), id=str(entry.seq)))
        self.block.fill(rows)
        self.refresh_bindings()

    def _row(self, entry: StoredEntry, ball: int, run: StoredRun) -> ListRow:
        said = entry_words(Entry(entry.kind, entry.text, entry.shot), run.unit, entry.club)
        undone = not entry.live and entry.kind is not Kind.UNDO
        stands = "undone" if undone else ("void" if entry.void else "")
        number = f"{ball}." if entry.counts else "-"
        return ListRow(f"{number:>4}  {said}", stands or f"{entry.at:%H:%M}")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "go_on":
            return self.run_shown.ended is None and not self.run_shown.decider
        return True

    def action_not_me(self) -> None:
        """Give the run to the player whose it was."""
        run = self.run_shown

        def shown() -> None:
            self.drillrunner.records.with_store(self._show_anew)

        self.drillrunner.people.not_me(
            run.player_id, lambda store, player: store.give_run(run.run, player.id), shown
        )

    def _show_anew(self, store: Store) -> None:
        self.read(store)
        self.title = f"{self.run_shown.title} · {self.run_shown.player}"

    def action_go_on(self) -> None:
        """Go on with this run, which is open."""
        self.drillrunner.runs.go_on(self.run_shown.run)
