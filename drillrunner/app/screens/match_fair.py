"""A fair fight, worked out and agreed on before the match starts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import match_start, odds_words, words
from drillrunner.app.match_odds import Fitted, fit_all
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.board import CROWD
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.odds.words import band
from drillrunner.practice.matches.record import Setup
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.services.match_desk import Seat
    from drillrunner.store.store import Store


class FairScreen(HasQuestions, ListScreen):
    """seats: who plays, with the drill as written. setup: how."""

    topic = "match_fair"

    def __init__(self, seats: Sequence[Seat], setup: Setup) -> None:
        super().__init__()
        self.seats = tuple(seats)
        self.setup = setup
        self.title = f"Fair fight · {seats[0].drill.title}"
        self.fitted: Fitted | None = None
        self.trouble = ""

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield Static("", id="fitted", markup=False)
        yield BlockList(id="agree")

    def on_mount(self) -> None:
        self.block.focus()
        self._show()

    def read(self, store: Store) -> None:
        if self.fitted is None:
            self.questions.ask(lambda: fit_all(store, self.seats), self._found, self._not_found)

    def _found(self, fitted: Fitted) -> None:
        self.fitted = fitted
        self._show()

    def _not_found(self, error: Exception) -> None:
        self.trouble = f"no odds: {error}"
        self._show()

    def _show(self) -> None:
        found = self.fitted
        self.say()
        self.query_one("#progress", Static).update(self._headline())
        self.query_one("#fitted", Static).update("\n".join(self._lines()))
        rows = []
        if not self.trouble:
            even = found is None or found.fair.why is None
            name = "agreed: start so" if even else "start all the same"
            rows.append(
                Option(ListRow(name, "", "everyone plays for a record of this setting"), id="so")
            )
        # What nobody had to guess comes first where the rest is a guess.
        same = Option(ListRow("start as written", "", "the same for everyone"), id="written")
        rows.insert(0 if self._guessed else len(rows), same)
        rows.append(Option(ListRow("back", "/"), id="back"))
        self.block.fill(rows, "written" if self._guessed else "so")

    @property
    def _guessed(self) -> list[str]:
        """Who has too few shots for more than a guess."""
        if self.fitted is None:
            return []
        behind = zip(self.seats, self.fitted.behind, strict=True)
        return [seat.player.name for seat, (guess, _) in behind if guess]

    def _headline(self) -> str:
        found = self.fitted
        even = f"{100 / len(self.seats):.0f} %"
        if found is None:
            return self.trouble or f"working out who needs what for {even} each …"
        if found.fair.why is not None:
            return f"Not even: {found.fair.why}.\nThe true chances, with 80 % intervals:"
        setting = (
            words.dial(self.seats[0].drill.dial.field) if self.seats[0].drill.dial else "drill"
        )
        if self._guessed:
            names = ", ".join(self._guessed)
            return (
                f"A guess: few shots of {names} are known. Even for sure is the same drill;\n"
                f"by {setting} it would be, with 80 % intervals:"
            )
        return f"The same chance for everyone by {setting}; 80 % intervals:"

    def _lines(self) -> list[str]:
        found = self.fitted
        if found is None:
            return []
        size = max(len(seat.player.name) for seat in self.seats)
        about = "" if found.fair.exact else "~ "
        lines = []
        for at, seat in enumerate(self.seats):
            value, drill = found.fair.values[at], found.fair.drills[at]
            set_to = "as written" if value is None else f"{text(value)}{self._unit(drill.unit)}"
            chance = about + band(found.fair.chances[at])
            lines.append(f"{seat.player.name:<{size}}  {set_to:>6}  wins {chance}")
            if len(self.seats) <= CROWD:
                guess, shots = found.behind[at]
                lines.append(f"{'':<{size}}  {'':>6}  {odds_words.behind(shots, guess)}")
        if len(self.seats) > CROWD:
            counts = [count for _, count in found.behind]
            lines.append(f"from {min(counts)} to {max(counts)} shots each")
        return lines

    def _unit(self, unit: str) -> str:
        field = self.seats[0].drill.dial.field if self.seats[0].drill.dial else ""
        return f" {unit}" if field.startswith("aim.") else ""

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        if event.option_id == "back":
            self.action_back()
            return
        seats, setup = self.seats, replace(self.setup, fair=False)
        if event.option_id == "so":
            if self.fitted is None:
                self.say("still working it out; start as written does not wait for it")
                return
            fair = self.fitted.fair
            seats = tuple(
                replace(seat, drill=drill)
                for seat, drill in zip(self.seats, fair.drills, strict=True)
            )
            setup = replace(self.setup, written=fair.widest)
        self.app.pop_screen()
        self.drillrunner.records.with_store(
            lambda store: match_start.open_match(self.drillrunner, store, seats, setup)
        )
