"""The app's records: opened in the background, asked when open, troubles told."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING, Any

from textual.message import Message

from drillrunner.app import facts
from drillrunner.app.bare import Bare, BareScreen
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import FACES
from drillrunner.store import background
from drillrunner.store.errors import StoreError
from drillrunner.store.writer import News, State, Writer

if TYPE_CHECKING:
    from drillrunner.store.aside import Errand
    from drillrunner.store.shapes import MatchInfo, RoundInfo
    from drillrunner.store.store import Store


class StoreOpened(Message):
    """The records are open."""

    def __init__(self, store: Store) -> None:
        super().__init__()
        self.store = store


class Settled(Message):
    """What became of something that was to be written."""

    def __init__(self, news: News) -> None:
        super().__init__()
        self.news = news


class Another(Choice):
    """Asks what to do when the file was moved, replaced, or has lost its log."""

    def __init__(self, why: str, known: str) -> None:
        rows = (
            ("again", "try again", "once the file is back where it was"),
            ("write", "write it to the file that is there now", known),
        )
        super().__init__("The database is another one", rows, why, arrows=True)


class StoreRefused(Message):
    """The records could not be opened; `why` is one line."""

    def __init__(self, why: str) -> None:
        super().__init__()
        self.why = why


LAST = 1.0
"""Seconds that what waits for the disk is still tried for when the app is left."""
LATE = 0.25
"""Seconds that the records may take until it is said that they are waited for."""
WAITED_FOR = "waiting for your records; Ctrl+Q leaves"

Wanted = Callable[[], bool]
"""Asked whether anybody still wants what was begun."""


class Records:
    """database: path or URL. name: who is to play, if that was said. settle: what is done first
    of all once they are open. private: nobody's are read but those of `name`.

    They are opened once the first screen stands. A screen reads in `BareScreen.read`; what a
    person asks for goes through `with_store`. The app hands `StoreOpened` and `StoreRefused` on.

    All of it is done in its order and on the screen's own thread, but for the waiting: for a
    server, another program, or the disk (see `store.aside`). Meanwhile what is typed is kept.
    """

    def __init__(
        self,
        app: Bare,
        database: str,
        name: str | None,
        settle: Callable[[Store], object],
        private: bool = False,
    ) -> None:
        self.app = app
        self.database = database
        self.own = name if private else None
        """The one whose records these are, where nobody else's are read."""
        self._bay: str | None = None
        self.store: Store | None = None
        self.facts = facts.first(database, name)
        """What is known of them without asking."""
        self.open_matches: tuple[MatchInfo, ...] = ()
        self.open_rounds: tuple[RoundInfo, ...] = ()
        self._writer = Writer(lambda news: app.post_message(Settled(news)), paused=True)
        self._to_tell: dict[int, Callable[[News], object]] = {}
        self._settle = settle
        self._opening = False
        self._turns = 0
        self._waiting: Callable[[Store], object] | None = None
        self._errand: Errand | None = None
        self._behind: deque[tuple[Callable[[], object], Wanted]] = deque()
        """What is done after it."""
        self._said_before = ""
        """What stood where it is said that they are waited for."""
        self._left = False
        self.damaged: tuple[str, ...] = ()
        """What of them was left out because it can't be read, a line each."""

    @property
    def waiting(self) -> bool:
        """Whether something asked for is still to be done, so that what is typed waits for it."""
        asked = self._opening and self._waiting is not None
        return bool(self._turns) or self.waited_for or asked

    @property
    def waited_for(self) -> bool:
        """Whether something that was begun waits for them."""
        return self._errand is not None

    def open(self) -> None:
        """Open them in the background."""
        if self.store is None and not self._opening:
            self._opening = True
            self.app.run_worker(background.done(self._open_in_thread))

    def _open_in_thread(self) -> None:
        try:
            store = self.opened_anew()
        except StoreError as error:
            self.app.post_message(StoreRefused(str(error)))
        else:
            self.app.post_message(StoreOpened(store))

    def opened_anew(self) -> Store:
        """They, opened once more. Raises StoreError."""
        from drillrunner.store.store import Store

        store = Store.open(self.database, self.app.clock, own=self.own)
        store.database.bay = self._bay
        return store

    def be_in_bay(self, name: str | None) -> None:
        """What is typed from now on belongs to a visit in this bay."""
        self._bay = name
        if self.store is not None:
            self.store.database.bay = name

    def opened(self, store: Store) -> None:
        """They are there: settle what hangs on them, then do what was asked for."""
        self._opening = False
        self.store = store
        self.app.say()
        self.with_store(self._settle)
        self.apart(self._read_on_top)
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self.with_store(waiting)

    def _read_on_top(self) -> None:
        if isinstance(self.app.screen, BareScreen):
            self.read(self.app.screen)

    def refused(self, why: str) -> None:
        """They can't be opened: say why, and offer to try again."""
        self._opening = False
        self.app.say("your records are not open")
        self.trouble(why, self.open)

    def close(self) -> tuple[str, ...]:
        """Close them; in words, what could not be written. What waits for them is left."""
        self._left = True
        self._behind.clear()
        errand, self._errand = self._errand, None
        if errand is not None:
            errand.leave()
        left = self._writer.close(LAST)
        if self.store is not None and not left and errand is None:
            self.store.close()
        return left

    # ---- what is asked of them ----

    def apart(self, do: Callable[[], object], wanted: Wanted = lambda: True) -> None:
        """Do what reads or writes, behind all that was begun before. Within it the same is done
        where it stands. wanted: whether anybody still wants it, once it has waited.
        """
        from drillrunner.store import aside

        if aside.waits():
            do()
        elif self._errand is not None:
            self._behind.append((do, wanted))
        else:
            self._begin(do, wanted)

    def _begin(self, do: Callable[[], object], wanted: Wanted) -> None:
        from drillrunner.store.aside import Errand

        if self._left:
            return
        errand = self._errand = Errand(do, self._ended, wanted)
        if errand.go():
            self._errand = None
            if errand.trouble is not None:
                raise errand.trouble
        else:
            asyncio.get_running_loop().call_later(LATE, self._say_late, errand)

    def _ended(self, errand: Errand) -> None:
        """What had to wait is over: go on with what is behind it."""
        self._errand = None
        if errand.trouble is not None and errand.wanted():
            self.app.call_later(_raise, errand.trouble)
        while self._behind and self._errand is None:
            do, wanted = self._behind.popleft()
            try:
                if wanted():
                    self._begin(do, wanted)
            except Exception as error:
                self.app.call_later(_raise, error)
        for screen in () if self._left else self.app.screen_stack:
            if isinstance(screen, BareScreen) and screen.is_mounted and screen.said == WAITED_FOR:
                screen.say(self._said_before)
        self.app.gate.told()

    def _say_late(self, errand: Errand) -> None:
        if self._errand is not errand or self._left:
            return
        for screen in reversed(self.app.screen_stack):
            if isinstance(screen, BareScreen) and screen.is_mounted:
                if screen.said != WAITED_FOR:
                    self._said_before = screen.said
                    screen.say(WAITED_FOR)
                return

    # ---- what is written ----

    @property
    def unwritten(self) -> State:
        """What stands between what was typed and the disk."""
        return self._writer.state

    @property
    def writing(self) -> bool:
        """Whether something is being written or read, and nothing is known to be in its way."""
        written = self.store is not None and bool(self._to_tell) and not self.unwritten.why
        return written or self.waited_for

    def write(self, words: str, do: Callable[[], object], told: Callable[[News], object]) -> None:
        """Write one thing in the order typed, off the screen's own thread. told: what became of it.

        What waits is told as often as the reason changes; the end of it comes once.
        """
        number = self._writer.put(words, do)
        self._to_tell[number] = told

    def written(self, news: News) -> None:
        """Hand news on to whoever wrote that."""
        told = self._to_tell.get(news.number)
        if news.outcome != "waiting":
            self._to_tell.pop(news.number, None)
        if told is not None and news.outcome == "waiting":
            told(news)
        elif told is not None:
            # It goes on with what may be read.
            self.apart(partial(told, news))
        # All that waited behind it is not written either.
        for number, words in enumerate(news.dropped, news.number + 1):
            self.written(News(number, words, "dropped"))
        self.app.gate.told()

    def in_turn(
        self, words: str, do: Callable[[Store], Any], then: Callable[[Any], object]
    ) -> None:
        """Do what a person asked for, which writes: once the records are open, behind all that
        waits, and off the screen's own thread. then: what follows, with what `do` returned.

        What is typed meanwhile waits for what follows, which it was meant for.
        """
        self.with_store(lambda store: self._in_turn(words, partial(do, store), then))

    def _in_turn(self, words: str, do: Callable[[], Any], then: Callable[[Any], object]) -> None:
        def told(news: News) -> None:
            if news.outcome == "waiting":
                self.app.say(str(self.unwritten))
                return
            self._turns -= 1
            if news.outcome == "kept":
                then(news.value)
            elif isinstance(news.error, StoreError):
                self.trouble(str(news.error), lambda: self._in_turn(words, do, then))
            elif news.error is not None:
                self.app.say(str(news.error))
            self._look_for_damage()

        self._turns += 1
        self.write(words, do, told)

    def begin_writing(self) -> None:
        """The records are open, and what was typed before has its place in them."""
        self._writer.go()

    def give_up_unwritten(self) -> None:
        """Let go of all that waits for the disk."""
        self._writer.drop()

    def try_again(self) -> None:
        """Try at once what waits for the disk."""
        self._writer.again()

    def file_moved(self, why: str, known: str, write: Callable[[], object]) -> None:
        """The file is gone or another one: offer to write what is known here to the one that is
        there now. known: that, in words. write: writes it; then what waits is written behind it.
        """
        if isinstance(self.app.screen, Another):
            return

        def answered(choice: str | None) -> None:
            if choice == "write":
                self.apart(partial(self._write_to_what_came, known, write))
            elif choice is not None:
                self.try_again()

        self.app.push_screen(Another(why, known), answered)

    def _write_to_what_came(self, known: str, write: Callable[[], object]) -> None:
        try:
            write()
            self._gone_on()
        except StoreError as error:
            self.app.say(f"not written: {error}")
            return
        said = f"written to the file that is there now: {known}"
        # Said once what waits is written too.
        self.write("", lambda: None, lambda _: self.app.say(said))
        self.try_again()

    def _gone_on(self) -> None:
        """Who plays is looked up in the file that came."""
        player = self.app.player
        if self.store is not None and player is not None:
            self.app.player = self.store.player(player.name) or player

    def refresh(self) -> None:
        """Read what the home screen tells again, and let it show that; a failure is a line."""
        if self.store is not None:
            self.apart(partial(self._refresh, self.store))

    def _refresh(self, store: Store) -> None:
        try:
            player = self.app.player
            self.facts = store.home(None if player is None else player.name)
            others = frozenset() if player is None else store.gatherings.others(player.id)
            every = store.open_matches()
            self.open_matches = tuple(match for match in every if match.id not in others)
            self.open_rounds = () if player is None else store.rounds.unfinished(player.id)
        except StoreError as error:
            self.app.say(str(error))
        self.app.tell("home")
        self._look_for_damage()

    def left_out(self, lines: Iterable[str]) -> None:
        """Keep in mind what can't be read, and say once that there is such."""
        new = tuple(line for line in dict.fromkeys(lines) if line not in self.damaged)
        if new:
            self.damaged += new
            self.app.say(f"{new[0]} ({FACES['faults']} on the first screen lists all)")
            self.app.tell("home")

    def _look_for_damage(self) -> None:
        from drillrunner.store.sound import damaged

        self.left_out(damaged())

    def with_store(self, do: Callable[[Store], object]) -> None:
        """Do what a person asked for: now, or as soon as the records are open.

        If they fail, the reason is shown, and the same can be tried again or left.
        """
        if self.store is not None:
            self._attempt(do, lambda: self.with_store(do))
        elif self._waiting is None:
            self._waiting = do
            self.app.say("opening your records; then this goes on")
            self.open()
        else:
            self.app.say("still opening your records: what you asked for first comes first")

    def read(self, screen: BareScreen) -> None:
        """Let a screen read what it shows. If that fails, the way out leads back from it too."""
        leaving = self.app.return_code is not None
        # One that is not mounted yet reads when it comes to the front.
        if self.store is not None and screen.is_mounted and not leaving:
            again, there = partial(self.read, screen), partial(self.is_there, screen)
            self._attempt(screen.read, again, screen.action_back, there)

    def is_there(self, screen: BareScreen) -> bool:
        """Whether a screen has not been left meanwhile."""
        return not self._left and screen.is_mounted and screen in self.app.screen_stack

    def _attempt(
        self,
        do: Callable[[Store], object],
        again: Callable[[], object],
        back: Callable[[], object] = lambda: None,
        wanted: Wanted = lambda: True,
    ) -> None:
        store = self.store
        assert store is not None

        def attempt() -> None:
            try:
                do(store)
            except StoreError as error:
                if wanted():
                    self.trouble(str(error), again, back)
            self._look_for_damage()

        self.apart(attempt, wanted)

    def trouble(
        self,
        why: str,
        again: Callable[[], object],
        back: Callable[[], object] = lambda: None,
    ) -> None:
        """Say what failed, with the ways out: try again, leave the app, or go back."""
        ways = {"again": again, "leave": self.app.exit}

        def answered(choice: str | None) -> None:
            ways.get(choice or "", back)()

        rows = (
            ("again", "try again", "the same once more"),
            ("leave", "quit", "close the app; all that was kept stays kept"),
        )
        # What is typed for a ball must not close the app.
        self.app.push_screen(Choice("Your records", rows, why, arrows=True), answered)


def _raise(error: BaseException) -> None:
    """What went wrong where nobody stood who could be told, goes to the app."""
    raise error
