"""A session as a pure fold of what happened in it.

Every event carries two times. `spent` is the seconds of practice so far: it stands still in a
pause, while the computer sleeps and while the program is not running, and it alone drives the
countdowns. `at` is the wall clock, for the record; a clock that was set back by an hour changes
nothing. Where the wall has moved on and `spent` has not, nobody was practising: that stretch is a
pause, whether it was asked for or not.

The decisions (which block is next, how long it gets) are taken once and stand in the event, so
that a session folds to the same for ever. Balls of runs are never events: they are counted from
the entries of the run, handed in by `with_run`.

Limits are hard. When the time is up with no game in play, the session is over. A game in play,
which is an open run or a search with a carry typed, may be finished or left open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal, InvalidOperation
from functools import cached_property
from itertools import pairwise
from statistics import median
from typing import Any, Literal

from drillrunner.catalogue.plans import MOST_BALLS, MOST_MINUTES, Block, Plan
from drillrunner.practice.carries import stock
from drillrunner.practice.sessions.refit import Refit, Share, balls, fit, minutes
from drillrunner.rules.run import Kind, Refused, Run

GAP = 30.0
"""Seconds for which nothing was seen before that counts as a pause: asleep, killed, suspended."""

ROUTINE = 15.0
"""Seconds a ball that a routine takes, unless the player sets another. Common practice, no
source; the Rules of Golf recommend a stroke within 40 seconds."""

RECENT = 3
"""Intervals between balls that the nudge looks back on."""

LONGER = 120.0
"""Seconds that a block is lengthened by, unless another number is said."""

BlockStanding = Literal["to come", "now", "done", "skipped", "dropped"]


@dataclass(frozen=True)
class Limits:
    """Minutes and balls of a session. Raises ValueError outside 1 to 240 and 1 to 500."""

    minutes: int
    balls: int

    def __post_init__(self) -> None:
        if not 1 <= self.minutes <= MOST_MINUTES:
            raise ValueError(f"{self.minutes} minutes: expected 1 to {MOST_MINUTES}")
        if not 1 <= self.balls <= MOST_BALLS:
            raise ValueError(f"{self.balls} balls: expected 1 to {MOST_BALLS}")

    @property
    def seconds(self) -> float:
        """The time in seconds."""
        return self.minutes * 60.0

    @property
    def said(self) -> str:
        """The limits in words."""
        return f"{minutes(self.minutes)}, {balls(self.balls)}"


@dataclass(frozen=True)
class Event:
    """One thing that happened. spent: seconds of practice before it. data: ready for JSON."""

    at: datetime
    kind: str
    spent: float
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Pause:
    """A stretch without practice: when it began, how long by the wall clock, and whether it was
    asked for (else the computer slept or the program was not running)."""

    spent: float
    since: datetime
    seconds: float
    asked: bool


@dataclass(frozen=True)
class RunMark:
    """The run in play: its balls before the session took it up, and now; whether it is over."""

    run: str
    before: int
    balls: int
    over: bool = False


@dataclass(frozen=True)
class BlockState:
    """A block and how it stands.

    seconds, balls: what it is given; as planned until it begins. used: balls, but for those of
    the run in play. carries: of a search, `None` where a carry was taken back. runs: every run
    begun in it.
    """

    block: Block
    seconds: float
    balls: int
    standing: BlockStanding = "to come"
    spent: float = 0.0
    used: int = 0
    carries: tuple[Decimal | None, ...] = ()
    revealed: bool = False
    runs: tuple[str, ...] = ()

    @property
    def typed(self) -> tuple[Decimal, ...]:
        """The carries of a search that stand."""
        return tuple(carry for carry in self.carries if carry is not None)

    @property
    def searching(self) -> bool:
        """Whether a search has begun and is not revealed."""
        return bool(self.typed) and not self.revealed

    def found(self, unit: Literal["yd", "m"] = "yd") -> stock.Found | None:
        """What a search found once it is revealed; `None` from too few carries."""
        if not self.revealed or len(self.typed) < stock.FEWEST:
            return None
        return stock.find(self.typed, unit)


@dataclass(frozen=True)
class Session:
    """A session as it stands after its events.

    order: places of the blocks to come. current: the place of the block in hand, `None` once
    nothing more fits. at, marked: the wall clock and `spent` at the latest event. stopped: the
    reason once it has ended. hits: `spent` at the latest balls of
    this block, for the pace.
    """

    plan: Plan
    limits: Limits
    started: datetime
    at: datetime
    blocks: tuple[BlockState, ...]
    order: tuple[int, ...]
    current: int | None = None
    spent: float = 0.0
    marked: float = 0.0
    paused: bool = False
    pauses: tuple[Pause, ...] = ()
    run: RunMark | None = None
    stopped: str | None = None
    hits: tuple[float, ...] = field(default=(), compare=False)

    # what there is

    @cached_property
    def now(self) -> BlockState | None:
        """The block in hand."""
        return None if self.current is None else self.blocks[self.current]

    @property
    def in_play(self) -> bool:
        """Whether a game is in play: an open run, or a search with a carry typed."""
        if self.run is not None and not self.run.over:
            return True
        return self.now is not None and self.now.searching

    @cached_property
    def balls_used(self) -> int:
        """Balls out of the bucket, those of the run in play too; those on the green are none."""
        used = sum(state.used for state in self.blocks if state.block.where == "bay")
        return used + (0 if self.on_green else self._in_run())

    @property
    def on_green(self) -> bool:
        """Whether the block in hand is on the green, where no ball comes out of the bucket."""
        return self.now is not None and self.now.block.where == "green"

    @property
    def balls_left(self) -> int:
        """Balls left in the bucket; never negative."""
        return max(self.limits.balls - self.balls_used, 0)

    @property
    def seconds_left(self) -> float:
        """Seconds left of the session; negative while a game in play is over time."""
        return self.limits.seconds - self.spent

    @property
    def block_seconds_left(self) -> float:
        """Seconds left of the block in hand, or of the session if that is less."""
        if self.now is None:
            return 0.0
        return min(self.now.seconds - self.now.spent, self.seconds_left)

    @property
    def block_balls(self) -> int:
        """Balls used in the block in hand."""
        return 0 if self.now is None else self.now.used + self._in_run()

    @cached_property
    def over(self) -> str | None:
        """Why the session has ended, in words; `None` while it goes on."""
        if self.stopped is not None:
            return self.stopped
        if self.current is None:
            return "all done" if not self._dropped() else "nothing more fits"
        if self.seconds_left <= 0 and not self.in_play:
            return "time is up"
        return None

    @property
    def cue(self) -> str | None:
        """The soft cue, in words, when the block or the session has used what it was given."""
        if self.over or self.now is None:
            return None
        if self.seconds_left <= 0:
            return "the session's time is up: finish the game or leave it open"
        if self.balls_left == 0 and not self.on_green:
            return "the bucket is empty"
        if self.block_seconds_left <= 0:
            return "the block's time is up"
        if self.now.balls and self.block_balls >= self.now.balls:
            return "the block's balls are hit"
        return None

    @property
    def forecast(self) -> Refit:
        """What of the blocks to come will fit after the block in hand, as things stand."""
        seconds, bucket = self.seconds_left, self.balls_left
        if self.now is not None:
            seconds -= max(self.block_seconds_left, 0.0)
            bucket -= max(self.now.balls - self.block_balls, 0)
        return fit(self._wanted(self.order), max(seconds, 0.0), max(bucket, 0))

    @property
    def pace(self) -> float | None:
        """Seconds a ball, over the latest balls of this block; `None` while there are too few."""
        recent = self.hits[-RECENT - 1 :]
        if len(recent) <= RECENT:
            return None
        return median(b - a for a, b in pairwise(recent))

    def hurried(self, routine: float | None = ROUTINE) -> bool:
        """Whether balls come faster than a routine takes; never if `routine` is `None`."""
        return routine is not None and self.pace is not None and self.pace < routine

    # what happens

    def advanced(self, seconds: float) -> Session:
        """So many seconds of practice later. Stands still while paused and once it is over.

        Without a game in play it stops at the limit.
        """
        if self.paused or self.over or seconds <= 0 or self.current is None:
            return self
        if not self.in_play:
            seconds = min(seconds, self.seconds_left)
        now = self.blocks[self.current]
        later = replace(now, spent=now.spent + seconds)
        return self._with(self.current, later, spent=self.spent + seconds)

    def with_run(self, count: int, over: bool) -> Session:
        """The run in play as its entries now stand: `balls_hit` of them, and whether it is over."""
        if self.run is None:
            return self
        hits = self.hits
        if count == self.run.balls + 1:
            hits = (*hits, self.spent)
        elif count < self.run.balls:
            hits = hits[: count - self.run.balls]
        return replace(self, run=replace(self.run, balls=count, over=over), hits=hits)

    def after(self, event: Event) -> Session:
        """The session after one more event. Raises Refused, with the reason, if it can't be."""
        idle = (event.at - self.at).total_seconds() - (event.spent - self.marked)
        moved = self.advanced(event.spent - self.spent)
        if idle > (0 if self.paused else GAP) and self.stopped is None:
            pause = Pause(self.marked, self.at, idle, self.paused)
            moved = replace(moved, pauses=(*self.pauses, pause))
        handler = _HANDLERS.get(event.kind)
        if handler is None:
            raise Refused(f"unknown event {event.kind!r}")
        return replace(handler(moved, event.data), at=event.at, marked=event.spent)

    def leave(self, kind: Literal["block-done", "skip", "put-back"]) -> dict[str, Any]:
        """The data of the event that ends the block in hand that way and begins the next.

        Raises Refused if there is nothing to do instead of a block that is put back.
        """
        order = self.order
        if kind == "put-back":
            if self.current is None or not order:
                raise Refused("nothing else is to come: there is nothing to put it behind")
            order = (order[0], self.current, *order[1:])
        return self._next(order)

    def begin_data(self) -> dict[str, Any]:
        """The data of the event `started`."""
        return {
            "minutes": self.limits.minutes,
            "balls": self.limits.balls,
            "plan": self.plan.data(),
            **self._next(self.order),
        }

    def _next(self, order: tuple[int, ...]) -> dict[str, Any]:
        fits = fit(self._wanted(order), max(self.seconds_left, 0.0), self.balls_left)
        if not fits.shares:
            return {"next": None, "order": [], "dropped": list(order)}
        first = fits.shares[0]
        passed = list(order[: order.index(first.place)])
        return {
            "next": {"block": first.place, "seconds": first.seconds, "balls": first.balls},
            "order": [place for place in order if place != first.place and place not in passed],
            "dropped": passed,
        }

    # helpers

    def _in_run(self) -> int:
        return 0 if self.run is None else max(self.run.balls - self.run.before, 0)

    def _dropped(self) -> bool:
        return any(state.standing == "dropped" for state in self.blocks)

    def _wanted(self, order: Iterable[int]) -> list[Share]:
        """What the blocks to come still want: one that was put back, what it has left."""
        return [
            Share(
                place,
                state.block,
                max(state.seconds - state.spent, 60.0),
                max(state.balls - state.used, 0),
            )
            for place in order
            for state in (self.blocks[place],)
        ]

    def _with(self, place: int, state: BlockState, **more: Any) -> Session:
        blocks = (*self.blocks[:place], state, *self.blocks[place + 1 :])
        return replace(self, blocks=blocks, **more)

    def _in_hand(self) -> tuple[int, BlockState]:
        """The block in hand. Raises Refused if the session has ended."""
        if self.over or self.current is None or self.now is None:
            raise Refused(f"the session is over ({self.over})")
        return self.current, self.now


