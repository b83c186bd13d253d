"""First start, and adding a player: a name and, if wanted, index and card; nothing else."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.widgets import Button, Input, Label

from drillrunner.app.fields import about_of, bad_about, bad_name
from drillrunner.app.keys import key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.field import Field
from drillrunner.store.stored import LONGEST_NAME

if TYPE_CHECKING:
    from drillrunner.store.store import Store


class NewPlayerScreen(BaseScreen):
    """Asks who plays. first: nobody is known yet."""

    topic = "new_player"
    asks_who = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do", "new.start", "start", "Start", shown=True),
    ]

    def __init__(self, first: bool) -> None:
        super().__init__()
        self.title = "Who plays?"
        self.first = first

    def body(self) -> ComposeResult:
        with VerticalScroll(id="form", can_focus=False):
            yield Label("Your name")
            yield Field(id="name", max_length=LONGEST_NAME, done=self._named)
            yield Label("Handicap index and men's or women's card, if you want")
            yield Field(
                id="index",
                max_length=12,
                placeholder="as 18.4 women; may stay empty",
                done=self.action_start,
            )
            yield Button("Start", id="start", variant="primary")

    def on_mount(self) -> None:
        self.set_focus(self.query_one("#name"))

    def _named(self) -> None:
        name = self.query_one("#name", Input).value
        if not name.strip() and not self.first:
            self.action_back()
            return
        why = bad_name(name)
        self.say(why or "")
        if why is None:
            self.set_focus(self.query_one("#index"))

    @on(Button.Pressed, "#start")
    def action_start(self) -> None:
        """Keep the player and begin."""
        name, index = (self.query_one(f"#{which}", Input) for which in ("name", "index"))
        for field, check in ((name, bad_name), (index, bad_about)):
            if why := check(field.value):
                self.say(why)
                self.set_focus(field)
                return
        known, about = name.value.strip(), about_of(index.value)
        self.drillrunner.records.with_store(lambda store: self._keep(store, known, *about))

    def _keep(self, store: Store, name: str, index: Decimal | None, column: str | None) -> None:
        if store.player(name) is not None:
            self.say(f"{name} is here already: expected another name")
            self.set_focus(self.query_one("#name"))
            return
        player = store.add_player(name, index=index)
        if column is not None:
            player = store.change_player(player.id, column=column)
        self.app.pop_screen()
        self.drillrunner.people.now_plays(player)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        # On the first start there is nowhere to go back to.
        return not (action == "back" and self.first)
