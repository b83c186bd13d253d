"""The clubs of a player: what they are called, the usual carry, retired or not."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import BindingType

from drillrunner.app import doors
from drillrunner.app.dialog import Choice
from drillrunner.app.fields import bad_carry, bad_name, carry_of
from drillrunner.app.keys import key
from drillrunner.app.screens.form import AskItem, FormScreen, Item
from drillrunner.rules.units import text as number

if TYPE_CHECKING:
    from drillrunner.store.shapes import ClubInfo, PlayerInfo
    from drillrunner.store.store import Store


class ClubsScreen(FormScreen):
    """The clubs of the player of now; each change is kept at once."""

    topic = "clubs"
    turns = False
    TITLE = "Clubs"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "clubs.add", "add", "Add", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.clubs: tuple[ClubInfo, ...] = ()

    @property
    def player(self) -> PlayerInfo:
        """The player of now."""
        player = self.drillrunner.player
        assert player is not None
        return player

    def read(self, store: Store) -> None:
        self.clubs = store.clubs(self.player.id)
        self.show()

    def items(self) -> list[Item]:
        # Nothing until they have been read, so that the cursor begins on the first.
        add = [Item("+new", "+ add a club", act=self.action_add)] if self.clubs else []
        return [*map(self._item, self.clubs), *add]

    def _item(self, club: ClubInfo) -> Item:
        return Item(club.id, club.label, self._carry(club), act=lambda: self._opened(club))

    def _carry(self, club: ClubInfo) -> str:
        carry = "-" if club.usual_carry is None else f"{number(club.usual_carry)} {club.unit}"
        return f"retired · {carry}" if club.retired else carry

    def _opened(self, club: ClubInfo) -> None:
        def answered(choice: str | None) -> None:
            if choice == "label":
                self._ask_label(club)
            elif choice == "carry":
                self._ask_carry(club)
            elif choice == "retired":
                self._change(club.id, retired=not club.retired)
            elif choice == "pattern":
                self.drillrunner.open(doors.Pattern(club.id))

        bag = ("bring back", "into the bag again") if club.retired else ("retire", "out of the bag")
        self.app.push_screen(
            Choice(
                club.label,
                (
                    ("carry", "usual carry", self._carry(club)),
                    ("label", "name it", "what it is called on the screens"),
                    ("pattern", "shot pattern", "where your shots with it finish"),
                    ("retired", bag[0], f"{bag[1]}; its shots are kept"),
                ),
            ),
            answered,
        )

    def _ask_label(self, club: ClubInfo) -> None:
        def take(text: str) -> None:
            self._change(club.id, label=text)

        self.ask(AskItem("Name of the club", club.label, take, bad_name))

    def _ask_carry(self, club: ClubInfo) -> None:
        def take(text: str) -> None:
            self._change(club.id, usual_carry=carry_of(text))

        current = "" if club.usual_carry is None else number(club.usual_carry)
        title = f"Usual carry of the {club.label}, {self.player.unit}"
        self.ask(AskItem(title, current, take, bad_carry))

    def action_add(self) -> None:
        """Add a club of your own."""

        def take(text: str) -> None:
            self._keep(lambda store: store.add_club(self.player.id, identifier(text), text))

        self.ask(AskItem("Name of the club", "", take, self._bad_new))

    def _bad_new(self, text: str) -> str | None:
        if identifier(text) in {club.id for club in self.clubs}:
            return f"{text} is here already: expected another name"
        return bad_name(text)

    def _change(self, club: str, **fields: Any) -> None:
        self._keep(lambda store: store.change_club(self.player.id, club, **fields))

    def _keep(self, change: Callable[[Store], object]) -> None:
        def keep(store: Store) -> None:
            change(store)
            self.read(store)
            self.say("kept")

        self.drillrunner.records.with_store(keep)


def identifier(label: str) -> str:
    """The id of a club of one's own, from its name."""
    return re.sub(r"[^a-z0-9]+", "-", label.lower()).strip("-") or "club"
