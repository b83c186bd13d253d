"""What play and result share: taking entries of one run, each on disk before it is shown."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on
from textual.binding import BindingType

from drillrunner.app.dialog import Choice, Unwritten
from drillrunner.app.keys import drawn_key, key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.screens.run_menu import NoteChoice
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.practice.looking_back.run_words import entry_words, last_words, resumed_words
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.store.errors import BrokenGame, Moved

if TYPE_CHECKING:
    from drillrunner.store.journal import Playing
    from drillrunner.store.writer import News

BAR_WORDS = {
    "enter": "again",
    "asterisk": "undo",
    "slash": "void",
    "full_stop": "menu",
    "escape": "leave",
}
"""What the keys of the bar under a result do."""


class KeepingScreen(BaseScreen, inherit_bindings=False):
    """Base of the screens of one run. A subclass shows `playing` in `refresh_from`.

    The keys of the block differ here from those of a list (`/` voids), so no binding is inherited.
    """

    of_play = True
    BINDINGS: ClassVar[list[BindingType]] = [
        key("undo", "run.undo", shown=True),
        drawn_key("slash,divide", "void", "run.void", "Void", face="/"),
        key("note", "run.note"),
        key("lost", "run.lost"),
        key("give_up", "run.give_up"),
        key("leave", "run.leave", "back", "Leave drill", shown=True),
        key("menu", "run.menu", shown=True),
    ]

    def __init__(self, playing: Playing) -> None:
        super().__init__()
        self.playing = playing
        self.last = ""
        """The latest entry in words."""
        self.unwritten: tuple[Entry, ...] = ()
        """Entries that wait for the disk, in the order typed."""
        self._before = playing.run
        """The run before the first of them: the writer's thread may be ahead of what it told."""

    def refresh_from(self, playing: Playing) -> None:
        """Show the run as it stands. The one place that draws it."""
        raise NotImplementedError

    def takes_up(self, playing: Playing) -> None:
        self.playing = playing

    def kept(self) -> None:
        """An entry is on disk, and `playing.run` holds it."""
        self.redraw()

    def redraw(self) -> None:
        """Show the run as it stands."""
        self.refresh_from(self.playing)

    @property
    def in_sight(self) -> bool:
        """Whether the screen is there, if under another: one that is going has no more to show."""
        return self in self.drillrunner.screen_stack

    @property
    def ahead(self) -> Run:
        """The run as it will stand once all that was typed is on disk: what is typed next is read
        against that, and shown is only what is there.
        """
        run = self._before if self.unwritten else self.playing.run
        for entry in self.unwritten:
            # What can't be taken, or a game that raises, is told of when it is written.
            with suppress(Exception):
                run = run.add(entry)
        return run

    def write(self, entry: Entry, at: datetime) -> Any:
        """Write one entry, on the writer's thread; what `took` is given. As `Playing.append`.

        at: when it was typed.
        """
        before = self.playing.run
        return before, self.playing.append(entry, at=at)

    def took(self, written: Any) -> str:
        """An entry is on disk: what it says."""
        before, self._before = written
        return last_words(before, self._before)

    def keep(self, entry: Entry) -> None:
        """Take one entry: written first, in the order typed, and shown after."""
        run = self.ahead
        said = entry_words(entry, run.game.unit, run.between, None if run.over else run.ask.aim)
        records = self.drillrunner.records
        waits, at = bool(self.unwritten) or records.store is None, self.drillrunner.clock()
        if not self.unwritten:
            self._before = self.playing.run
        self.unwritten = (*self.unwritten, entry)
        records.write(said, lambda: self.write(entry, at), self._became)
        if waits:
            # What the key itself had to say took the place of that.
            self.say(self._still())

    def _became(self, news: News) -> None:
        """What became of an entry."""
        if news.outcome == "waiting":
            self._waits(news)
            return
        if news.outcome == "dropped" and not self.unwritten:
            return  # it waited behind one of this run, which said so
        self.unwritten = () if news.dropped else self.unwritten[1:]
        if news.outcome == "kept":
            self.last = self.took(news.value)
            if self.in_sight:
                self.say(self._still())
                self.kept()
            return
        if self.in_sight:
            self._refused(news)

    def _still(self) -> str:
        state = self.drillrunner.records.unwritten
        return "" if state.kept else str(state)

    def waits(self) -> None:
        if self.unwritten:
            self.say(self._still())

    def _waits(self, news: News) -> None:
        """The disk does not take it yet: say so, and go on taking what is typed."""
        if not self.in_sight:
            return
        self.say(self._still())
        if isinstance(news.error, Moved):
            self.file_moved(str(news.error))

    def _refused(self, news: News) -> None:
        error, after = news.error, sum(bool(words) for words in news.dropped)
        more = f", nor the {after} typed after it" if after else ""
        if isinstance(error, BrokenGame):
            self.report_fault(error)
        elif isinstance(error, Refused):
            self.say(str(error))
        else:
            self.last = resumed_words(self.playing.run)
            self.turned_back()
            self.redraw()
            why = f": {error}" if error is not None else ""
            self.say(f"{news.words} was NOT kept{more}{why}")

    def turned_back(self) -> None:
        """The run may be another than it was: it was played elsewhere, or not written."""

    @property
    def known(self) -> str:
        """What of what was typed here is known, in words."""
        return f"this run, {so_many(len(self.playing.run.entries) + len(self.unwritten))}"

    def file_moved(self, why: str) -> bool:
        self.drillrunner.records.file_moved(why, self.known, self.write_anew)
        return True

    def write_anew(self) -> None:
        """Write this run, as it is known to be on disk, to the file that lies there now.

        Raises StoreError.
        """
        store = self.drillrunner.records.store
        assert store is not None
        store.write_anew(self.playing)

    def report_fault(self, broken: BrokenGame) -> None:
        """Say that the game itself failed, and where; the run is left once that is read."""
        place = broken.file if broken.line is None else f"{broken.file}, line {broken.line}"
        self.app.push_screen(
            Choice(
                "The game has a fault",
                (),
                f"{place}\n{broken.reason}\n\nThe run has ended as broken; its entries are kept.",
                back="leave the drill",
            ),
            lambda _: self.action_back(),
        )

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        run = self.playing.run
        if action == "lost":
            return not run.over and run.ask.lost_counts is not None
        return not run.over if action == "give_up" else True

    def action_undo(self) -> None:
        """Take the latest entry back."""
        self.keep(Entry(Kind.UNDO, "*"))

    def action_void(self) -> None:
        """The latest ball does not count: cracked, or someone walked past."""
        self.keep(Entry(Kind.VOID, "/"))

    def action_lost(self) -> None:
        """Lost, side not seen: it counts the most that one ball can."""
        self.keep(keypad.read("lost", self.playing.run.ask))

    def action_give_up(self) -> None:
        """End the run here: kept, but no best."""
        self.keep(Entry(Kind.GIVE_UP))

    def action_note(self) -> None:
        """Keep a note with the run."""

        def answered(text: str | None) -> None:
            if text:
                self.keep(Entry(Kind.NOTE, text))

        self.app.push_screen(NoteChoice(), answered)

    def action_back(self) -> None:
        """Nothing is lost: an open run stays open."""
        state = self.drillrunner.records.unwritten
        if self.unwritten and not state.kept:
            self.app.push_screen(Unwritten(state), self._left_behind)
        else:
            self.left()

    def _left_behind(self, choice: str | None) -> None:
        if choice == "leave":
            self.drillrunner.records.give_up_unwritten()
            self.left()

    def left(self) -> None:
        """Go back to where the run was opened from."""
        self.drillrunner.instead_of_play()
        self.drillrunner.records.refresh()


class OverScreen(KeepingScreen):
    """Base of the screens of what is over: a key that was meant for a ball is answered in words."""

    @property
    def over(self) -> str:
        """That it is over, and what can be done."""
        raise NotImplementedError

    def on_key(self, event: events.Key) -> None:
        if event.key in self.active_bindings or keypad.is_modifier(event.key):
            return
        if keypad.belongs(event.key, event.character):
            event.stop()
            self.hint(self.over)

    @on(Keypad.Pressed)
    async def _clicked(self, event: Keypad.Pressed) -> None:
        event.stop()
        await self.run_action(self.active_bindings[event.key].binding.action)


def so_many(count: int) -> str:
    """So many of them."""
    return "1 entry" if count == 1 else f"{count} entries"
