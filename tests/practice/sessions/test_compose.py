"""A plan from history and limits: pure, deterministic, and never over them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from drillrunner.practice.sessions.compose import DrillFact, Facts, compose
from drillrunner.practice.sessions.refit import Share, fit
from drillrunner.practice.sessions.session import Limits

NOW = datetime(2024, 5, 1, tzinfo=UTC)

scores = st.none() | st.integers(0, 40).map(Decimal)
drills = st.lists(
    st.builds(
        lambda number, balls, minutes, days, best, last, needs: DrillFact(
            id=f"drill-{number}",
            title=f"Drill {number}",
            balls=balls,
            minutes=minutes,
            last_played=None if days is None else NOW - timedelta(days=days),
            best=best,
            last=last,
            needs=("sand-wedge", "half") if needs else None,
        ),
        st.integers(0, 30),
        st.none() | st.integers(1, 40),
        st.none() | st.integers(1, 30),
        st.none() | st.integers(0, 300),
        scores,
        scores,
        st.booleans(),
    ),
    max_size=10,
    unique_by=lambda drill: drill.id,
)
limits = st.builds(Limits, st.integers(1, 240), st.integers(1, 500))


def fact(
    id: str,
    days: int | None = None,
    best: int | None = None,
    last: int | None = None,
    balls: int = 10,
    minutes: int = 6,
) -> DrillFact:
    return DrillFact(
        id,
        id.capitalize(),
        balls,
        minutes,
        None if days is None else NOW - timedelta(days=days),
        None if best is None else Decimal(best),
        None if last is None else Decimal(last),
        finished=best is not None,
    )


@given(drills, limits, st.randoms())
def test_never_over_the_limits_and_always_the_same(
    known: list[DrillFact], within: Limits, random: object
) -> None:
    stale = (("gap-wedge", "full"),)
    plan = compose(Facts(tuple(known), NOW, stale), within)
    assert plan.minutes <= within.minutes
    assert plan.balls <= within.balls
    shuffled = known[:]
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert compose(Facts(tuple(shuffled), NOW, stale), within) == plan


@given(drills, limits)
def test_the_order_of_the_blocks_and_a_reason_for_each(
    known: list[DrillFact], within: Limits
) -> None:
    plan = compose(Facts(tuple(known), NOW), within)
    kinds = [block.kind for block in plan.blocks]
    assert kinds[0] == "warm-up"
    order = ["warm-up", "technique", "find", "drill"]
    games = [kind for kind in kinds if kind != "free"]
    assert games == sorted(games, key=order.index)
    assert all(block.why and "\n" not in block.why for block in plan.blocks)
    played = [block.drill for block in plan.blocks if block.drill]
    assert len(played) == len(set(played))
    needy = {drill.id for drill in known if drill.needs}
    assert not needy & set(played)
    if "drill" in kinds:
        assert kinds[-1] == "drill"
    # A plan that was composed for these limits needs no re-fit.
    wanted = [Share(at, b, b.minutes * 60, b.balls) for at, b in enumerate(plan.blocks)]
    assert not fit(wanted, within.seconds, within.balls).said


def test_the_worked_half_hour() -> None:
    """30 minutes, 50 balls: 5 and 5 to warm up; the close one to finish; 6 and 10 of technique;
    the one never played, then the one left longest, as far as there is room."""
    facts = Facts(
        (
            fact("often", days=1, best=20, last=10),
            fact("close", days=2, best=10, last=9),
            fact("left", days=40, best=10, last=5),
            fact("never"),
        ),
        NOW,
    )
    plan = compose(facts, Limits(30, 50))
    assert [(b.kind, b.drill, b.minutes, b.balls) for b in plan.blocks] == [
        ("warm-up", None, 5, 5),
        ("technique", None, 7, 15),
        ("drill", "never", 6, 10),
        ("drill", "left", 6, 10),
        ("drill", "close", 6, 10),
    ]
    assert [b.why for b in plan.blocks] == [
        "first; 5 minutes, not ten: short",
        "before the games, as coaches order it",
        "never played yet",
        "left longest: 40 days",
        "to finish on: 9 last time, your best is 10",
    ]


def test_a_long_session_warms_up_ten_minutes_and_finds_what_a_drill_needs() -> None:
    needy = DrillFact("needy", "Needy", 10, 6, needs=("sand-wedge", "half"))
    plan = compose(Facts((fact("a", days=3), needy), NOW), Limits(60, 90))
    assert (plan.blocks[0].minutes, plan.blocks[0].note) == (10, "")
    (find,) = [block for block in plan.blocks if block.kind == "find"]
    assert (find.club, find.swing, find.shots) == ("sand-wedge", "half", 7)
    assert find.why == "Needy aims at it"
    stale = compose(Facts((fact("a", days=3),), NOW, (("gap-wedge", "full"),)), Limits(60, 90))
    assert [b.why for b in stale.blocks if b.kind == "find"] == ["the stock carry has gone stale"]


@given(drills, limits)
def test_there_is_always_something_to_hit(known: list[DrillFact], within: Limits) -> None:
    assert compose(Facts(tuple(known), NOW), within).balls > 0


def test_the_smallest_sessions() -> None:
    """A single minute is a warm-up with its ball; one ball in half an hour is not kept back."""
    given = [
        [(b.kind, b.minutes, b.balls) for b in compose(Facts((), NOW), Limits(*within)).blocks]
        for within in ((1, 1), (2, 1), (30, 1))
    ]
    assert given == [
        [("warm-up", 1, 1)],
        [("warm-up", 1, 0), ("free", 1, 1)],
        [("warm-up", 5, 0), ("free", 25, 1)],
    ]


def test_a_short_session_says_what_the_warm_up_trades_away() -> None:
    plan = compose(Facts((), NOW), Limits(20, 30))
    assert "fewer injuries" in plan.blocks[0].note
    assert [b.kind for b in compose(Facts((), NOW), Limits(1, 1)).blocks] == ["warm-up"]


def test_a_record_just_set_is_not_close_to_itself() -> None:
    just = replace(fact("set", days=1, best=10, last=10), just_set=True)
    plan = compose(Facts((just, fact("near", best=10, last=9)), NOW), Limits(30, 50))
    assert plan.blocks[-1].drill == "near"
    alone = compose(Facts((just,), NOW), Limits(30, 50))
    assert alone.blocks[-1].why == "to finish on: your best is 10, set last time"
    tied = compose(Facts((replace(just, just_set=False),), NOW), Limits(30, 50))
    assert tied.blocks[-1].why == "to finish on: 10 again last time, your best is 10"


def test_what_can_not_be_beaten_is_no_stake() -> None:
    perfect = replace(fact("done", best=3, last=4), beatable=False)
    plan = compose(Facts((perfect, fact("far", days=1, best=10, last=2)), NOW), Limits(30, 50))
    assert plan.blocks[-1].drill == "far"
    alone = compose(Facts((perfect,), NOW), Limits(30, 50))
    assert (
        alone.blocks[-1].why == "to finish on: your best is 3, and nothing beats it: make it again"
    )


def test_a_last_run_without_a_score_is_said_so() -> None:
    plan = compose(Facts((fact("a", days=1, best=7),), NOW), Limits(30, 50))
    assert plan.blocks[-1].why == "to finish on: no score last time, your best is 7"
