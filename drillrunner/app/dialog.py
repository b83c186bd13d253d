"""Small windows over a screen: a choice from a list, and one line to type."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.command import CommandList, CommandPalette
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app.bare import BREAKPOINTS, HEIGHTS, OneSize
from drillrunner.app.keys import Keyed, key
from drillrunner.app.widgets.field import Field
from drillrunner.app.widgets.lists import PAGING, BlockList, ListRow, SteadyList, has_room

BACK = "back"


class Dialog(OneSize, Keyed, ModalScreen[str | None]):
    """Base: a framed box with a title and a text; Escape closes it with `None`."""

    HORIZONTAL_BREAKPOINTS = BREAKPOINTS
    VERTICAL_BREAKPOINTS = HEIGHTS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("back leave", "dialog.back", "back", shown=True),
        key("help", "dialog.help", shown=True),
    ]
    topic: ClassVar[str] = "dialog"

    def __init__(self, title: str, text: str = "") -> None:
        super().__init__()
        self.title = title
        self.text = text

    def compose(self) -> ComposeResult:
        gate = getattr(self.app, "gate", None)
        self.set_class(gate is not None and gate.held, "-alone")
        with Vertical(id="dialog"):
            yield Static(self.title or "", id="dialog-title", markup=False)
            if self.text:
                yield Static(self.text, id="dialog-text", markup=False)
            yield from self.body()

    def body(self) -> ComposeResult:
        """What stands under the text."""
        yield from ()

    def action_back(self) -> None:
        """Close this and change nothing."""
        self.dismiss(None)

    async def action_help(self) -> None:
        """What this asks, and every key."""
        await self.app.run_action("app.help")


class Choice(Dialog):
    """One of a few: the answer is the id of the chosen row, or `None`.

    choices: id, name, and a line of what it does. current: the id under the cursor at first.
    arrows: no digit moves or answers, since one that is typed is meant for a ball.
    keys: what does the same without the list, by id; it stands at the edge of its row.
    """

    def __init__(
        self,
        title: str,
        choices: Sequence[tuple[str, str, str]],
        text: str = "",
        current: str | None = None,
        back: str = "back",
        keys: Mapping[str, str] | None = None,
        arrows: bool = False,
    ) -> None:
        super().__init__(title, text)
        self.arrows = arrows
        self.choices = tuple(choices)
        self.current = current
        self.back = back
        self.keys = keys or {}

    def body(self) -> ComposeResult:
        rows = [
            Option(ListRow(name, self.keys.get(ident, ""), tip), id=ident)
            for ident, name, tip in self.choices
        ]
        back = Option(ListRow(self.back, "/"), id=BACK)
        kind = SteadyList if self.arrows else BlockList
        yield kind(*rows, back, id="choices")

    def on_mount(self) -> None:
        rows = self.query_one(OptionList)
        rows.focus()
        if self.current is not None:
            rows.highlighted = rows.get_option_index(self.current)

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(None if event.option_id == BACK else event.option_id)


class Palette(OneSize, CommandPalette):
    """Textual's own; its list is not paged through where it has no room."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "command_list" and parameters and parameters[0] in PAGING:
            return all(has_room(rows) for rows in self.query(CommandList))
        return super().check_action(action, parameters)


class Unwritten(Choice):
    """Asks before what still waits for the disk is left behind: `leave`, else it is waited for."""

    def __init__(self, waiting: object) -> None:
        super().__init__(
            "Not on disk yet",
            (
                ("wait", "wait", "what was typed is tried again and again"),
                ("leave", "leave it behind", "what is not on disk is lost"),
            ),
            f"{waiting}.",
            arrows=True,
        )


class Question(Dialog):
    """One line to type. `check` gives the reason why a text can't be taken, or `None`.

    hidden: shows a dot for each character.
    """

    topic = "question"

    def __init__(
        self,
        title: str,
        text: str = "",
        value: str = "",
        check: Callable[[str], str | None] = lambda text: None,
        hidden: bool = False,
    ) -> None:
        super().__init__(title, text)
        self.value = value
        self.hidden = hidden
        self.check = check

    def body(self) -> ComposeResult:
        yield Field(self.value, id="answer", done=self._take, hidden=self.hidden)
        yield Static("", id="dialog-say", markup=False)
        with Horizontal(id="dialog-buttons"):
            yield Button("Take it", id="take", variant="primary")
            yield Button("Back", id="back")

    def on_mount(self) -> None:
        self.query_one(Input).focus()

    @on(Button.Pressed, "#take")
    def _take(self) -> None:
        answer = self.query_one(Input).value.strip()
        if why := self.check(answer):
            self.query_one("#dialog-say", Static).update(why)
            self.query_one(Input).focus()
            return
        self.dismiss(answer)

    @on(Button.Pressed, "#back")
    def _leave(self) -> None:
        self.dismiss(None)
