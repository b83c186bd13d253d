"""A round, hole by hole on the number block: each is on disk before the next is asked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical

from drillrunner.app import doors, round_words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.screens.typing import KeypadScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.line import TextLine
from drillrunner.app.widgets.readout import Readout
from drillrunner.practice.rounds.bag import bag_from_tee
from drillrunner.practice.rounds.played import PlayedRound, folded, strokes_on
from drillrunner.rules import keypad
from drillrunner.rules.card_keys import HoleLine
from drillrunner.rules.scorecard import told_hole
from drillrunner.rules.units import numbered
from drillrunner.store.errors import PlayedElsewhere

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillrunner.store.round_book import RoundFact
    from drillrunner.store.shapes import ClubInfo
    from drillrunner.store.store import Store
    from drillrunner.store.writer import News


class RoundPlayScreen(KeypadScreen, inherit_bindings=False):
    """round: its id. hole: the one that is to be corrected; else the first that is not told."""

    topic = "round_play"
    of_play = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("undo", "round.undo", "take_back", shown=True),
        key("which", "round.which", "which"),
        key("leave", "round.leave", "back", "Leave round", shown=True),
        key("menu", "round.menu", shown=True),
    ]

    def __init__(self, round: str, hole: int | None = None) -> None:
        super().__init__()
        self.round = round
        self.wanted = hole
        self.played: PlayedRound | None = None
        self.line: HoleLine | None = None
        self.last = ""
        self.writing = False
        """Whether a hole is on its way to the disk: what is typed meanwhile waits for the next."""
        self._waiting: list[tuple[str, str | None]] = []
        self._received: dict[int, int] = {}
        self._clubs: Sequence[ClubInfo] = ()

    def body(self) -> ComposeResult:
        with Container(id="bay"):
            with Vertical(id="look"):
                yield Readout()
                yield TextLine(id="beat")
                yield TextLine(id="told")
            with Vertical(id="hand"):
                yield TextLine(id="last")
                yield TextLine(id="typed")
                yield Keypad(id="keypad")

    def read(self, store: Store) -> None:
        if self.writing or (self.played is not None and self.line is not None):
            return
        from drillrunner.services.rounds import player_rounds

        player = store.player_of(store.rounds.round(self.round).player_id)
        found = player_rounds(store, player)
        one = next(one for one in found.rounds if one.info.id == self.round)
        index = one.index
        self._received = {} if one.course is None else strokes_on(one, index, found.record.options)
        self._clubs = store.clubs(player.id)
        self._take(one)
        self._begin(self.wanted or next(iter(one.missing), one.numbers[0]))

    def _take(self, one: PlayedRound) -> None:
        self.played = one
        assert one.course is not None
        self.title = f"{one.course.title}, {one.info.tee}"

    @property
    def _metres(self) -> bool:
        player = self.drillrunner.player
        return player is not None and player.unit == "m"

    def _begin(self, number: int) -> None:
        """Ask for a hole."""
        one = self.played
        assert one is not None
        assert one.course is not None
        assert one.tee is not None
        hole = one.course.holes[number - 1]
        known = one.card.holes.get(number)
        received = self._received.get(number, 0)
        self.line = HoleLine.begin(
            number,
            hole.par,
            one.info.form,
            known,
            received,
            self._metres,
            bag_from_tee(self._clubs, hole.par, one.course.yards(number, one.tee)),
        )
        self._show()

    # ---- what is shown ----

    def _show(self) -> None:
        one, line = self.played, self.line
        if one is None or line is None or one.course is None or one.tee is None:
            return
        unit = one.course.unit
        hole = one.course.holes[line.hole - 1]
        facts: dict[str, int | str] = {
            "hole": line.hole,
            "par": hole.par,
            "length": f"{round_words.length_of(one.course, line.hole, one.tee)} {unit}",
            "stroke index": hole.index,
        }
        self.query_one(Readout).show(facts, {})
        self.query_one("#beat", TextLine).show(self._so_far(one))
        labels = {club.id: club.label for club in self._clubs}
        told = round_words.told_words(line.now, unit, self._metres, labels)
        self.query_one("#told", TextLine).show(told.replace(", ", "\n"))
        self.query_one("#last", TextLine).show(self.last)
        typed = self.query_one("#typed", TextLine)
        typed.show(round_words.asked_words(line, unit, labels))
        typed.set_class(bool(line.typed), "-typing")
        pad = self.query_one(Keypad)
        pad.words = round_words.key_words(line)
        pad.idle = frozenset({"plus", "minus", "slash"} - pad.words.keys())

    def _so_far(self, one: PlayedRound) -> str:
        assert one.course is not None
        told = [number for number in one.numbers if number not in one.missing]
        if not told:
            return f"{numbered(len(one.numbers), 'hole')} to tell"
        score = sum(one.card.holes[number].score or 0 for number in told)
        over = score - sum(one.course.holes[number - 1].par for number in told)
        par = "level par" if not over else f"{over:+d}"
        return f"{score} after {numbered(len(told), 'hole')}, {par}"

    # ---- what is typed ----

    def press(self, key: str, character: str | None) -> None:
        if keypad.is_modifier(key):
            return
        if self.writing:
            self._waiting.append((key, character))
            return
        line = self.line
        if line is None:
            return
        sign = character if character and character.isprintable() else keypad.NAMES.get(key, "")
        if key in ("enter", "return", "kp_enter"):
            sign = "enter"
        elif key in ("backspace", "ctrl+h") or sign == "*":
            self.action_take_back()
            return
        elif not sign and line.at in ("tee", "result", "putts"):
            sign = keypad.UNLOCKED.get(key, "")
        if sign in (".", ",") and not line.typed:
            self.action_menu()
            return
        if not sign and key in keypad.UNLOCKED:
            self.say(f"{key} is no number: switch NumLock on to type {keypad.UNLOCKED[key]}")
            return
        self.line, why = line.press(sign or key)
        self.say(why)
        if self.line.done:
            self._keep(self.line)
        self._show()

    def action_take_back(self) -> None:
        """Take the latest answer back; at the first question of a hole, the hole before."""
        line, one = self.line, self.played
        if line is None or one is None or self.writing:
            return
        before = line.back()
        if before is not None:
            self.line = before
            self.say()
            self._show()
            return
        at = one.numbers.index(line.hole)
        if at == 0:
            self.hint("this is the first hole: there is nothing before it")
            return
        self._begin(one.numbers[at - 1])
        self.say(f"hole {one.numbers[at - 1]} again: Enter takes what was told")

    def _keep(self, line: HoleLine) -> None:
        """Write a hole; the next one is asked once it is on disk."""
        store, one = self.drillrunner.records.store, self.played
        if store is None or one is None:
            return
        self.writing = True
        told: list[RoundFact] = [("hole", told_hole(line.now))]
        if set(one.missing) <= {line.hole} and not one.card.finished:
            told.append(("finished", {}))
        at = self.drillrunner.clock()

        def write() -> PlayedRound:
            return folded(store.rounds.tell_on(one.info, told, at))

        self.drillrunner.records.write(f"hole {line.hole}", write, self._became)

    def _became(self, news: News) -> None:
        """What became of a hole."""
        if news.outcome == "waiting":
            if self.is_attached:
                self.say(str(self.drillrunner.records.unwritten))
            return
        self.writing = False
        line = self.line
        if line is None or not self.is_attached:
            return
        if news.outcome != "kept":
            why = f": {news.error}" if news.error is not None else ""
            self.line = line.before or replace(line, done=False)
            self._waiting.clear()
            if isinstance(news.error, PlayedElsewhere):
                self.drillrunner.records.with_store(self._look_again)
            self._show()
            self.say(f"{news.words} was NOT kept{why}")
            return
        corrected = line.known is not None
        self._take(news.value)
        self.last = f"hole {line.hole}: {line.now.score}"
        self.say()
        self._next(line.hole, corrected)
        waiting, self._waiting = self._waiting, []
        for typed, character in waiting:
            self.press(typed, character)

    def _look_again(self, store: Store) -> None:
        """What was typed elsewhere is known from now on."""
        self._take(folded(store.rounds.round(self.round)))

    def _next(self, hole: int, corrected: bool) -> None:
        """Ask for the next hole; a card that is whole is shown."""
        one = self.played
        assert one is not None
        if one.complete:
            self._waiting.clear()
            self.drillrunner.instead_of_play()
            self.drillrunner.open(doors.RoundCard(self.round))
            return
        after = [number for number in one.missing if number > hole]
        if corrected and not after:
            after = list(one.missing)
        self._begin(after[0] if after else one.missing[0])

    def action_which(self) -> None:
        """Go to another hole, to tell it or to correct it."""
        one = self.played
        if one is None or one.course is None or self.writing:
            return

        def answered(choice: str | None) -> None:
            if choice is not None:
                self._begin(int(choice))

        rows = [
            (str(number), f"Hole {number}", self._hole_words(one, number)) for number in one.numbers
        ]
        current = None if self.line is None else str(self.line.hole)
        self.app.push_screen(Choice("Which hole?", rows, current=current), answered)

    @staticmethod
    def _hole_words(one: PlayedRound, number: int) -> str:
        assert one.course is not None
        told = one.card.holes.get(number)
        par = one.course.holes[number - 1].par
        return f"par {par}" if told is None else f"par {par}: {told.score}"

    def action_back(self) -> None:
        """Nothing is lost: the holes that were told are kept, and the round goes on from there."""
        self.drillrunner.instead_of_play()
        self.drillrunner.records.refresh()
