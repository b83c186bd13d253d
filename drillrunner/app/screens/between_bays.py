"""A match between bays before it begins: its number, large, and who has joined."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app import bays, doors
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.board import AWAY, LargeName
from drillrunner.practice.matches.match import FEWEST_PLAYERS

if TYPE_CHECKING:
    from drillrunner.app.bays import Lookout, Stand
    from drillrunner.store.store import Store


class BetweenBaysScreen(HasQuestions, BaseScreen):
    """number: of the gathering."""

    topic = "between_bays"
    of_play = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go do", "between_bays.start", "start", "Start", shown=True),
    ]

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number
        self.title = "Match between bays"
        self.stand: Stand | None = None
        self._watch: Lookout | None = None
        self._gone_on = False
        """Whether the match was opened, since this screen was come to."""

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield LargeName(id="whose")
        yield Static("", id="ranking", markup=False)

    def on_mount(self) -> None:
        self.set_interval(bays.FOLLOWED, self._look)

    def read(self, store: Store) -> None:
        if self._watch is None and self.drillrunner.player is not None:
            self._watch = bays.Lookout(store, self.number, self.drillrunner.player.id)
        self._gone_on = False
        self._look()

    def _look(self) -> None:
        watch = self._watch
        if watch is not None and self.is_current and self.questions.settled:
            here = self.drillrunner.in_sight
            self.questions.ask(
                lambda: watch.look(here), self._show, lambda error: self.say(str(error))
            )

    @property
    def opened_here(self) -> bool:
        """Whether who plays here opened it, and so starts it."""
        me, stand = self.drillrunner.player, self.stand
        return stand is not None and me is not None and stand.gathering.players[0].id == me.id

    def _show(self, stand: Stand) -> None:
        before, self.stand = self.stand, stand
        found = stand.gathering
        if found.match is not None:
            if self.is_current and not self._gone_on:
                self._gone_on = True
                self.drillrunner.open(doors.OpenMatch(found.match))
            return
        if stand == before:
            return
        if before is not None and len(before.gathering.players) != len(found.players):
            self.say()  # it was said of those who were here before
        title, count = found.data.get("title", ""), len(found.players)
        self.title = f"Between bays · {title}"
        waits = "5 starts it" if self.opened_here else f"{found.players[0].name} starts it"
        more = waits if count >= FEWEST_PLAYERS else "others join by this number: # on their screen"
        self.query_one("#progress", Static).update(f"{count} of us: {more}")
        code = found.code or "----"
        self.query_one("#whose", LargeName).show(" ".join(code), "is the number to join by")
        rows = [
            f"{at}. {one.name}" + (f"  {AWAY}" if one.id in stand.away else "")
            for at, one in enumerate(found.players, 1)
        ]
        self.query_one("#ranking", Static).update("\n".join(rows))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return self.opened_here or None if action == "start" else True

    def action_start(self) -> None:
        """Start the match with those who have joined."""
        bays.begin_gathered(self.drillrunner, self.number)

    def action_back(self) -> None:
        """Leave it before it begins; the number brings you back."""
        me = self.drillrunner.player
        if me is not None:
            self.drillrunner.records.with_store(
                lambda store: store.gatherings.leave(self.number, me.id)
            )
        super().action_back()