Handler = Callable[[Session, Mapping[str, Any]], Session]


def new(plan: Plan, limits: Limits, at: datetime) -> Session:
    """A session before it has started."""
    blocks = tuple(BlockState(block, block.minutes * 60.0, block.balls) for block in plan.blocks)
    return Session(plan, limits, at, at, blocks, tuple(range(len(blocks))))


def fold(events: Iterable[Event]) -> Session:
    """The session that these events make; the first one is `started`. Raises Refused."""
    events = iter(events)
    first = next(events, None)
    if first is None or first.kind != "started":
        raise Refused("a session begins with the event 'started'")
    limits = Limits(first.data["minutes"], first.data["balls"])
    session = new(Plan.from_data(first.data["plan"]), limits, first.at)
    session = _begin(session, first.data)
    for event in events:
        session = session.after(event)
    return session


def balls_hit(run: Run) -> int:
    """Balls out of the bucket in a run: live shots, void ones too, and balls in between."""
    return sum(
        live and entry.kind in (Kind.SHOT, Kind.BETWEEN)
        for entry, live in zip(run.entries, run.live, strict=True)
    )


def routine_of(pace: int | None) -> float | None:
    """The seconds that a player's routine takes; `None` for no word about the pace.

    pace: as the player has set it: `None` if never, 0 for no word.
    """
    return ROUTINE if pace is None else float(pace) or None


