"""A session on the screens: it ticks the clock, does what is asked, and says what came of it."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING

from drillrunner.app import doors
from drillrunner.app.actions import acts
from drillrunner.app.bare import Bare, BareScreen
from drillrunner.app.dialog import Choice, Unwritten
from drillrunner.app.face import Face
from drillrunner.app.keys import FACES
from drillrunner.practice.carries.stock import FEWEST, in_force
from drillrunner.practice.sessions.plan import drill_of
from drillrunner.practice.sessions.refit import clock
from drillrunner.practice.sessions.session import LONGER, BlockState, Event, Session, routine_of
from drillrunner.rules.run import Refused
from drillrunner.rules.units import numbered
from drillrunner.store.errors import Moved, PlayedElsewhere, StoreError

if TYPE_CHECKING:
    from drillrunner.app.drills import Drills
    from drillrunner.app.records import Records
    from drillrunner.catalogue.drill import Drill
    from drillrunner.services.ledger import Ledger
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store
    from drillrunner.store.writer import News

TICK = 1.0
"""Seconds between two looks at the clock."""

MORE_BALLS = 5
"""Balls that go with more time."""

DRAWN: Mapping[str, Mapping[str, str]] = {
    "session": {"next_block": "0", "pause": "7", "more": "+"},
    "find": {"next_block": "+"},
}
"""Screens whose drawn keys answer a notice; elsewhere the keys of the upper row do."""

WRITTEN: Mapping[str, str] = {
    "ball": "a ball",
    "carry": "a carry",
    "correct": "a correction",
    "reveal": "the reveal",
    "pause": "the pause",
    "resume": "the end of the pause",
    "lengthen": "more time",
    "block-done": "the next block",
    "skip": "the skipped block",
    "put-back": "the block put back",
    "stop": "the end of the session",
}
"""What waits for the disk, in words. What is not here was not asked for: it comes by itself."""

ACTS = ("pause", "more", "next", "skip", "back", "bring_back", "stop", "bell")


def _nothing() -> None:
    pass


class Desk:
    """The session of now, and what the screens ask of it. `close` ends the ticking.

    What is done is written in its order with all else that is typed, and shown once it is on disk:
    `session` is how it stands there, `ahead` how it will stand once all of it is written, which is
    what the next thing done goes by.

    closed: called when it is put away. said: what was shortened, dropped or counted as a pause
    of late, a line each.
    """

    def __init__(
        self,
        app: Bare,
        records: Records,
        drills: Drills,
        ledger: Ledger,
        closed: Callable[[], object],
    ) -> None:
        self.app = app
        self.records = records
        self.drills = drills
        self._closed = closed
        self.ledger = ledger
        ledger.later = self._later
        self._put = 0
        self._waited = False
        """Whether it was said that something waits for the disk."""
        self._then: deque[tuple[int, Callable[[], object]]] = deque()
        self.routine = routine_of(ledger.player.pace)
        self.said: tuple[str, ...] = ()
        self.warm = False
        """Whether the player said so, when a search asked."""
        self._rung: str | None = None
        self._trouble = ""
        self._timer = app.set_interval(TICK, self.tick)
        self.look()

    @property
    def session(self) -> Session:
        """How it stands on disk."""
        return self.ledger.kept

    @property
    def ahead(self) -> Session:
        """How it will stand once all that was done is on disk."""
        return self.ledger.session

    @property
    def unsettled(self) -> bool:
        """Whether something waits for the disk after which another thing is in hand."""
        here, there = self.session, self.ahead
        if (here.current, here.stopped) != (there.current, there.stopped):
            return True
        if (here.run and here.run.run) != (there.run and there.run.run):
            return True
        now, then = here.now, there.now
        return now is not None and then is not None and now.revealed != then.revealed

    @property
    def player(self) -> PlayerInfo:
        """Whose session it is."""
        return self.ledger.player

    @property
    def block(self) -> BlockState | None:
        """The block in hand."""
        return self.session.now

    def close(self) -> None:
        """Put the session away, as it stands on disk."""
        self._timer.stop()
        self._then.clear()
        self._put = -1
        self._closed()

    # ---- the disk ----

    def _later(self, event: Event, write: Callable[[], object]) -> None:
        self._put += 1
        told = partial(self._became, self._put, event)
        self.records.write(WRITTEN.get(event.kind, ""), write, told)

    def _became(self, number: int, event: Event, news: News) -> None:
        """What became of an event."""
        if news.outcome == "kept":
            self.ledger.wrote()
        elif news.outcome != "waiting":
            self.ledger.dropped(event)
        if self._put < 0:
            return
        if news.outcome == "kept":
            self._kept(number)
        elif news.outcome == "waiting":
            self.say_waiting()
            if isinstance(news.error, Moved):
                self.file_moved(str(news.error))
        else:
            self._not_kept(number, news)

    def _kept(self, number: int) -> None:
        if self._waited:
            state = self.records.unwritten
            self._waited = not state.kept
            self.app.say("" if state.kept else str(state))
            self.changed()
        self.look()
        while self._then and self._then[0][0] <= number:
            self._then.popleft()[1]()

    def _not_kept(self, number: int, news: News) -> None:
        self._then = deque(one for one in self._then if one[0] != number)
        if isinstance(news.error, PlayedElsewhere):
            self._elsewhere(news.error)
            return
        self.look()
        self.app.refresh_bindings()
        self.changed()
        self.app.tell("find")
        if news.error is not None:
            self.app.say(f"{news.words} was NOT kept: {news.error}")

    def say_waiting(self) -> None:
        """Say what waits for the disk."""
        state = self.records.unwritten
        if not state.kept:
            self._waited = True
            self.app.say(str(state))

    def file_moved(self, why: str) -> None:
        """The file is gone or another one: offer to write the session to the new one."""
        screen = self.app.screen
        if not isinstance(screen, BareScreen) or not screen.file_moved(why):
            known = f"this session, {self.ledger.known} entries"
            self.records.file_moved(why, known, self.write_anew)

    def write_anew(self, playing: Playing | None = None) -> None:
        """Write the session, and a run of it, to the file that is there now."""
        self.ledger.write_anew()
        if playing is not None:
            playing.write_anew()

    # ---- the clock ----

    def tick(self) -> None:
        """Read the clock, and show what it says."""
        pauses = len(self.ahead.pauses)
        self._doing(self.ledger.tick, self._ended)
        self._say_pauses(pauses)
        self.look()

    def _ended(self) -> None:
        """Show what the session came to, unless a game or its result is being looked at."""
        if self.session.stopped is not None and self.app.at in ("session", "home"):
            self._finish()

    def _say_pauses(self, before: int) -> None:
        gaps = [pause for pause in self.ahead.pauses[before:] if not pause.asked]
        if gaps:
            self.said = (f"{_how_long(gaps[-1].seconds)} away: counted as a pause",)
            self.app.say(self.said[0])

    def _elsewhere(self, error: PlayedElsewhere) -> None:
        self.close()
        self._to_home()
        self.app.say(str(error))

    def look(self) -> None:
        """Show the clock on every screen, and ring once for a new cue."""
        session, cue = self.session, self.session.cue
        self.app.session_face = self._face(session, cue)
        if cue != self._rung:
            self._rung = cue
            self.app.refresh_bindings()
            if cue is not None and self.app.bell_wanted:
                self.app.bell()

    def _face(self, session: Session, cue: str | None) -> Face:
        state = session.now
        notes: tuple[str, ...] = ()
        mark = ""
        if session.over:
            mark = "■ "
            notes = (f"the session has ended ({session.over}): go back to see what it came to",)
            notes += (f"ended: {session.over}",)
        elif session.paused:
            mark = "‖ "
            on = self._faces["pause"]
            notes = (
                f"‖ paused: the clock stands; {on} or a ball goes on",
                f"‖ paused: {on} goes on",
            )
        elif cue is not None:
            mark = "▲ "
            notes = _cue_words(cue, session, self._faces)
        elif session.hurried(self.routine):
            notes = (
                f"◆ {session.pace:.0f} s a ball: take your time, your routine takes "
                f"{self.routine:.0f}",
                f"◆ {session.pace:.0f} s a ball: take your time",
            )
        return Face(
            clock=clock(session.seconds_left),
            block=state.block.title if state is not None else "done",
            block_clock="" if state is None else clock(session.block_seconds_left),
            balls=(session.block_balls, 0 if state is None else state.balls),
            bucket=(session.balls_used, session.limits.balls),
            mark=mark,
            notes=notes,
            loud=bool(mark),
        )

    @property
    def _faces(self) -> Mapping[str, str]:
        """The keys that answer a notice, as they are drawn on the screen that shows it."""
        return {**FACES, **DRAWN.get(self.app.at or "", {})}

    # ---- screens ----

    def open(self) -> None:
        """Come to the session's own screen."""
        if self.session.stopped is not None:
            self._finish()
            return
        with self.app.batch_update():
            self.app.down_to("session")
            if self.app.at != "session":
                self.app.open(doors.Session())
        self.look()
        self.app.refresh_bindings()

    def taken_up(self) -> None:
        """Come back to a session that was left: to its screen, and to the game in play."""
        self._say_pauses(max(len(self.session.pauses) - 1, 0))
        said = self.said
        self.open()
        self.said = said
        if self.session.run is not None and not self.session.over:
            self.go_on_with_run()
        if said:
            self.app.call_after_refresh(self.app.say, said[0])

    def _to_home(self) -> None:
        with self.app.batch_update():
            self.app.down_to("home")

    def _finish(self) -> None:
        self.close()
        self._to_home()
        self.app.open(doors.Summary(self.ledger.id))

    def after_screen(self) -> None:
        """The session's own screen has come to the front again."""
        if self.session.stopped is not None:
            self._finish()
        else:
            self.look()

    # ---- what can be done ----

    def can(self, act: str) -> bool:
        """Whether an act makes sense now."""
        session = self.session
        if act in ("bell", "menu"):
            return True
        if session.over:
            return False
        if act == "back":
            return bool(session.order)
        if act == "bring_back":
            return bool(self.brought_back)
        return True

    def do(self, act: str) -> None:
        """Do one of `ACTS`, or open the menu of them."""
        if act == "menu" or act in ACTS:
            getattr(self, f"_{act}")()

    def attempt(self, do: Callable[[], object], then: Callable[[], object] = _nothing) -> bool:
        """Do something to the session; why it can't be, or what failed, is said.

        then: called once it is on disk.
        """
        if self.unsettled:
            # What the keys are for is not known before that.
            self.say_waiting()
            return False
        return self.book(do, then)

    def book(self, do: Callable[[], object], then: Callable[[], object] = _nothing) -> bool:
        """As `attempt`, for what has happened already and has its place behind all that waits."""
        pauses, before = len(self.ahead.pauses), self._put
        try:
            self._doing(do, then)
        except Refused as refused:
            self.app.say(str(refused))
            return False
        except StoreError as error:
            self.records.trouble(str(error), lambda: self.book(do, then))
            return False
        self._say_pauses(pauses)
        if self.records.unwritten.why:
            self.say_waiting()
        if self._put == before:
            # Else that is shown once it is written.
            self.look()
        return True

    def _doing(self, do: Callable[[], object], then: Callable[[], object]) -> None:
        before = self._put
        do()
        if self._put == before:
            then()
        else:
            self._then.append((self._put, then))

    def _once_written(self, do: Callable[[], object]) -> None:
        """Leave a game only with all that was typed in it on disk, or given up."""
        state = self.records.unwritten
        if self.ahead.run is None or state.kept:
            do()
            return

        def answered(choice: str | None) -> None:
            if choice == "leave":
                self.records.give_up_unwritten()
                do()

        self.app.push_screen(Unwritten(state), answered)

    def _pause(self) -> None:
        was = self.ahead.paused
        said = "the clock runs again" if was else "paused: the clock stands"
        self.attempt(
            self.ledger.resume if was else self.ledger.pause,
            lambda: self.app.say(said),
        )

    def _more(self) -> None:
        before = self.ahead.now

        def longer() -> None:
            after = self.block
            if before is not None and after is not None:
                minutes = clock(after.seconds - before.seconds)
                self.app.say(f"{minutes} and {numbered(after.balls - before.balls, 'ball')} more")
            self.changed()

        self.attempt(lambda: self.ledger.lengthen(LONGER, MORE_BALLS), longer)

    def _next(self) -> None:
        state = self.ahead.now
        if state is not None and state.searching and len(state.typed) >= FEWEST:
            # What was found is seen first; the next block comes after that.
            self.attempt(self.ledger.reveal, self.show_find)
            return
        self._move(self.ledger.done)

    def _skip(self) -> None:
        self._move(self.ledger.skip)

    def _back(self) -> None:
        self._move(self.ledger.put_back)

    def _stop(self) -> None:
        state = self.ahead.now

        def stop() -> None:
            if state is not None and state.searching and len(state.typed) >= FEWEST:
                self.ledger.reveal()
            self.ledger.stop()

        self._once_written(lambda: self.attempt(stop, self._finish))

    def _move(self, move: Callable[[], object]) -> None:
        """Leave the block in hand, say what had to be dropped or cut, and show the next one."""
        before = self.ahead

        def moved() -> None:
            self.app.say()
            self.said = tuple(_refitted(before, self.session))
            self.open()
            self.changed()

        self._once_written(lambda: self.attempt(move, moved))

    @property
    def brought_back(self) -> list[tuple[int, BlockState]]:
        """Blocks that can be brought back, with their places in the plan."""
        return [
            (place, state)
            for place, state in enumerate(self.ahead.blocks)
            if state.standing in ("skipped", "dropped")
        ]

    def _bring_back(self) -> None:
        def answered(choice: str | None) -> None:
            if choice is not None:
                self.attempt(lambda: self.ledger.put_back(int(choice)), partial(next_is, choice))

        def next_is(choice: str) -> None:
            self.app.say(f"{self.session.blocks[int(choice)].block.title} comes next")
            self.changed()

        rows = [(str(at), state.block.title, state.standing) for at, state in self.brought_back]
        self.app.push_screen(Choice("Bring back", rows), answered)

    def _bell(self) -> None:
        self.app.prefer(bell=None if self.app.bell_wanted else "on")
        self.app.say("the bell rings when time is up" if self.app.bell_wanted else "no bell")

    def _menu(self) -> None:
        found = [act for act in acts(self.app.screen) if "session('" in act.action]

        def answered(choice: str | None) -> None:
            if choice is not None:
                self.do(found[int(choice)].action.split("'")[1])

        rows = [(str(at), act.name, act.tip) for at, act in enumerate(found)]
        keys = {str(at): act.keys[-1] for at, act in enumerate(found)}
        self.app.push_screen(Choice(self.session.plan.title, rows, keys=keys), answered)

    def changed(self) -> None:
        """Let the session's screen show what has changed."""
        self.app.tell("session")

    # ---- balls and games ----

    def beside(self, player: str, count: int) -> None:
        """Balls that a player has hit in a match: one's own are out of the bucket too."""
        if count and player == self.player.name and not self.ahead.over:
            self.book(partial(self.ledger.beside, count))

    def show_find(self) -> None:
        """The search of the block in hand."""
        if self.app.at == "find":
            self.app.tell("find")
            return
        if not self.session.over:
            self.open()
        self.app.open(doors.Find())

    def drill(self, store: Store) -> Drill:
        """The drill of the block in hand, as it is played.

        Raises KeyError, BadDrill or NeedsStock.
        """
        assert self.block is not None
        stocks = in_force(store.stock_carries(self.player.id))
        return drill_of(self.block.block, self.drills.catalogue, self.player.unit, stocks)

    def plays_for(self, player: PlayerInfo) -> bool:
        """Whether a run that this player begins now belongs to the session."""
        return player.id == self.player.id and not self.ahead.over

    def go_on_with_run(self) -> None:
        """Go on with the game in play."""
        mark = self.ahead.run
        if mark is not None:
            self.app.open(doors.OpenRun(mark.run))

    def left(self, playing: Playing) -> None:
        """The run in play has been left, finished or open."""
        self.book(partial(self.ledger.left, playing), self.changed)
        self.changed()


