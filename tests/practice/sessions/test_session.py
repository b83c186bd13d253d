"""The session: a fold that only counts practice, whatever happens to clock and computer."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.practice.sessions.keeper import HEARTBEAT
from drillrunner.practice.sessions.session import (
    GAP,
    Event,
    Limits,
    Session,
    balls_hit,
    fold,
    new,
)
from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.rules.shot import Aim, Seen, Shot
from tests.practice.worlds import HALF_AN_HOUR, START, Clock, block, gone_on, plan, run_for, start
from tests.rules.bundled import make


def same(one: Session, other: Session) -> bool:
    """Equal but for the rounding of summed seconds."""

    def near(value: Any) -> Any:
        return round(value, 6) if isinstance(value, float) else value

    def parts(session: Session) -> Any:
        return (
            [tuple(near(v) for v in vars(state).values()) for state in session.blocks],
            tuple(
                near(getattr(session, name))
                for name in (field.name for field in fields(session))
                if name not in ("blocks", "hits", "pauses", "marked")
            ),
            [tuple(near(v) for v in vars(pause).values()) for pause in session.pauses],
        )

    return bool(parts(one) == parts(other))


# A whole random session


actions = st.lists(
    st.tuples(
        st.sampled_from(
            [
                "wait",
                "wait",
                "odd wait",
                "long wait",
                "ball",
                "ball",
                "balls",
                "take back",
                "carry",
                "carry",
                "carry",
                "correct",
                "reveal",
                "game",
                "shot",
                "shot",
                "shot",
                "last shot",
                "leave game",
                "done",
                "skip",
                "put back",
                "bring back",
                "lengthen",
                "pause",
                "resume",
                "sleep",
                "sleep counted",
                "clock back",
                "kill",
                "kill",
            ]
        ),
        st.integers(1, 40),
    ),
    min_size=5,
    max_size=60,
)
blocks = st.lists(
    st.builds(
        block,
        st.sampled_from(["warm-up", "technique", "find", "drill", "free"]),
        st.integers(1, 6),
        st.integers(1, 15),
    ),
    min_size=1,
    max_size=5,
).map(lambda found: plan(*found))


class World:
    """A session with the games played in it, and a plain account of both beside it."""

    def __init__(self, of: Any, minutes: int, balls: int) -> None:
        self.keeper, self.clock, self.events = start(of, minutes, balls)
        self.runs: dict[str, int] = {}
        self.balls = 0
        self.over_balls = self.over_seconds = 0.0
        self.ended: set[str] = set()
        self.watch()

    @property
    def session(self) -> Session:
        return self.keeper.session

    def do(self, action: str, number: int) -> None:
        keeper, session = self.keeper, self.session
        mark = session.run
        if action == "wait":
            run_for(keeper, self.clock, number)
        elif action == "odd wait":
            run_for(keeper, self.clock, number, step=0.7)
        elif action == "long wait":
            run_for(keeper, self.clock, number * 10)
        elif action == "ball":
            keeper.ball()
            self.balls += 1
        elif action == "balls":
            keeper.ball(number)
            self.balls += number
        elif action == "take back":
            keeper.ball(-1)
            self.balls -= 1
        elif action == "carry":
            keeper.carry(str(60 + number / 2))
            self.balls += 1
        elif action == "correct":
            before = 0 if session.now is None else len(session.now.typed)
            hit = number % 3 == 0
            keeper.correct(number % 6, None if number % 2 else "71.5", hit)
            if not hit:
                self.balls -= before - len(self.session.now.typed)  # type: ignore[union-attr]
        elif action == "reveal":
            keeper.reveal()
        elif action == "game":
            name = f"run {number}"
            if name not in self.ended:
                keeper.run_started(name, self.runs.get(name, number % 3))
                self.runs.setdefault(name, number % 3)
        elif action in ("shot", "last shot") and mark is not None and not mark.over:
            self.runs[mark.run] += 1
            self.balls += 1
            keeper.run_at(self.runs[mark.run], action == "last shot")
            if action == "last shot":
                self.ended.add(mark.run)
        elif action == "leave game":
            keeper.leave_run()
        elif action == "done":
            keeper.done()
        elif action == "skip":
            keeper.skip()
        elif action == "put back":
            keeper.put_back()
        elif action == "bring back":
            keeper.put_back(number % len(session.blocks))
        elif action == "lengthen":
            keeper.lengthen(number * 10.0, number % 4)
        elif action == "pause":
            keeper.pause()
        elif action == "resume":
            keeper.resume()
        elif action == "sleep":
            self.clock.wall(number * 100)
            keeper.tick()
        elif action == "sleep counted":
            self.clock.run(GAP + number * 100)
            keeper.tick()
        elif action == "clock back":
            self.clock.wall(-3600)
            keeper.tick()
        elif action == "kill" and session.stopped is None:
            self.kill(number)

    def kill(self, seconds: float) -> None:
        """The program is gone, and later started anew from what it wrote."""
        keeper, mark = self.keeper, self.session.run
        lost = keeper.session.spent - keeper.session.marked
        assert 0 <= lost < HEARTBEAT + 1
        before = keeper.session
        self.clock.at += timedelta(seconds=seconds)
        self.clock.steady = 5.0  # another process, another count
        stands = None if mark is None else (self.runs[mark.run], mark.run in self.ended)
        self.keeper = gone_on(self.events, self.clock, stands)
        after = self.keeper.session
        assert after.current == before.current
        assert after.order == before.order
        assert after.balls_used == before.balls_used
        assert after.spent == pytest.approx(before.marked)
        assert not after.paused
        assert [s.standing for s in after.blocks] == [s.standing for s in before.blocks]
        assert [s.carries for s in after.blocks] == [s.carries for s in before.blocks]

    def watch(self) -> None:
        """What must hold at every moment."""
        session = self.session
        assert session.balls_used == self.balls
        assert sum(s.spent for s in session.blocks) == pytest.approx(session.spent)
        if session.run is None and not session.in_play:
            # Over the limits by no more than the game that was in play when they were reached.
            assert session.spent <= session.limits.seconds + self.over_seconds + 1e-6
            assert session.balls_used <= session.limits.balls + self.over_balls
        else:
            self.over_seconds = max(session.spent - session.limits.seconds, 0)
            self.over_balls = max(session.balls_used - session.limits.balls, 0)
        fits = session.forecast
        assert sum(s.balls for s in fits.shares) <= session.balls_left
        assert sum(s.seconds for s in fits.shares) <= max(session.seconds_left, 0) + 1e-6
        state = session.now
        if state is not None and session.over is None:
            assert state.standing == "now"
        assert sum(s.standing == "now" for s in session.blocks) <= 1


@settings(max_examples=300)
@given(blocks, st.integers(1, 15), st.integers(1, 40), actions)
def test_whatever_happens_it_adds_up_and_resumes(
    of: Any, minutes: int, balls: int, done: list[tuple[str, int]]
) -> None:
    world = World(of, minutes, balls)
    for action, number in done:
        before, wrote = world.session, len(world.events)
        counted = world.balls
        try:
            world.do(action, number)
        except Refused:
            # Refused is without effect, but for the time that went by and a game that was left.
            world.balls = counted
            assert world.session.balls_used == before.balls_used
            assert all(e.kind in ("seen", "stop", "run-ended") for e in world.events[wrote:])
        world.watch()
        mark = world.session.run
        folded = fold(world.events)
        folded = folded.advanced(world.session.spent - folded.spent)
        if mark is not None:
            folded = folded.with_run(mark.balls, mark.over)
        assert same(folded, world.session), action
    world.keeper.stop()
    kept = [json.loads(json.dumps(dict(event.data))) for event in world.events]
    again = [Event(e.at, e.kind, e.spent, d) for e, d in zip(world.events, kept, strict=True)]
    assert same(fold(again), world.session)
    assert world.session.stopped


def test_killed_at_every_tick_it_resumes_the_same() -> None:
    """The same session, played through, and killed after each second: blocks and bucket agree."""
    whole = _played(kill=False)
    killed = _played(kill=True)
    for one, other in zip(whole.blocks, killed.blocks, strict=True):
        assert (one.standing, one.used, one.carries, one.runs) == (
            other.standing,
            other.used,
            other.carries,
            other.runs,
        )
    assert whole.balls_used == killed.balls_used == 44
    assert killed.over == whole.over == "all done"
    assert killed.spent == pytest.approx(whole.spent)


TEN_MINUTES = plan(
    block("warm-up", 1, 6),
    block("technique", 3, 14),
    block("find", 2, 6),
    block("drill", 4, 18, title="Corridor"),
)


def _played(kill: bool) -> Session:
    """A ball every 4 seconds, block by block; with `kill`, a new keeper after every write."""
    keeper, clock, events = start(TEN_MINUTES, 10, 50)
    run = 0

    def again() -> None:
        nonlocal keeper
        if kill and keeper.session.stopped is None:
            stands = None if keeper.session.run is None else (run, run == 18)
            clock.steady -= 500
            keeper = gone_on(events, clock, stands)

    for second in range(1, 600):
        clock.run(1)
        keeper.tick()
        if kill:
            # What a heartbeat would write within five seconds is written now: every tick is one.
            keeper._do("seen", {}) if keeper.session.stopped is None else None
            again()
        session = keeper.session
        if session.over:
            break
        state = session.now
        assert state is not None
        if second % 4 == 0:
            if state.block.kind == "find":
                keeper.carry("70") if len(state.typed) < 6 else keeper.done()
            elif state.block.kind == "drill":
                if session.run is None:
                    keeper.run_started("the run")
                run += 1
                keeper.run_at(run, run == 18)
                if run == 18:
                    keeper.leave_run()
                    again()
                    keeper.done()
            elif session.block_balls < state.balls:
                keeper.ball()
            else:
                keeper.done()
            again()
    return keeper.session


# The clock


def test_a_pause_stops_the_clock_and_changes_no_score() -> None:
    keeper, clock, _ = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 60)
    keeper.ball()
    keeper.pause()
    before = keeper.session
    run_for(keeper, clock, 600)
    keeper.resume()
    after = keeper.session
    assert after.spent == pytest.approx(before.spent) == pytest.approx(60)
    assert after.balls_used == before.balls_used == 1
    assert [(p.seconds, p.asked) for p in after.pauses] == [(pytest.approx(600), True)]
    run_for(keeper, clock, 10)
    assert keeper.session.spent == pytest.approx(70)


@pytest.mark.parametrize("counted", [False, True])
def test_asleep_is_a_pause_whether_the_steady_clock_sleeps_or_not(counted: bool) -> None:
    keeper, clock, events = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 60)
    (clock.run if counted else clock.wall)(1200)
    run_for(keeper, clock, 6)
    session = keeper.session
    assert session.spent == pytest.approx(66, abs=1.01)
    (pause,) = session.pauses
    assert pause.seconds == pytest.approx(1200, abs=HEARTBEAT + 1)
    assert not pause.asked
    assert fold(events).pauses == session.pauses


def test_a_clock_set_back_by_an_hour_changes_nothing() -> None:
    keeper, clock, events = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 60)
    clock.wall(-3600)
    run_for(keeper, clock, 60)
    assert keeper.session.spent == pytest.approx(120)
    assert keeper.session.pauses == ()
    clock.steady = 7.0
    resumed = gone_on(events, clock).session
    assert resumed.spent == pytest.approx(120, abs=HEARTBEAT)
    assert resumed.pauses == ()


def test_killed_for_a_day_it_goes_on_where_it_was() -> None:
    keeper, clock, events = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 62)
    keeper.ball()
    clock.wall(86400)
    clock.steady = 3.0
    resumed = gone_on(events, clock).session
    assert resumed.spent == pytest.approx(62)
    assert resumed.block_seconds_left == pytest.approx(4 * 60 - 62)
    assert [p.seconds for p in resumed.pauses] == [pytest.approx(86400)]


def test_time_is_up_ends_the_session_unless_a_game_is_in_play() -> None:
    keeper, clock, _ = start(plan(block("drill", 1, 10)), 1, 10)
    keeper.run_started("a")
    run_for(keeper, clock, 90)
    assert keeper.session.over is None
    assert "time is up" in (keeper.session.cue or "")
    assert keeper.session.seconds_left == pytest.approx(-30)
    keeper.run_at(4, over=True)
    run_for(keeper, clock, 20)
    session = keeper.session
    assert session.stopped == "time is up"
    assert session.spent == pytest.approx(91, abs=1.01)
    assert (session.balls_used, session.run) == (4, None)
    with pytest.raises(Refused, match="over"):
        keeper.ball()


@pytest.mark.parametrize("move", ["done", "skip", "put_back", "stop"])
def test_over_time_one_key_leaves_the_game_open_and_ends_the_session(move: str) -> None:
    keeper, clock, events = start(plan(block("drill", 1, 5), block("free", 5, 5)), 2, 10)
    keeper.run_started("a")
    keeper.run_at(1, False)
    run_for(keeper, clock, 130)
    assert keeper.session.over is None
    getattr(keeper, move)()
    assert keeper.session.stopped == ("stopped" if move == "stop" else "time is up")
    assert keeper.session.run is None
    assert keeper.session.balls_used == 1
    assert [event.kind for event in events][-2:] == ["run-ended", "stop"]
    assert same(fold(events), keeper.session)


def test_the_cues_are_soft() -> None:
    keeper, clock, _ = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 239)
    assert keeper.session.cue is None
    run_for(keeper, clock, 2)
    assert keeper.session.cue == "the block's time is up"
    keeper.ball()
    keeper.done()
    for _ in range(14):
        keeper.ball()
    assert keeper.session.cue == "the block's balls are hit"
    for _ in range(35):
        keeper.ball()
    assert keeper.session.cue == "the bucket is empty"
    with pytest.raises(Refused, match="0 balls left"):
        keeper.ball()
    assert keeper.session.over is None
    keeper.ball(-1)
    assert keeper.session.balls_left == 1


# Skip, lengthen, put back, re-fit


def test_put_back_comes_after_the_next_with_what_it_has_left() -> None:
    keeper, clock, _ = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 60)
    keeper.ball(2)
    keeper.put_back()
    session = keeper.session
    assert (session.current, session.order) == (1, (0, 2, 3))
    keeper.done()
    session = keeper.session
    assert session.current == 0
    assert session.block_seconds_left == pytest.approx(180)
    assert session.now is not None
    assert session.now.balls - session.block_balls == 4


def test_a_skipped_block_can_be_brought_back() -> None:
    keeper, _, _ = start(HALF_AN_HOUR, 30, 50)
    keeper.done()
    keeper.skip()
    assert keeper.session.blocks[1].standing == "skipped"
    keeper.put_back(1)
    assert keeper.session.order[0] == 1
    keeper.done()
    assert keeper.session.current == 1
    with pytest.raises(Refused, match="skipped or dropped"):
        keeper.put_back(0)


def test_lengthen_takes_from_what_is_to_come_and_no_more_than_there_is() -> None:
    keeper, _, _ = start(HALF_AN_HOUR, 30, 50)
    keeper.lengthen(600)
    session = keeper.session
    assert session.block_seconds_left == pytest.approx(14 * 60)
    assert any("shortened" in line or "dropped" in line for line in session.forecast.said)
    keeper.lengthen(100_000)
    assert keeper.session.block_seconds_left == pytest.approx(30 * 60)
    with pytest.raises(Refused, match="nothing left"):
        keeper.lengthen(60)


def test_a_session_that_will_not_fit_any_more_drops_the_least_needed() -> None:
    keeper, clock, _ = start(HALF_AN_HOUR, 30, 50)
    run_for(keeper, clock, 19 * 60)
    assert [s.block.kind for s in keeper.session.forecast.dropped] == ["technique"]
    keeper.done()
    session = keeper.session
    assert session.blocks[1].standing == "dropped"
    assert session.now is not None
    assert session.now.block.kind == "find"
    keeper.skip()
    assert keeper.session.now is not None
    assert keeper.session.now.block.kind == "drill"
    assert keeper.session.block_seconds_left <= keeper.session.seconds_left


def test_stop_keeps_everything_and_leaves_the_game_open() -> None:
    keeper, _, events = start(plan(block("drill", 10, 10)), 10, 20)
    keeper.run_started("a", before=3)
    keeper.run_at(7, over=False)
    keeper.stop()
    assert [event.kind for event in events[-2:]] == ["run-ended", "stop"]
    session = fold(events)
    assert (session.stopped, session.balls_used, session.blocks[0].runs) == ("stopped", 4, ("a",))


# Finding a stock carry


def test_carries_are_corrected_before_the_reveal_and_never_after() -> None:
    keeper, _, events = start(plan(block("find", 8, 6)), 10, 20)
    for typed in ("70", "71", "7", "69.5", "70", "72"):
        keeper.carry(typed)
    with pytest.raises(Refused, match="all 6"):
        keeper.carry("70")
    keeper.correct(3, "70.5")
    keeper.correct(6, None)
    state = keeper.session.blocks[0]
    assert [str(c) for c in state.typed] == ["70", "71", "70.5", "69.5", "70"]
    assert keeper.session.balls_used == 5
    assert state.found() is None
    keeper.reveal()
    found = keeper.session.blocks[0].found()
    assert found is not None
    # The centre of a Student t fitted to 69.5, 70, 70, 70.5, 71, whose mean is 70.2.
    assert found.carry == pytest.approx(70.2, abs=0.05)
    for act in (lambda: keeper.correct(1, "80"), lambda: keeper.carry("80"), keeper.reveal):
        with pytest.raises(Refused):
            act()
    assert fold(events).blocks[0].carries == keeper.session.blocks[0].carries


def test_a_shot_taken_out_of_a_search_was_hit_or_was_not() -> None:
    """A ball that does not count is out of the bucket; a number that was typed twice is not."""
    keeper, _, events = start(plan(block("find", 8, 6)), 10, 20)
    for typed in ("70", "71", "72"):
        keeper.carry(typed)
    keeper.correct(2, None, hit=True)
    assert keeper.session.balls_used == 3
    keeper.correct(2, None)
    assert keeper.session.balls_used == 2
    assert [str(carry) for carry in keeper.session.blocks[0].typed] == ["70"]
    assert same(fold(events), keeper.session)


def test_balls_of_a_match_are_out_of_the_bucket_whatever_is_in_hand() -> None:
    keeper, _, events = start(plan(block("find", 8, 6), block("free", 2, 2)), 10, 2)
    keeper.beside(1)
    keeper.carry("70")
    keeper.beside(1)
    assert keeper.session.balls_used == 3
    keeper.beside(-1)
    assert keeper.session.balls_used == 2
    assert len(keeper.session.blocks[0].typed) == 1
    assert same(fold(events), keeper.session)


@pytest.mark.parametrize("typed", ["", "x", "nan", "-3", "0", "inf"])
def test_a_carry_that_can_not_be_is_refused(typed: str) -> None:
    keeper, _, events = start(plan(block("find", 8, 6)), 10, 20)
    with pytest.raises(Refused, match="expected a carry"):
        keeper.carry(typed)
    assert [event.kind for event in events] == ["started"]


def test_too_few_carries_are_not_revealed() -> None:
    keeper, _, _ = start(plan(block("find", 8, 6), block("free", 2, 2)), 10, 20)
    for _ in range(4):
        keeper.carry("70")
    with pytest.raises(Refused, match="at least 5"):
        keeper.reveal()
    keeper.done()
    assert not keeper.session.blocks[0].revealed
    assert keeper.session.current == 1


# Pace


def test_balls_that_come_too_fast_are_noticed() -> None:
    keeper, clock, _ = start(HALF_AN_HOUR, 30, 50)
    for _ in range(3):
        run_for(keeper, clock, 8)
        keeper.ball()
    assert keeper.session.pace is None
    run_for(keeper, clock, 8)
    keeper.ball()
    assert keeper.session.pace == pytest.approx(8)
    assert keeper.session.hurried()
    assert not keeper.session.hurried(6.0)
    assert not keeper.session.hurried(None)
    for _ in range(3):
        run_for(keeper, clock, 30)
        keeper.ball()
    assert not keeper.session.hurried()


def test_balls_of_a_run_are_its_live_shots_void_ones_too_and_balls_in_between() -> None:
    shot = Entry(Kind.SHOT, "5", Shot(lateral=Seen(0)))
    lives = make("lives", Aim(width=Decimal(40)))
    entries = [shot, Entry(Kind.BETWEEN), shot, Entry(Kind.UNDO), shot, Entry(Kind.VOID)]
    assert balls_hit(Run.fold(lives, entries, between="driver")) == 3


@pytest.mark.parametrize(("minutes", "balls"), [(0, 10), (10, 0), (241, 10), (10, 501)])
def test_limits_that_can_not_be(minutes: int, balls: int) -> None:
    with pytest.raises(ValueError, match="expected 1 to"):
        Limits(minutes, balls)


def test_events_out_of_place_are_refused() -> None:
    session = new(HALF_AN_HOUR, Limits(30, 50), START)
    with pytest.raises(Refused, match="started"):
        fold([])
    with pytest.raises(Refused, match="unknown event"):
        session.after(Event(START, "dance", 0.0))


def test_a_write_that_fails_changes_nothing() -> None:
    keeper, _, _ = start(HALF_AN_HOUR, 30, 50)

    def full(event: Event) -> None:
        raise OSError("the disk is full")

    keeper._write = full
    before = keeper.session
    with pytest.raises(OSError, match="full"):
        keeper.ball()
    assert keeper.session == before


def test_the_clock_hands_over_nothing_before_it_starts() -> None:
    clock = Clock()
    clock.run(50)
    session = new(HALF_AN_HOUR, Limits(30, 50), clock.at)
    assert session.advanced(10).spent == 0


def test_balls_on_the_green_come_out_of_no_bucket() -> None:
    green = plan(block("drill", 10, 0, drill="nine-putts", where="green"), block("warm-up", 4, 6))
    keeper, clock, events = start(green, 20, 6)
    keeper.run_started("r")
    keeper.run_at(9, over=True)
    session = keeper.session
    assert (session.balls_used, session.balls_left, session.block_balls) == (0, 6, 9)
    assert session.cue is None
    assert [share.balls for share in session.forecast.shares] == [6]
    keeper.leave_run()
    assert (keeper.session.balls_used, keeper.session.block_balls) == (0, 9)
    run_for(keeper, clock, 10)
    assert gone_on(events, clock).session.balls_used == 0
