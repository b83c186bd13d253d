"""A run in a session: play and result, with every ball counted against the bucket."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from drillrunner.app import doors
from drillrunner.app.keys import key
from drillrunner.app.screens.keeping import BAR_WORDS
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.result import ResultScreen

if TYPE_CHECKING:
    from drillrunner.app.screens.keeping import KeepingScreen as Kept
else:
    # No screen itself: Textual gives a screen the styles of its first base that is one alone.
    Kept = object


class InSession(Kept):
    """Tells the session of each entry, and when the run is left."""

    def kept(self) -> None:
        desk = self.drillrunner.sessions.desk
        if desk is not None:
            desk.book(partial(desk.ledger.entered, self.playing))
        super().kept()

    def write_anew(self) -> None:
        desk = self.drillrunner.sessions.desk
        if desk is None:
            super().write_anew()
        else:
            desk.write_anew(self.playing)

    def left(self) -> None:
        """Leave the run, and come back to the session."""
        super().left()
        if self.drillrunner.sessions.desk is not None:
            self.drillrunner.sessions.desk.left(self.playing)


class SessionPlayScreen(InSession, PlayScreen):
    """Play, in a session."""

    def show_result(self) -> None:
        self.drillrunner.open(doors.ResultInSession(self.playing))


class SessionResultScreen(InSession, ResultScreen):
    """Result, in a session: Enter goes back to it."""

    bar_words: ClassVar[dict[str, str]] = {**BAR_WORDS, "enter": "go on"}
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do", "session.go_on", "to_session", "Go on", shown=True),
    ]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        # The plan says what comes next.
        return False if action == "what_next" else super().check_action(action, parameters)

    def action_to_session(self) -> None:
        """Back to the session: the next block, or this drill once more."""
        self.action_back()