def _begin(session: Session, data: Mapping[str, Any]) -> Session:
    """Begin the block that the event names, and drop those that it passes over."""
    for place in data["dropped"]:
        session = session._with(place, replace(session.blocks[place], standing="dropped"))
    place = None
    if data["next"] is not None:
        place, seconds, count = (data["next"][name] for name in ("block", "seconds", "balls"))
        state = session.blocks[place]
        given = replace(
            state,
            standing="now",
            seconds=state.spent + seconds,
            balls=state.used + count,
        )
        session = session._with(place, given)
    return replace(session, current=place, order=tuple(data["order"]), hits=())


def _leave(standing: BlockStanding) -> Handler:
    def handler(session: Session, data: Mapping[str, Any]) -> Session:
        place, state = session._in_hand()
        if session.run is not None:
            raise Refused("finish the game or leave it open first")
        return _begin(session._with(place, replace(state, standing=standing)), data)

    return handler


def _put_back(session: Session, data: Mapping[str, Any]) -> Session:
    if "block" not in data:
        return _leave("to come")(session, data)
    session._in_hand()
    place = data["block"]
    if not 0 <= place < len(session.blocks) or session.blocks[place].standing not in (
        "skipped",
        "dropped",
    ):
        raise Refused("only a block that was skipped or dropped can be put back")
    back = replace(session.blocks[place], standing="to come")
    return session._with(place, back, order=(place, *session.order))


