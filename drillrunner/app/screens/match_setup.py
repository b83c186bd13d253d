"""Before a match: who plays, in which order, and how."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app import bays, match_start, words
from drillrunner.app.keys import key
from drillrunner.app.screens.form import FormScreen, Item, turned
from drillrunner.practice.matches.match import FEWEST_PLAYERS, MOST_PLAYERS
from drillrunner.practice.matches.record import Newcomer, Setup

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.store import Store

PLAYER = "player:"
WAYS: tuple[tuple[str, str, dict[object, str], str], ...] = (
    ("turns", "Turns", {"ball": "ball by ball", "run": "a run each"}, ""),
    ("draw", "Order", {False: "as marked", True: "drawn by lot"}, ""),
    ("tie", "Equal scores", {"shared": "shared", "decider": "a decider"}, ""),
    (
        "fair",
        "Fair fight",
        {False: "no", True: "yes"},
        "harder or easier, so that all have the same chance; shown first",
    ),
)
"""How a match is played: field of the setup, label, its values in words, and a word on it."""


class MatchSetupScreen(FormScreen):
    """drill: what the match is played on, as it is set now."""

    topic = "match_setup"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("go", "match_setup.start", "start", "Start", shown=True),
    ]

    def __init__(self, drill: Drill) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"Match · {drill.title}"
        self.setup = Setup(())
        self.known: tuple[str, ...] | None = None
        self.between_bays = False

    def above(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)

    def on_mount(self) -> None:
        # Where nobody else's records are read, everyone plays on a screen of their own.
        self.between_bays = self.drillrunner.records.own is not None
        if (player := self.drillrunner.player) is not None:
            self.setup = replace(self.setup, players=(player.name,))

    def read(self, store: Store) -> None:
        added = [name for name in self.setup.players if store.player(name) is None]
        self.known = (*(player.name for player in store.players()), *added)
        others = (name for name in self.known if name not in self.setup.players)
        self.starts_on = next((PLAYER + name for name in others), "new")
        self.show()

    def show(self) -> None:
        self.query_one("#progress", Static).update(self._said())
        super().show()
        self.refresh_bindings()

    def items(self) -> list[Item]:
        if self.known is None:
            # No row may move under a finger once it is known who else there is.
            return []
        enough = self._enough
        if self.between_bays:
            about = "shows the number that the others join by; or 5"
            who = [Item("start", "Open the match", "", about, act=self.action_start)]
        else:
            who = [
                Item("start", "Start the match", "", "or 5", act=self.action_start, off=not enough),
                Item("", "who plays, in the order marked"),
                *map(self._player, self.known),
                Item("new", "+ somebody new", act=self._ask_who),
            ]
        return [
            *who,
            Item("", "how"),
            Item(
                "where",
                "Where",
                "between bays" if self.between_bays else "on this screen",
                "between bays everyone types their own balls, on a screen of their own",
                turn=lambda _: self._move(),
            ),
            *(self._way(*way) for way in WAYS),
        ]

    def _move(self) -> None:
        if self.drillrunner.records.own is None:
            self.between_bays = not self.between_bays
            self.say()
            self.show()

    def _player(self, name: str) -> Item:
        players = self.setup.players
        mark, plays = (players.index(name) + 1, "plays") if name in players else (" ", "")
        return Item(PLAYER + name, f"[{mark}] {name}", plays, act=lambda: self._mark(name))

    def _way(self, field: str, label: str, ways: dict[object, str], about: str) -> Item:
        now = getattr(self.setup, field)

        def turn(by: int) -> None:
            other: Any = turned(tuple(ways), now, by)
            self.setup = replace(self.setup, **{field: other})
            self.show()

        return Item(field, label, ways[now], about, turn=turn)

    def _said(self) -> str:
        setting = words.setting(self.drill.setting())
        if self.between_bays:
            return f"{setting}\n{FEWEST_PLAYERS} to {MOST_PLAYERS} play, each in their own bay"
        count = len(self.setup.players)
        missing = (
            "" if self._enough else f" · {FEWEST_PLAYERS} to {MOST_PLAYERS} play, Enter marks who"
        )
        return f"{setting}\n{count} play{'s' if count == 1 else ''}{missing}"

    @property
    def _enough(self) -> bool:
        return self.between_bays or FEWEST_PLAYERS <= len(self.setup.players) <= MOST_PLAYERS

    def _mark(self, name: str) -> None:
        players = self.setup.players
        if name in players:
            players = tuple(other for other in players if other != name)
        elif len(players) == MOST_PLAYERS:
            self.say(f"a match takes {MOST_PLAYERS} players")
            return
        else:
            players = (*players, name)
        self.setup = replace(self.setup, players=players)
        self.say()
        self.show()

    def _ask_who(self) -> None:
        known = self.known or ()

        def named(newcomer: Newcomer) -> None:
            name = newcomer.name
            if name not in known:
                self.known = (*known, name)
                self.setup = replace(self.setup, new=(*self.setup.new, newcomer))
            if name not in self.setup.players:
                self._mark(name)

        match_start.ask_who(self.drillrunner, "Who plays too?", known, named)

    def action_start(self) -> None:
        """Start the match with those who are marked."""
        if self.between_bays:
            bays.open_one(self.drillrunner, self.drill, self.setup, self.app.pop_screen)
        elif self._enough:
            match_start.start(self.drillrunner, self.drill, self.setup)
        else:
            self.say(
                f"expected {FEWEST_PLAYERS} to {MOST_PLAYERS} players, "
                f"not {len(self.setup.players)}"
            )
