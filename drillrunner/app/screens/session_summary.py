"""What a session came to, on one screen: planned and done, scores, pace, and what comes next."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import words
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.next_up import NextLine, next_line, play_next
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.practice.sessions.session import routine_of

if TYPE_CHECKING:
    from drillrunner.practice.looking_back.what_next import NextThing
    from drillrunner.practice.sessions.summary import BlockSummary, Summary
    from drillrunner.store.store import Store

WORKING = ("working out what changed",)


class SummaryScreen(HasQuestions, ScrollScreen):
    """session: its id."""

    topic = "session_summary"
    scrolled = "#summary"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do go", "summary.done", "done", "Done", shown=True),
        key("not_me", "summary.not_me"),
        key("what_next", "summary.what_next"),
    ]

    def __init__(self, session: str) -> None:
        super().__init__()
        self.title = "What the session came to"
        self.session = session
        self.summary: Summary | None = None
        self.following: NextThing | None = None

    def action_what_next(self) -> None:
        """Play what your rounds, patterns and scores say is next."""
        self.say(play_next(self.drillrunner, self.following))

    def action_not_me(self) -> None:
        """Give the session, its runs and its carries to the player whose they were."""
        self.drillrunner.records.with_store(self._not_me)

    def _not_me(self, store: Store) -> None:
        self.drillrunner.people.not_me(
            store.session(self.session).player_id,
            lambda store, player: store.give_session(self.session, player.id),
            lambda: None,
        )

    def body(self) -> ComposeResult:
        with VerticalScroll(id="summary", can_focus=False):
            yield Static("", id="summary-text")
        yield NextLine(id="following")

    def read(self, store: Store) -> None:
        from drillrunner.services.ledger import faults_of, look_back

        if self.summary is not None:
            return
        info = store.session(self.session)
        self.drillrunner.records.left_out(faults_of(info))
        routine = routine_of(store.player_of(info.player_id).pace)
        self.summary = look_back(store, info, routine, changes=False)
        self._show(self.summary, WORKING if any(b.played for b in self.summary.blocks) else ())
        app = self.drillrunner
        catalogue, now = app.drills.catalogue, app.clock()

        def work() -> tuple[Summary, NextThing | None]:
            from drillrunner.services.what_next import first_thing

            found = look_back(store, info, routine)
            return found, first_thing(store, store.player_of(info.player_id), catalogue, now)

        self.questions.ask(
            work,
            lambda found: self._worked_out(*found),
            lambda error: self._failed(str(error)),
        )

    def _worked_out(self, summary: Summary, following: NextThing | None) -> None:
        self.summary, self.following = summary, following
        self.query_one(NextLine).show(next_line(following, "what_next"))
        self._show(summary, [change.said for change in summary.changes])

    def _failed(self, why: str) -> None:
        if self.summary is not None:
            self._show(self.summary, [f"no odds: {why}"])

    def _show(self, summary: Summary, patterns: Sequence[str]) -> None:
        heads = [
            f"{summary.minutes:.0f} of {summary.planned_minutes} min",
            f"{summary.balls} of {summary.planned_balls} balls",
        ]
        if summary.pace is not None:
            heads.append(f"{summary.pace:.0f} s a ball")
        if summary.away >= 60:
            heads.append(f"{summary.away / 60:.0f} min paused")
        when = words.when(summary.started, self.drillrunner.clock())
        width = self.size.width - 4
        parts: list[Content | str] = [
            Content.styled(" · ".join(heads), "bold"),
            f"\n{when} · {summary.ended or 'still open'}\n",
        ]
        for block in summary.blocks:
            parts.append(f"\n{_row(block, width)}")
        parts.append("\n")
        for title, lines in (
            ("GAMES", summary.games),
            ("PATTERNS", patterns),
            ("NEXT TIME", summary.next_time),
        ):
            if lines:
                parts += ["\n", Content.styled(title, "bold $primary")]
                parts += [f"\n  {line}" for line in lines]
        self.query_one("#summary-text", Static).update(Content.assemble(*parts))

    def action_done(self) -> None:
        """Leave; all of it is kept."""
        self.action_back()


def _row(block: BlockSummary, width: int) -> str:
    """One block: its name and how it stands, minutes and balls done of those planned."""
    numbers = (
        f"{block.minutes:.0f} of {block.planned_minutes} min"
        f"{f'{block.balls} of {block.planned_balls}':>10}"
    )
    if width < 60:
        numbers = (
            f"{block.minutes:.0f}/{block.planned_minutes} min {block.balls}/{block.planned_balls}"
        )
    said = f"{block.title}, {block.standing}"
    room = max(min(width, 76) - len(numbers) - 1, 8)
    first, *more = textwrap.wrap(said, room, subsequent_indent="  ")
    return "\n".join([f"{first:<{room}} {numbers}", *more])
