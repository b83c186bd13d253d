"""The green: how likely each length is holed from a lie, and how many strokes it takes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, get_args

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from drillrunner.app import odds_words
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.odds_worker import green_portrait
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.odds.green.words import LIE_TITLES, green_lines
from drillrunner.rules.shot import NearLie

if TYPE_CHECKING:
    from drillrunner.odds.green.portrait import GreenSide
    from drillrunner.store.store import Store

LIES: tuple[NearLie, ...] = get_args(NearLie)


class GreenScreen(HasQuestions, ScrollScreen):
    """The player of now from this lie."""

    topic = "green"
    scrolled = "#lengths"
    BINDINGS: ClassVar[list[BindingType]] = [key("next previous", "green.turn", "turn", shown=True)]

    def __init__(self, lie: NearLie) -> None:
        super().__init__()
        self.lie = lie
        self.side: GreenSide | None = None

    def body(self) -> ComposeResult:
        with VerticalScroll(id="lengths", can_focus=False):
            yield Static(odds_words.WAITING, id="lengths-text", markup=False)

    def read(self, store: Store) -> None:
        player, lie = self.drillrunner.player, self.lie
        self.title = f"On the green · {LIE_TITLES[lie].lower()}"
        if player is None:
            self._say("nobody plays yet")
            return
        self.questions.ask(
            lambda: green_portrait(store, player, lie),
            self._painted,
            lambda error: self._say(f"no odds: {error}"),
        )

    def refit(self) -> None:
        self._show()

    def _painted(self, side: GreenSide) -> None:
        self.side = side
        self._show()

    def _show(self) -> None:
        if self.side is not None:
            said = green_lines(self.side, self.size.width)
            self._say("\n".join([*said, "", "4 or 6: another lie"]))

    def _say(self, said: str) -> None:
        self.query_one("#lengths-text", Static).update(said)

    def action_turn(self) -> None:
        """From another lie: green, fringe, rough, sand."""
        self.lie = LIES[(LIES.index(self.lie) + 1) % len(LIES)]
        self.side = None
        self._say(odds_words.WAITING)
        self.drillrunner.records.read(self)