def _ball(session: Session, data: Mapping[str, Any]) -> Session:
    place, state = session._in_hand()
    count, beside = data.get("count", 1), data.get("beside", False)
    if not beside and (session.run is not None or state.block.kind == "find"):
        raise Refused("the balls of a game are counted from what is typed")
    if not beside and not session.on_green and count > session.balls_left:
        raise Refused(f"the bucket has {balls(session.balls_left)} left")
    if state.used + count < 0:
        raise Refused("no ball of this block is left to take back")
    hits = (
        (*session.hits, session.spent) if count == 1 else session.hits[:count] if count < 0 else ()
    )
    return session._with(place, replace(state, used=state.used + count), hits=hits)


def _carry(session: Session, data: Mapping[str, Any]) -> Session:
    place, state = session._in_hand()
    if state.block.kind != "find" or state.revealed:
        raise Refused("no carry is asked for here")
    if len(state.typed) >= (state.block.shots or stock.MOST):
        raise Refused(f"all {len(state.typed)} carries are typed: reveal them, or correct one")
    if session.balls_left == 0 and not state.searching:
        raise Refused("the bucket is empty")
    carries = (*state.carries, _distance(data["carry"]))
    later = replace(state, carries=carries, used=state.used + 1)
    return session._with(place, later, hits=(*session.hits, session.spent))