def _how_long(seconds: float) -> str:
    if seconds >= 2 * 3600:
        return f"{seconds / 3600:.0f} h"
    return f"{seconds / 60:.0f} min" if seconds >= 60 else f"{seconds:.0f} s"


def _cue_words(cue: str, session: Session, faces: Mapping[str, str]) -> tuple[str, ...]:
    """The cue and the keys that answer it, the longest wording first."""
    short, key = f"▲ {cue.split(':')[0]}", faces["next_block"]
    room = session.seconds_left > 0 and session.balls_left
    more = f", {faces['more']} gives more" if room else ""
    state = session.now
    if state is not None and state.searching and len(state.typed) >= FEWEST:
        return f"{short}: {key} reveals what was found{more}", f"{short}: {key} reveals", short
    if session.in_play:
        leave = f"{short}: finish, or {key} leaves the game open{more}"
        return leave, f"{short}: finish, or {key}", short
    return f"{short}: {key} goes to the next block{more}", f"{short}: {key} next", short


def _refitted(before: Session, after: Session) -> list[str]:
    """What moving on has shortened or dropped, and what is going to be."""
    said = [
        f"{new.block.title} dropped: no room is left"
        for old, new in zip(before.blocks, after.blocks, strict=True)
        if new.standing == "dropped" and old.standing != "dropped"
    ]
    now = after.now
    if now is not None:
        old = before.blocks[after.current or 0]
        if (now.seconds, now.balls) < (old.seconds, old.balls) and now.standing == "now":
            balls = numbered(now.balls, "ball")
            said.append(f"{now.block.title} shortened to {clock(now.seconds)}, {balls}")
    return [*said, *(line for line in after.forecast.said if line not in said)]
