"""The player: name, unit, hand, index, column, clubs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from drillrunner.app import doors
from drillrunner.app.dialog import Question
from drillrunner.app.fields import bad_index, bad_name, bad_pace, index_of, index_text, pace_of
from drillrunner.app.keys import key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow

if TYPE_CHECKING:
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

CHOICES: dict[str, tuple[tuple[Any, str], ...]] = {
    "unit": (("yd", "yards"), ("m", "metres")),
    "hand": ((None, "not said"), ("right", "right-handed"), ("left", "left-handed")),
    "column": ((None, "both"), ("men", "men's"), ("women", "women's")),
    "hidden": ((False, "shown"), (True, "hidden")),
}
"""Fields that are one of a few: value and words, in the order in which 4 and 6 turn them."""


class PlayerScreen(BaseScreen):
    """What is kept about the player of now; each change is kept at once."""

    topic = "player"
    TITLE = "Player"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "next",
            "player.turn",
            "turn(1)",
            shown=True,
            tip="Turn the choice in this row to the next one",
        ),
        key(
            "previous",
            "player.turn_back",
            "turn(-1)",
            tip="Turn the choice in this row to the one before",
        ),
    ]

    def body(self) -> ComposeResult:
        yield BlockList(id="fields")

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()

    def read(self, store: Store) -> None:
        self._show()

    @property
    def shown(self) -> PlayerInfo:
        """The player of now."""
        player = self.drillrunner.player
        assert player is not None
        return player

    def _show(self) -> None:
        player = self.shown

        def said(field: str) -> str:
            words: dict[Any, str] = dict(CHOICES[field])
            return words.get(getattr(player, field), "not said")

        rows = {
            "name": ListRow("Name", player.name),
            "unit": ListRow("Unit", said("unit"), "the drills are set and played in it"),
            "hand": ListRow("Hand", said("hand")),
            "index": ListRow(
                "Handicap index",
                index_text(player.index) or "not said",
                "for the first guess of where your shots finish",
            ),
            "column": ListRow(
                "Accuracy table",
                said("column"),
                "whose column of the rating manual to take, for the same guess",
            ),
            "pace": ListRow(
                "Seconds of your routine",
                str(player.pace) if player.pace is not None else "not said",
                "in a session, faster balls get a quiet word; 0 for none",
            ),
            "clubs": ListRow(
                "Clubs", "open", "what they are called, usual carry, in the bag or not"
            ),
            "hidden": ListRow("In the lists", said("hidden"), "every shot is kept either way"),
        }
        self.query_one(BlockList).fill([Option(row, id=field) for field, row in rows.items()])

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        field = event.option_id
        if field == "name":
            self._ask("name", "Name", self.shown.name, self._bad_name, str)
        elif field == "index":
            current = index_text(self.shown.index)
            self._ask("index", "Handicap index", current, bad_index, index_of)
        elif field == "pace":
            current = "" if self.shown.pace is None else str(self.shown.pace)
            self._ask("pace", "Seconds of your routine", current, bad_pace, pace_of)
        elif field == "clubs":
            self.drillrunner.open(doors.Clubs())
        else:
            self.action_turn(1)

    def _bad_name(self, text: str) -> str | None:
        if why := bad_name(text):
            return why
        store = self.drillrunner.records.store
        other = store.player(text) if store is not None else None
        if other is not None and other.id != self.shown.id:
            return f"{text} is here already: expected another name"
        return None

    def _ask(
        self,
        field: str,
        title: str,
        current: str,
        check: Callable[[str], str | None],
        meaning: Callable[[str], Any],
    ) -> None:
        def answered(text: str | None) -> None:
            if text is not None and text != current:
                self._change(**{field: meaning(text)})

        self.app.push_screen(Question(title, "", current, check), answered)

    def action_turn(self, by: int) -> None:
        """Turn the choice in the highlighted row."""
        option = self.query_one(BlockList).highlighted_option
        field = option.id if option is not None else None
        if field not in CHOICES:
            self.say("Enter changes this one")
            return
        values = [value for value, _ in CHOICES[field]]
        current = getattr(self.shown, field)
        at = values.index(current) if current in values else 0
        self._change(**{field: values[(at + by) % len(values)]})

    def _change(self, **fields: Any) -> None:
        def change(store: Store) -> None:
            self.drillrunner.player = store.change_player(self.shown.id, **fields)
            self.say("kept")
            self._show()

        self.drillrunner.records.with_store(change)
