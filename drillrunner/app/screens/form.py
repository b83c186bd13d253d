"""A form: rows with a label, a value and a word on it, turned, typed or opened by the block."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from drillrunner.app.dialog import Choice, Question
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import BlockList, ListRow, heading

T = TypeVar("T")


def taken(text: str) -> None:
    """The check of a text that can always be taken."""


@dataclass(frozen=True)
class AskItem:
    """A text to type. check: why it can't be taken, or `None`. take: given what was typed anew."""

    title: str
    now: str
    take: Callable[[str], object]
    check: Callable[[str], str | None] = taken
    about: str = ""


@dataclass(frozen=True)
class Item:
    """A row of a form. `turn` is called with 1 or -1 (6 and 4), `ask` or `act` by Enter.

    With neither of the last two Enter turns it. off: it can be read, and not chosen. narrow: what
    stands under it where there is no room for `about`. An item without an id is a heading.
    """

    id: str
    label: str
    value: str = ""
    about: str = ""
    value_about: str = ""
    turn: Callable[[int], object] | None = None
    ask: AskItem | None = None
    act: Callable[[], object] | None = None
    off: bool = False
    narrow: str = ""

    @property
    def option(self) -> Option:
        """The item as a row of a list."""
        if not self.id:
            return heading(self.label)
        value = f"◀ {self.value} ▶" if self.turn and not self.ask else self.value
        row = ListRow(self.label, value, self.about, self.value_about, narrow=self.narrow)
        return Option(row, id=self.id, disabled=self.off)


def turned(values: Sequence[T], now: object, by: int) -> T:
    """The value `by` places on from `now`, round and round; the first for a stranger."""
    at = next((place for place, value in enumerate(values) if value == now), None)
    return values[0] if at is None else values[(at + by) % len(values)]


class FormScreen(ListScreen):
    """A subclass gives `items`; `show` draws them anew and stays on the row.

    `above` and `below` are the widgets over and under the rows. turns: some row can be turned.
    starts_on: the id of the row that the cursor is on at first, if it is not the first one.
    """

    turns: ClassVar[bool] = True
    starts_on: str | None = None

    BINDINGS: ClassVar[list[BindingType]] = [
        key("next", "form.turn", "turn(1)", shown=True, tip="The next value of this row"),
        key("previous", "form.turn_back", "turn(-1)", tip="The value before, in this row"),
    ]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "turn" and not self.turns:
            return False
        return super().check_action(action, parameters)

    @abstractmethod
    def items(self) -> Sequence[Item]:
        """The rows as they stand."""

    def above(self) -> ComposeResult:
        """What stands over the rows."""
        yield from ()

    def below(self) -> ComposeResult:
        """What stands under the rows."""
        yield from ()

    def body(self) -> ComposeResult:
        yield from self.above()
        yield BlockList(id="form-rows")
        yield from self.below()

    def on_mount(self) -> None:
        self.show()

    def show(self) -> None:
        """Draw the rows as they stand now."""
        keep = None if self.under else self.starts_on
        self.block.fill([item.option for item in self.items()], keep)

    def unsaved(self) -> Callable[[], None] | None:
        """What saves all that was changed here, if something was and is not saved by itself."""
        return None

    def action_back(self) -> None:
        """Go back; nothing is lost: what is not saved is asked about."""
        save = self.unsaved()
        if save is None:
            super().action_back()
            return

        def answered(choice: str | None) -> None:
            if choice == "save":
                save()
            elif choice == "leave":
                self.app.pop_screen()

        rows = [("save", "Save it", ""), ("leave", "Leave without", "what was changed is dropped")]
        self.app.push_screen(Choice("Not saved yet", rows), answered)

    @property
    def item(self) -> Item | None:
        """The item under the cursor."""
        return next((one for one in self.items() if one.id and one.id == self.under), None)

    @on(OptionList.OptionSelected, "#form-rows")
    def _entered(self) -> None:
        item = self.item
        if item is None:
            return
        if item.ask is not None:
            self.ask(item.ask)
        elif item.act is not None:
            item.act()
        elif item.turn is not None:
            item.turn(1)

    def ask(self, ask: AskItem) -> None:
        """Ask for a text; what stands there already is no answer."""

        def answered(text: str | None) -> None:
            if text is not None and text != ask.now:
                ask.take(text)

        self.app.push_screen(Question(ask.title, ask.about, ask.now, ask.check), answered)

    def action_turn(self, by: int) -> None:
        """Turn the choice in this row."""
        item = self.item
        if item is not None and item.turn is not None:
            item.turn(by)
        else:
            self.hint("Enter changes this one")