def _correct(session: Session, data: Mapping[str, Any]) -> Session:
    place, state = session._in_hand()
    if state.block.kind != "find" or state.revealed:
        raise Refused("a carry can be corrected only before the reveal")
    standing = [at for at, carry in enumerate(state.carries) if carry is not None]
    if not 1 <= data["shot"] <= len(standing):
        raise Refused(f"shot {data['shot']}: expected 1 to {len(standing)}")
    at = standing[data["shot"] - 1]
    new_carry = None if data["carry"] is None else _distance(data["carry"])
    carries = (*state.carries[:at], new_carry, *state.carries[at + 1 :])
    never = new_carry is None and not data.get("hit", False)
    return session._with(place, replace(state, carries=carries, used=state.used - never))


def _reveal(session: Session, data: Mapping[str, Any]) -> Session:
    place, state = session._in_hand()
    if state.block.kind != "find" or state.revealed:
        raise Refused("there is nothing to reveal")
    if len(state.typed) < stock.FEWEST:
        raise Refused(f"{len(state.typed)} carries: at least {stock.FEWEST} are needed")
    return session._with(place, replace(state, revealed=True))


def _run_started(session: Session, data: Mapping[str, Any]) -> Session:
    if session.stopped or session.current is None or session.now is None:
        raise Refused(f"the session is over ({session.over})")
    if session.run is not None:
        raise Refused("a game is in play already")
    place, state = session.current, session.now
    again = data["run"] in state.runs
    if not again and session.over:
        raise Refused(f"the session is over ({session.over})")
    if not again and session.balls_left == 0 and not session.on_green:
        raise Refused("the bucket is empty")
    runs = state.runs if again else (*state.runs, data["run"])
    mark = RunMark(data["run"], data["before"], data["before"])
    return session._with(place, replace(state, runs=runs), run=mark)


def _run_ended(session: Session, data: Mapping[str, Any]) -> Session:
    mark = session.run
    if mark is None or mark.run != data["run"] or session.current is None:
        raise Refused("that game is not in play")
    state = session.blocks[session.current]
    used = state.used + data["balls"] - mark.before
    return session._with(session.current, replace(state, used=used), run=None)


def _lengthen(session: Session, data: Mapping[str, Any]) -> Session:
    place, state = session._in_hand()
    longer = replace(
        state, seconds=state.seconds + data["seconds"], balls=state.balls + data["balls"]
    )
    return session._with(place, longer)


def _pause(session: Session, data: Mapping[str, Any]) -> Session:
    session._in_hand()
    if session.paused:
        raise Refused("the session is paused already")
    return replace(session, paused=True, hits=())


def _resume(session: Session, data: Mapping[str, Any]) -> Session:
    return replace(session, paused=False, hits=())


def _stop(session: Session, data: Mapping[str, Any]) -> Session:
    if session.stopped is not None:
        raise Refused(f"the session is over ({session.stopped})")
    if session.run is not None:
        raise Refused("finish the game or leave it open first")
    return replace(session, stopped=data["why"], paused=False)


def _seen(session: Session, data: Mapping[str, Any]) -> Session:
    return session


def _distance(typed: Any) -> Decimal:
    try:
        carry = Decimal(typed)
    except (InvalidOperation, TypeError, ValueError):
        raise Refused(f"{typed!r}: expected a carry") from None
    if not carry.is_finite() or carry <= 0:
        raise Refused(f"{typed!r}: expected a carry of more than 0")
    return carry


_HANDLERS: Mapping[str, Handler] = {
    "seen": _seen,
    "ball": _ball,
    "carry": _carry,
    "correct": _correct,
    "reveal": _reveal,
    "run-started": _run_started,
    "run-ended": _run_ended,
    "block-done": _leave("done"),
    "skip": _leave("skipped"),
    "put-back": _put_back,
    "lengthen": _lengthen,
    "pause": _pause,
    "resume": _resume,
    "stop": _stop,
}
