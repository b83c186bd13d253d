"""The player: name, unit, hand, index, column, clubs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from drillrunner.app import doors
from drillrunner.app.fields import bad_index, bad_name, bad_pace, index_of, pace_of
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.practice.rounds.words import index_text
from drillrunner.store.stored import same_name

if TYPE_CHECKING:
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

CHOICES: dict[str, tuple[tuple[Any, str], ...]] = {
    "unit": (("yd", "yards"), ("m", "metres")),
    "hand": ((None, "not said"), ("right", "right-handed"), ("left", "left-handed")),
    "column": ((None, "not said"), ("men", "men's"), ("women", "women's")),
    "hidden": ((False, "shown"), (True, "hidden")),
    "shares": ((False, "no"), (True, "yes")),
}
"""Fields that are one of a few: value and words, in the order in which 4 and 6 turn them."""


TITLES = {"name": "Name", "index": "Handicap index", "pace": "Seconds of your routine"}


class PlayerScreen(FormScreen):
    """What is kept about the player of now; each change is kept at once."""

    topic = "player"
    TITLE = "Player"

    def __init__(self) -> None:
        super().__init__()
        self._shares = False
        self._named: dict[str, str] = {}
        """Who is here, by name as names are compared."""

    def read(self, store: Store) -> None:
        self._shares = store.boards.shares(self.shown.id)
        self._named = {same_name(one.name): one.id for one in store.players(hidden=True)}
        self.show()

    @property
    def shown(self) -> PlayerInfo:
        """The player of now."""
        player = self.drillrunner.player
        assert player is not None
        return player

    def items(self) -> list[Item]:
        player = self.shown
        index = index_text(player.index)
        pace = "" if player.pace is None else str(player.pace)
        return [
            Item("name", "Name", player.name, ask=self._asked("name", player.name, self._bad_name)),
            self._choice("unit", "Unit", "the drills are set and played in it"),
            self._choice("hand", "Hand"),
            Item(
                "index",
                "Handicap index",
                index or "not said",
                "for the first guess of where your shots finish",
                ask=self._asked("index", index, bad_index, index_of),
            ),
            self._choice(
                "column",
                "Card",
                "men's or women's: whose column of the rating manual that guess takes",
            ),
            Item(
                "pace",
                "Seconds of your routine",
                pace or "not said",
                "in a session, faster balls get a quiet word; 0 for none",
                ask=self._asked("pace", pace, bad_pace, pace_of),
            ),
            Item(
                "clubs",
                "Clubs",
                "open",
                "what they are called, usual carry, in the bag or not",
                act=lambda: self.drillrunner.open(doors.Clubs()),
            ),
            self._choice("hidden", "In the lists", "every shot is kept either way"),
            Item(
                "shares",
                "On the leaders' board",
                dict(CHOICES["shares"])[self._shares],
                "name and best scores, for everyone here to see; no takes it back at once",
                turn=lambda _: self._share(not self._shares),
            ),
        ]

    def _choice(self, field: str, label: str, about: str = "") -> Item:
        now, said = getattr(self.shown, field), dict(CHOICES[field])
        values = [value for value, _ in CHOICES[field]]
        return Item(
            field,
            label,
            said.get(now, "not said"),
            about,
            turn=lambda by: self._change(**{field: turned(values, now, by)}),
        )

    def _asked(
        self,
        field: str,
        now: str,
        check: Callable[[str], str | None],
        meaning: Callable[[str], Any] = str,
    ) -> AskItem:
        def take(text: str) -> None:
            self._change(**{field: meaning(text)})

        return AskItem(TITLES[field], now, take, check)

    def _bad_name(self, text: str) -> str | None:
        if why := bad_name(text):
            return why
        if self._named.get(same_name(text), self.shown.id) != self.shown.id:
            return f"{text} is here already: expected another name"
        return None

    def _share(self, yes: bool) -> None:
        def change(store: Store) -> None:
            store.boards.share(self.shown.id, yes)
            self._shares = yes
            self.say("kept")
            self.show()

        self.drillrunner.records.with_store(change)

    def _change(self, **fields: Any) -> None:
        def change(store: Store) -> None:
            self.drillrunner.player = store.change_player(self.shown.id, **fields)
            self.say("kept")
            self.show()

        self.drillrunner.records.with_store(change)
