"""Tuning: where a drill's dial stands for the chance that the player wants."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.widgets import Static

from drillrunner.app import odds_words, words
from drillrunner.app.fields import bad_score, score_of
from drillrunner.app.newest import HasQuestions
from drillrunner.app.odds_worker import fit_dial
from drillrunner.app.screens.form import AskItem, FormScreen, Item
from drillrunner.odds.words import share, surely
from drillrunner.rules.score import Score
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.app.odds_worker import DialFit
    from drillrunner.catalogue.drill import Drill
    from drillrunner.odds.tune import Tuned
    from drillrunner.store.store import Store

STEP = 5
"""Per cent by which 4 and 6 turn the wanted chance."""
LEAST, MOST = 5, 95
EVEN = 50


class TuningScreen(HasQuestions, FormScreen):
    """drill: in the unit of the player of now, with a setting that makes it easier or harder."""

    topic = "tuning"

    def __init__(self, drill: Drill) -> None:
        super().__init__()
        self.drill = drill
        self.title = f"How hard · {drill.title}"
        self.wanted = EVEN
        self.beat: Score = None
        self.best: Score = None
        self.fit: DialFit | None = None
        self.known: dict[Score, dict[int, Tuned]] = {}
        """What each step of the dial makes of a score to beat, for the shots that were read."""
        self.trouble = ""

    def above(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        best = None if player is None else store.best(player.id, self.drill.fingerprint)
        self.best = None if best is None else best.score
        self.beat = self.best if self.beat is None else self.beat
        self.known = {}
        self._ask_odds(store)

    def _ask_odds(self, store: Store) -> None:
        player, drill, beat = self.drillrunner.player, self.drill, self.beat
        self.fit, self.trouble = None, ""
        self.show()
        if player is None:
            return
        wanted, known = self.wanted / 100, self.known
        self.questions.ask(
            lambda: fit_dial(store, player, drill, beat, wanted, known),
            self._found,
            self._not_found,
        )

    def _found(self, found: DialFit) -> None:
        self.fit, self.beat = found, found.beat
        self.show()

    def _not_found(self, error: Exception) -> None:
        self.trouble = str(error)
        self.show()

    def show(self) -> None:
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
        super().show()

    def items(self) -> list[Item]:
        beat = "" if self.beat is None else text(self.beat)
        return [
            Item("wanted", "Chance wanted", f"{self.wanted} %", "4 and 6 turn it", turn=self._want),
            Item(
                "beat",
                "Score to beat",
                beat or odds_words.WAITING,
                "your best" if self.beat == self.best else "Enter types another",
                turn=self._turn_beat,
                ask=AskItem(
                    "Score to beat", beat, lambda typed: self._beat(score_of(typed)), bad_score
                ),
            ),
            self._play_item(),
        ]

    def _play_item(self) -> Item:
        found = self.fit
        if found is None:
            return Item("play", odds_words.WAITING if not self.trouble else "-", off=True)
        odds = found.tuned.chance
        if odds.chance == 0.0:
            about = "a lower score to beat may"
            return Item("play", "However easy, it has no chance", about=about, off=True)
        return Item(
            "play",
            f"Play it {words.dialled(found.tuned.dial, found.tuned.value)}",
            f"{share(odds.chance)} to beat {text(found.beat)}",
            f"{surely(odds.chance, odds.sure)} at 8 in 10; another setting is its own record",
            "" if odds.exact else "an estimate",
            act=lambda: self.drillrunner.runs.play(found.tuned.drill),
        )

    def _want(self, by: int) -> None:
        self.wanted = min(max(self.wanted + by * STEP, LEAST), MOST)
        self.drillrunner.records.with_store(self._ask_odds)

    def _turn_beat(self, by: int) -> None:
        if self.beat is not None:
            self._beat(max(Decimal(self.beat) + by, Decimal(0)))

    def _take_beat(self, typed: str) -> None:
        self._beat(score_of(typed))

    def _beat(self, score: Decimal) -> None:
        self.beat = score
        self.drillrunner.records.with_store(self._ask_odds)
