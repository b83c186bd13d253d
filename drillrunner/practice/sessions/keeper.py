"""Keeps a session: reads the clock, decides, and writes each event before it shows.

The clock is a `Watch` that is handed in. It gives the wall clock and a steady count of seconds;
only differences of the steady one are practice. Some systems stop it while they sleep, others do
not: a step longer than `GAP`, or backwards, is never counted.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from drillrunner.catalogue.plans import Plan
from drillrunner.practice.carries.stock import FEWEST
from drillrunner.practice.sessions.session import (
    GAP,
    LONGER,
    BlockState,
    Event,
    Limits,
    Session,
    fold,
    new,
)
from drillrunner.rules.run import Refused

HEARTBEAT = 5.0
"""Seconds after which the clock is written down: what a killed program can lose of the time."""


@dataclass(frozen=True)
class WatchReading:
    """The wall clock, aware of its offset, and a steady count of seconds."""

    at: datetime
    steady: float


Watch = Callable[[], WatchReading]
Write = Callable[[Event], None]


def system_watch(clock: Callable[[], datetime]) -> Watch:
    """The computer's own steady clock beside a wall clock."""
    return lambda: WatchReading(clock(), time.monotonic())


def started(plan: Plan, limits: Limits, at: datetime) -> Event:
    """The event that a session starts with."""
    return Event(at, "started", 0.0, new(plan, limits, at).begin_data())


class Keeper:
    """One session in progress. `session` is how it stands; only the methods here change it.

    events: all of it so far, from `started` on. write: makes an event durable before it returns, or
    sees to it that it will be, in order; if it raises, nothing has changed. Every method raises
    Refused, with the reason in one line, for what can't be done now.
    """

    def __init__(self, events: Iterable[Event], watch: Watch, write: Write) -> None:
        self.session: Session = fold(events)
        self._watch = watch
        self._write = write
        self._last = watch()

    def go_on(self, run: tuple[int, bool] | None = None) -> Session:
        """Go on with a session that was left.

        run: of the run in play, its balls and whether it is over, as its entries stand.
        """
        if run is not None:
            self.session = self.session.with_run(*run)
        self._do("resume", {})
        if self.session.run is not None and self.session.run.over:
            self.leave_run()
        return self.session

    def tick(self) -> Session:
        """Read the clock: to be called about once a second."""
        reading = self._watch()
        step = reading.steady - self._last.steady
        self._last = reading
        if 0 < step <= GAP:
            self.session = self.session.advanced(step)
        session = self.session
        if session.stopped is None and session.over is not None:
            self._end(session.over)
        elif not (session.paused or self.behind) and (
            session.spent - session.marked >= HEARTBEAT or (step > GAP and not session.over)
        ):
            self._do("seen", {})
        return self.session

    @property
    def behind(self) -> bool:
        """Whether something is still to be written: its own time is kept with it."""
        return False

    def ball(self, count: int = 1) -> Session:
        """Balls hit outside games; -1 takes one back."""
        return self._now("ball", {"count": count})

    def beside(self, count: int) -> Session:
        """Balls of a game that the session does not keep, such as a match: they are out of the
        bucket, whatever is in hand."""
        return self._now("ball", {"count": count, "beside": True})

    def carry(self, carry: str) -> Session:
        """A carry of a search, as a decimal number."""
        return self._now("carry", {"carry": carry})

    def correct(self, shot: int, carry: str | None, hit: bool = False) -> Session:
        """Correct the carry of the shot, counted from 1; `None` takes it out.

        hit: whether the ball that is taken out was hit all the same, and is out of the bucket.
        """
        return self._now("correct", {"shot": shot, "carry": carry, "hit": hit})

    def reveal(self) -> Session:
        """Show the carries of a search."""
        return self._now("reveal", {})

    def run_started(self, run: str, before: int = 0) -> Session:
        """A run is played in this block. before: balls that it had already."""
        return self._now("run-started", {"run": run, "before": before})

    def run_at(self, count: int, over: bool) -> Session:
        """The run in play after an entry: `balls_hit` of it, and whether it is over."""
        self.tick()
        self.session = self.session.with_run(count, over)
        return self.session

    def leave_run(self) -> Session:
        """The run in play is finished, or is left open."""
        mark = self.session.run
        if mark is None:
            raise Refused("no game is in play")
        return self._now("run-ended", {"run": mark.run, "balls": mark.balls})

    def done(self) -> Session:
        """End the block in hand and begin the next; a game in play is left open."""
        return self._leave("block-done")

    def skip(self) -> Session:
        """Skip the block in hand; a game in play is left open."""
        return self._leave("skip")

    def put_back(self, block: int | None = None) -> Session:
        """Put the block in hand behind the next, or bring back one that was skipped or dropped.

        block: the place in the plan of the one to bring back; it comes next.
        """
        if block is not None:
            return self._now("put-back", {"block": block})
        self.session.leave("put-back")
        return self._leave("put-back")

    def lengthen(self, seconds: float = LONGER, count: int = 0) -> Session:
        """Give the block in hand more time and balls, as far as the session has them."""
        session = self.tick()
        room = max(session.seconds_left - max(session.block_seconds_left, 0.0), 0.0)
        state = session.now or BlockState(session.plan.blocks[0], 0.0, 0)
        spare = max(session.balls_left - max(state.balls - session.block_balls, 0), 0)
        more = 0 if session.on_green else min(count, spare)
        data = {"seconds": min(seconds, room), "balls": more}
        if not any(data.values()):
            raise Refused("the session has nothing left to lengthen it with")
        return self._do("lengthen", data)

    def pause(self) -> Session:
        """Stop the clock: the ball machine is empty, the range is being picked."""
        return self._now("pause", {})

    def resume(self) -> Session:
        """Let the clock run again."""
        return self._now("resume", {})

    def stop(self) -> Session:
        """End the session at once; everything is kept, and a game in play is left open."""
        self.tick()
        if self.session.stopped is None:
            self._end("stopped")
        return self.session

    def _leave(self, kind: Literal["block-done", "skip", "put-back"]) -> Session:
        session = self.tick()
        if session.run is not None:
            session = self.leave_run()
        state = session.now
        if kind == "block-done" and state and state.searching and len(state.typed) >= FEWEST:
            session = self._do("reveal", {})
        if session.over is not None:
            return self.tick()
        session = self._do(kind, session.leave(kind))
        return self.tick() if session.over else session

    def _end(self, why: str) -> None:
        if self.session.run is not None:
            mark = self.session.run
            self._do("run-ended", {"run": mark.run, "balls": mark.balls})
        self._do("stop", {"why": why})

    def _now(self, kind: str, data: Mapping[str, Any]) -> Session:
        self.tick()
        return self._do(kind, data)

    def _do(self, kind: str, data: Mapping[str, Any]) -> Session:
        event = Event(self._last.at, kind, self.session.spent, data)
        after = self.session.after(event)
        self._write(event)
        self.session = after
        return after
