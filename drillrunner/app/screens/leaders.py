"""Leaders: the best scores on a drill of those who agreed to stand there, kept up to date."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import words
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.widgets.board import LargeName

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.boards import Leader
    from drillrunner.store.store import Store

EVERY = 3.0
"""Seconds between two looks at the records."""
MOST = 100
"""Players that one board has room for."""


class LeadersScreen(HasQuestions, ScrollScreen):
    """drill: as it is set. since: the first day that counts."""

    topic = "leaders"
    scrolled = "#places"
    whose = ""
    # A board for all has nobody of its own.

    def __init__(self, drill: Drill, since: date | None = None) -> None:
        super().__init__()
        self.drill = drill
        self.since = since
        self.title = f"Leaders · {drill.title}"

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield LargeName(id="whose")
        with VerticalScroll(id="places", can_focus=False):
            yield Static("", id="ranking", markup=False)

    def on_mount(self) -> None:
        said = words.setting(self.drill.setting())
        since = "" if self.since is None else f" · since {self.since}"
        self.query_one("#progress", Static).update(f"{said}{since}")
        self.set_interval(EVERY, self._look)

    def read(self, store: Store) -> None:
        self._look()

    def _look(self) -> None:
        """Ask the records in a thread: a slow one must not hold up the screen."""
        store = self.drillrunner.records.store
        if store is None or not self.is_current or not self.questions.settled:
            return
        since = None
        if self.since is not None:
            since = datetime.combine(self.since, time(), self.drillrunner.clock().tzinfo)
        boards, fingerprint = store.boards, self.drill.fingerprint
        self.questions.ask(
            lambda: boards.leaders(fingerprint, since, MOST),
            self._show,
            lambda error: self.say(str(error)),
        )

    def _show(self, found: Sequence[Leader]) -> None:
        self.say()
        first = [one.player for one in found if one.place == 1]
        best = f"the best, by {' and '.join(first)}"
        self.query_one("#whose", LargeName).show(
            *((words.score(found[0].score), best) if found else ("", ""))
        )
        if not found:
            nobody = "Nobody yet: it takes a finished run, and “yes” on the player's screen (p)."
            self.query_one("#ranking", Static).update(nobody)
            return
        size = max(len(one.player) for one in found)
        rows = [
            f"{one.place:>3}  {one.player:<{size}}  {words.score(one.score):>5}   "
            f"{one.at.day} {one.at:%b %Y}"
            for one in found
        ]
        self.query_one("#ranking", Static).update(Content("\n".join(rows)))
