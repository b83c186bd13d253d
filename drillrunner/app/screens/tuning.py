"""Tuning: where a drill's dial stands for the chance that the player wants."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import odds_words, words
from drillrunner.app.dialog import Question
from drillrunner.app.fields import bad_score, score_of
from drillrunner.app.keys import key
from drillrunner.app.odds_worker import AsksOdds, DialFit, fit
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.odds.words import share
from drillrunner.rules.game import Score
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.store.store import Store

STEP = 5
"""Per cent by which 4 and 6 turn the wanted chance."""
LEAST, MOST = 5, 95
EVEN = 50


class TuningScreen(AsksOdds, BaseScreen):
    """drill: in the unit of the player of now, with a dial."""

    topic = "tuning"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("next", "tuning.turn", "turn(1)", shown=True, tip="More of what is in this row"),
        key("previous", "tuning.turn_back", "turn(-1)", tip="Less of what is in this row"),
    ]

    def __init__(self, drill: Drill) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"Tune · {drill.title}"
        self.wanted = EVEN
        self.beat: Score = None
        self.best: Score = None
        self.fit: DialFit | None = None
        self.trouble = ""

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        yield BlockList(id="tuning")

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        best = None if player is None else store.best(player.id, self.drill.fingerprint)
        self.best = None if best is None else best.score
        self.beat = self.best if self.beat is None else self.beat
        self._ask(store)

    def _ask(self, store: Store) -> None:
        player, drill, beat = self.drillrunner.player, self.drill, self.beat
        self.fit, self.trouble = None, ""
        self._show()
        if player is None:
            return
        wanted = self.wanted / 100
        self.odds.ask(lambda: fit(store, player, drill, beat, wanted), self._found, self._not_found)

    def _found(self, found: DialFit) -> None:
        self.fit, self.beat = found, found.beat
        self._show()

    def _not_found(self, error: Exception) -> None:
        self.trouble = str(error)
        self._show()

    def _show(self) -> None:
        found, waiting = self.fit, odds_words.WAITING
        lines = [words.setting(self.drill.setting())]
        if found is not None:
            lines.append(
                f"as it is set: {share(found.now)} to beat {text(found.beat)} · "
                f"{odds_words.behind(found.shots, found.guess)}"
            )
        else:
            lines.append(self.trouble or waiting)
        self.query_one("#progress", Static).update("\n".join(lines))
        beat = waiting if self.beat is None else text(self.beat)
        about = "your best" if self.beat == self.best else "Enter types another"
        rows = [
            Option(ListRow("Chance wanted", f"{self.wanted} %", "4 and 6 turn it"), id="wanted"),
            Option(ListRow("Score to beat", beat, about), id="beat"),
            self._play_row(),
        ]
        self.query_one(BlockList).fill(rows)

    def _play_row(self) -> Option:
        found = self.fit
        if found is None:
            return Option(ListRow("…" if not self.trouble else "-"), id="play", disabled=True)
        if found.tuned.chance.chance == 0.0:
            row = ListRow("However easy, it has no chance", "", "a lower score to beat may")
            return Option(row, id="play", disabled=True)
        chance = share(found.tuned.chance.chance)
        row = ListRow(
            f"Play it {words.dialled(found.tuned.dial, found.tuned.value)}",
            f"{chance} to beat {text(found.beat)}",
            "another setting is a record of its own; the drill itself stays as it is",
            "" if found.tuned.chance.exact else "an estimate",
        )
        return Option(row, id="play")

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        if event.option_id == "play" and self.fit is not None:
            self.drillrunner.runs.play(self.fit.tuned.drill)
        elif event.option_id == "beat":
            self._ask_score()
        else:
            self.action_turn(1)

    def _ask_score(self) -> None:
        def answered(typed: str | None) -> None:
            if typed is not None:
                self._beat(score_of(typed))

        current = "" if self.beat is None else text(self.beat)
        self.app.push_screen(Question("Score to beat", "", current, bad_score), answered)

    def _beat(self, score: Decimal) -> None:
        self.beat = score
        self.drillrunner.records.with_store(self._ask)

    def action_turn(self, by: int) -> None:
        """Turn the highlighted row."""
        option = self.query_one(BlockList).highlighted_option
        if option is not None and option.id == "wanted":
            self.wanted = min(max(self.wanted + by * STEP, LEAST), MOST)
            self.drillrunner.records.with_store(self._ask)
        elif option is not None and option.id == "beat" and self.beat is not None:
            self._beat(max(Decimal(self.beat) + by, Decimal(0)))
        else:
            self.say("Enter plays it so")
