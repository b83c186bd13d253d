"""Before a match: who plays, in which order, and how."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import match_start, words
from drillrunner.app.keys import key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow, heading
from drillrunner.practice.matches.match import FEWEST_PLAYERS, MOST_PLAYERS
from drillrunner.practice.matches.record import Newcomer, Setup

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.store import Store

PLAYER = "player:"


class MatchSetupScreen(BaseScreen):
    """drill: what the match is played on, as it is set now."""

    topic = "match_setup"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("next previous", "match_setup.turn", "turn", shown=True),
        key("go", "match_setup.start", "start", "Start", shown=True),
    ]

    def __init__(self, drill: Drill) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"Match · {drill.title}"
        self.setup = Setup(())
        self.known: tuple[str, ...] = ()

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield BlockList(id="setup")

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()
        if (player := self.drillrunner.player) is not None:
            self.setup = replace(self.setup, players=(player.name,))
        self._show()

    def read(self, store: Store) -> None:
        added = [name for name in self.setup.players if store.player(name) is None]
        self.known = (*(player.name for player in store.players()), *added)
        self._show()

    def _show(self) -> None:
        setup, players = self.setup, self.setup.players
        self.query_one("#progress", Static).update(self._said())
        rows = [
            Option(ListRow("Start the match", "", "or 5"), id="start", disabled=not self._enough),
            heading("who plays, in the order marked"),
        ]
        for name in self.known:
            at = players.index(name) + 1 if name in players else None
            mark = f"[{at}]" if at else "[ ]"
            rows.append(Option(ListRow(f"{mark} {name}", "plays" if at else ""), id=PLAYER + name))
        rows += [
            Option(ListRow("+ somebody new", ""), id="new"),
            heading("how"),
            _way("Turns", "ball by ball" if setup.turns == "ball" else "a run each", "turns"),
            _way("Order", "drawn by lot" if setup.draw else "as marked", "draw"),
            _way("Equal scores", "a decider" if setup.tie == "decider" else "shared", "tie"),
            _way(
                "Fair fight",
                "yes" if setup.fair else "no",
                "fair",
                "harder or easier, so that all have the same chance; shown first",
            ),
        ]
        self.query_one(BlockList).fill(rows)
        self.refresh_bindings()

    def _said(self) -> str:
        setting = words.setting(self.drill.setting())
        count = len(self.setup.players)
        missing = (
            "" if self._enough else f" · {FEWEST_PLAYERS} to {MOST_PLAYERS} play, Enter marks who"
        )
        return f"{setting}\n{count} play{'s' if count == 1 else ''}{missing}"

    @property
    def _enough(self) -> bool:
        return FEWEST_PLAYERS <= len(self.setup.players) <= MOST_PLAYERS

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        chosen = event.option_id or ""
        if chosen == "start":
            self.action_start()
        elif chosen == "new":
            self._ask_who()
        elif chosen.startswith(PLAYER):
            self._mark(chosen.removeprefix(PLAYER))
        else:
            self._turn(chosen)

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
        self._show()

    def _ask_who(self) -> None:
        def named(newcomer: Newcomer) -> None:
            name = newcomer.name
            if name not in self.known:
                self.known = (*self.known, name)
                self.setup = replace(self.setup, new=(*self.setup.new, newcomer))
            if name not in self.setup.players:
                self._mark(name)

        match_start.ask_who(self.drillrunner, "Who plays too?", self.known, named)

    def _turn(self, way: str) -> None:
        setup = self.setup
        turned = {
            "turns": replace(setup, turns="run" if setup.turns == "ball" else "ball"),
            "draw": replace(setup, draw=not setup.draw),
            "tie": replace(setup, tie="shared" if setup.tie == "decider" else "decider"),
            "fair": replace(setup, fair=not setup.fair),
        }
        self.setup = turned.get(way, setup)
        self._show()

    def action_turn(self) -> None:
        """The other way for this row."""
        option = self.query_one(BlockList).highlighted_option
        chosen = (option.id or "") if option is not None else ""
        if chosen.startswith(PLAYER):
            self._mark(chosen.removeprefix(PLAYER))
        else:
            self._turn(chosen)

    def action_start(self) -> None:
        """Start the match with those who are marked."""
        if self._enough:
            match_start.start(self.drillrunner, self.drill, self.setup)
        else:
            self.say(
                f"expected {FEWEST_PLAYERS} to {MOST_PLAYERS} players, "
                f"not {len(self.setup.players)}"
            )


def _way(name: str, now: str, ident: str, about: str = "") -> Option:
    return Option(ListRow(name, f"◀ {now} ▶", about), id=ident)
