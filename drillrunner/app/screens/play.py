"""Play: one run, shot by shot, by the number block, by the drawn keypad, or by both."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Container, Vertical

from drillrunner.app import doors, odds_words, words
from drillrunner.app.newest import HasQuestions
from drillrunner.app.odds_worker import Follower, Told
from drillrunner.app.screens.keeping import KeepingScreen
from drillrunner.app.screens.typing import KeypadScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.line import HidingLine, TextLine
from drillrunner.app.widgets.readout import Readout
from drillrunner.app.widgets.target import TargetWidget, half_across
from drillrunner.practice.looking_back.run_words import (
    elapsed_words,
    resumed_words,
    time_played,
    to_beat,
)
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Kind, Run
from drillrunner.rules.score import Score
from drillrunner.rules.station import HOLING
from drillrunner.rules.units import spoken

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import Best
    from drillrunner.store.store import Store

CAUTION = "Stay in your bay. Look before you swing. Stop if it hurts. Range rules first."
GREEN_CAUTION = "Nobody in front or beside you? Look before you swing. Stop if it hurts."
"""One line, until the first ball; the help of the screen says all of it."""


def asked(run: Run) -> str:
    """What is to be typed now, in a few words."""
    if run.between_due:
        return f"{words.club(run.between or '').lower()}: hit it, then Enter"
    ask = run.ask
    if ask.asks == "verdict":
        return "in or out? 0 topped, lost"
    if ask.asks == "miss":
        low, high = ("left", "right") if ask.direction == "lateral" else ("short", "long")
        return f"- {low}, + {high}, then Enter"
    if ask.asks == "strokes":
        return "strokes to hole out, 1 to 9"
    if ask.asks == "leave":
        return f"{spoken(ask.measure)} left, Enter; 0 holed"
    if ask.asks == "call":
        return f"your call in {spoken(ask.unit)}, Enter"
    return f"carry in {spoken(ask.unit)}, Enter"


def being_typed(typed: str) -> str:
    """The line as it stands: a call is said, and the carry to it is waited for."""
    call, pair, flown = typed.partition(keypad.PAIR)
    return f"called {call}; flew {flown}▏" if pair else f"{typed}▏"


class PlayScreen(HasQuestions, KeypadScreen, KeepingScreen):
    """playing: the run. best: what there is to beat.

    The chance and the pattern behind the target follow the run by themselves.
    """

    topic = "play"

    def __init__(self, playing: Playing, best: Best | None) -> None:
        super().__init__(playing)
        self.best = best
        self.started: datetime | None = None
        self._first = self.at_first()
        """Whether no ball has been typed yet."""
        self.set_class(self._first, "-cautious")
        self._said = ""
        self._density: tuple[float, ...] | None = None
        self._follower: Follower | None = None
        self._asked: object = None
        self._say_chance: Callable[[], object] = lambda: None
        """Says the chance again, in the words that there is room for."""
        self.title = words.entitled(playing)
        self.last = resumed_words(playing.run)

    # ---- what is shown ----

    def body(self) -> ComposeResult:
        with Container(id="bay"):
            with Vertical(id="look"):
                yield from self.look()
            with Vertical(id="hand"):
                yield TextLine(id="last")
                yield TextLine(id="typed")
                yield Keypad(id="keypad")

    def look(self) -> ComposeResult:
        """What is looked at between two balls."""
        yield Readout()
        yield TextLine(id="beat")
        yield HidingLine(id="chance")
        yield TextLine(id="brief")
        yield TargetWidget(id="target")

    def on_mount(self) -> None:
        self.set_interval(1, self._tick)
        self.typed = self.drillrunner.runs.half_typed.pop(self._whose, "")
        self.redraw()
        if self.typed:
            self.say("as you left it; Backspace takes it back")

    @property
    def _whose(self) -> tuple[str, str]:
        return self.playing.player.id, self.playing.drill.fingerprint

    def left(self) -> None:
        # A call that was said and not yet looked for is no ball yet, and is kept all the same.
        if self.typed:
            self.drillrunner.runs.half_typed[self._whose] = self.typed
        super().left()

    def takes_up(self, playing: Playing) -> None:
        super().takes_up(playing)
        self.best = playing.best_before

    def read(self, store: Store) -> None:
        # The result screen may have reopened the run, or another start may have played it.
        if self.started is None and self.playing.begun:
            now = self.drillrunner.clock()
            times = [entry.at for entry in store.entries(self.playing.id)]
            self.started = now - time_played(times, now)
        self.last = resumed_words(self.playing.run)
        if self.is_mounted:
            self.redraw()

    def refresh_from(self, playing: Playing) -> None:
        run = playing.run
        self.title = words.entitled(playing)
        game = run.game
        self.query_one(Readout).show(run.now.readout, run.opening.readout)
        best = self.best.score if self.best is not None else None
        self.query_one("#beat", TextLine).show(to_beat(game.better, best, run.score))
        self.query_one(TargetWidget).show(run.ask, run.balls, self._density)
        self.query_one("#last", TextLine).show(f"last: {self.last}" if self.last else "")
        self._first = self.at_first()
        self.set_class(self._first, "-cautious")
        self.query_one("#brief", TextLine).show(words.brief(playing.drill) if self._first else "")
        cautious = self._said in (CAUTION, GREEN_CAUTION)
        if (not self._first and cautious) or (self._first and not self._said):
            self.say()
        self._draw_hand()
        self._tick()
        self._ask_chance(run)

    def _ask_chance(self, run: Run) -> None:
        """Ask the odds of the run as it stands; what they said of an earlier one goes with that."""
        store, beat = (
            self.drillrunner.records.store,
            self.best.score if self.best is not None else None,
        )
        asked = (run.state, run.balls, beat)
        if store is None or run.over or asked == self._asked:
            return
        if self._asked is None:
            self._weighs()
        self._asked = asked
        follower = self._follower = self._follower or Follower(store, self.playing)
        self.questions.ask(
            lambda: follower.tell(run, beat, half_across(run.ask, run.balls)),
            lambda told: self._told(told, beat),
            self._no_odds,
            self._weighs,
        )

    def refit(self) -> None:
        self._say_chance()

    def _weighs(self) -> None:
        self._say_chance = self._weighs
        self.show_chance(odds_words.WAITING + ("\n" if self._roomy else ""), self._density)

    def _told(self, told: Told, beat: Score) -> None:
        self._say_chance = partial(self._told, told, beat)
        variants = odds_words.chance_variants(told, beat, self._roomy)
        room = self.query_one("#look").content_size.width
        self.show_chance(odds_words.fitting(variants, room), told.density)

    def _no_odds(self, error: Exception) -> None:
        self._say_chance = partial(self.show_chance, f"no odds: {error}", None)
        self._say_chance()

    @property
    def _roomy(self) -> bool:
        """Whether there is room for a second line on the chance."""
        return not {"-narrow", "-tiny"} & self.classes or self.has_class("-tall")

    def _draw_hand(self) -> None:
        """The typed line and the words on the keys."""
        run = self.playing.run
        due = words.club(run.between or "").lower() if run.between_due else None
        line = self.query_one("#typed", TextLine)
        line.show(being_typed(self.typed) if self.typed else asked(run))
        line.set_class(bool(self.typed), "-typing")
        line.set_class(due is not None, "-due")
        self.query_one(Keypad).asking(run.ask, due)

    def _tick(self) -> None:
        passed = "00:00"
        if self.started is not None:
            passed = elapsed_words(self.drillrunner.clock() - self.started)
        self.query_one(Readout).show_elapsed(f"time {passed}")

    def show_chance(self, line: str, density: Sequence[float] | None) -> None:
        """The chance, and the pattern behind the target (see `target.draw`)."""
        self.query_one("#chance", HidingLine).show(line)
        shown = None if density is None else tuple(density)
        if shown != self._density:
            self._density = shown
            run = self.playing.run
            self.query_one(TargetWidget).show(run.ask, run.balls, shown)

    # ---- what is typed ----

    def press(self, key: str, character: str | None) -> None:
        if keypad.is_modifier(key):
            return
        run = self.ahead
        pressed = keypad.press(self.typed, key, character, run.ask, run.between_due)
        self.typed = pressed.typed
        (self.hint if pressed.say and not self.typed else self.say)(pressed.say or "")
        if pressed.submit is not None:
            self._submit(pressed.submit)
        elif pressed.command == "menu":
            self.action_menu()
        elif pressed.command is not None:
            self.keep(Entry(Kind(pressed.command), character or ""))
        else:
            self._draw_hand()

    def _submit(self, text: str) -> None:
        """Take a typed text. One that is refused stays in the line, to be corrected."""
        if (entry := self.entry(text, self.ahead.ask)) is not None:
            self.keep(entry)
        self._draw_hand()

    def first_help(self) -> str:
        return f"{words.brief(self.playing.drill)}\n\n{words.counting(self.playing.run.ask)}"

    def at_first(self) -> bool:
        """Whether no ball has been typed yet."""
        return not any(entry.kind is Kind.SHOT for entry in self.playing.run.entries)

    def say(self, text: str = "") -> None:
        """Say one line; else what waits for the disk, or until the first ball the caution."""
        green = self.playing.run.ask.asks in HOLING
        waits = self._still() if self.unwritten else ""
        caution = (GREEN_CAUTION if green else CAUTION) if self._first else ""
        self._said = text or waits or caution
        super().say(self._said)

    def kept(self) -> None:
        if self.started is None:
            self.started = self.drillrunner.clock()
        self.redraw()
        if self.typed:
            self.say(f"the ball in between counts; Enter takes {self.typed}")
        if self.playing.run.over:
            self.show_result()

    def show_result(self) -> None:
        """Show what the run came to."""
        self.drillrunner.open(doors.Result(self.playing))
