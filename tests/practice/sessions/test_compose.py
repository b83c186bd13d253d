"""A plan from history and limits: pure, deterministic, and never over them."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.catalogue.plans import Plan
from drillrunner.odds.strokes.needs import Kind, Need
from drillrunner.practice.sessions.claims import DialEnds, DrillFact, Facts, claim
from drillrunner.practice.sessions.compose import compose
from drillrunner.practice.sessions.fitting import NEAR, Odds
from drillrunner.practice.sessions.refit import Share, fit
from drillrunner.practice.sessions.session import Limits

NOW = datetime(2024, 5, 1, tzinfo=UTC)
CLUBS = ("driver", "7-iron", "sand-wedge")
PARTS = {"driver": "woods", "7-iron": "irons", "sand-wedge": "wedges"}
DIAL = DialEnds("aim.width", Decimal(10), Decimal(60), Decimal(1))

scores = st.none() | st.integers(0, 40).map(Decimal)
drills = st.lists(
    st.builds(
        lambda number, balls, minutes, days, best, last, needs, club, dial: DrillFact(
            id=f"drill-{number}",
            title=f"Drill {number}",
            balls=balls,
            minutes=minutes,
            last_played=None if days is None else NOW - timedelta(days=days),
            best=best,
            last=last,
            needs=("sand-wedge", "half") if needs else None,
            swings=((club, "full"),),
            part=PARTS[club],
            dial=DIAL if dial else None,
        ),
        st.integers(0, 30),
        st.none() | st.integers(1, 40),
        st.none() | st.integers(1, 30),
        st.none() | st.integers(0, 300),
        scores,
        scores,
        st.booleans(),
        st.sampled_from(CLUBS),
        st.booleans(),
    ),
    max_size=10,
    unique_by=lambda drill: drill.id,
)
limits = st.builds(Limits, st.integers(1, 240), st.integers(1, 500))
facts = st.builds(
    lambda known, visits, thought: Facts(
        tuple(known), NOW, (("gap-wedge", "full"),), visits=visits, thought=thought
    ),
    drills,
    st.sampled_from((0, 10)),
    st.none() | st.just("one thing"),
)


def fact(
    id: str,
    days: int | None = None,
    best: int | None = None,
    last: int | None = None,
    balls: int = 10,
    minutes: int = 6,
    club: str = "",
    serves: str | None = None,
    dial: DialEnds | None = None,
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
        swings=((club or id, "full"),),
        serves=() if serves is None else ((serves, 1.0),),
        part=PARTS.get(club, "irons"),
        dial=dial,
    )


def some(id: str, set: tuple[str, ...]) -> Odds:
    """Chances that differ by drill, and fall along a dial."""
    if set:
        return Odds(1.0, int(set[0].partition("=")[2]) / 60, Decimal(5), True)
    number = sum(map(ord, id)) % 7
    return Odds((0.02, 1.0)[number > 0], number / 6, Decimal(5), True)


def need(kind: Kind, lost: float, rounds: float = 6.0) -> Need:
    return Need(kind, lost, lost - 0.5, lost + 0.5, rounds)


def worked(plan: Plan) -> list[str | None]:
    return [block.drill for block in plan.blocks if block.kind == "drill"]


@settings(max_examples=40)
@given(facts, limits, st.randoms(), st.booleans())
def test_never_over_the_limits_and_always_the_same(
    known: Facts, within: Limits, random: object, weighed: bool
) -> None:
    chances = some if weighed else None
    plan = compose(known, within, chances)
    assert plan.minutes <= within.minutes
    assert plan.balls <= within.balls
    shuffled = list(known.drills)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert compose(replace(known, drills=tuple(shuffled)), within, chances) == plan


@settings(max_examples=40)
@given(facts, limits)
def test_the_order_of_the_blocks_and_a_reason_for_each(known: Facts, within: Limits) -> None:
    plan = compose(known, within, some)
    kinds = [block.kind for block in plan.blocks]
    assert kinds[0] == "warm-up"
    order = ["warm-up", "technique", "find", "drill"]
    games = [kind for kind in kinds if kind != "free"]
    assert games == sorted(games, key=order.index)
    assert all(block.why and "\n" not in block.why for block in plan.blocks)
    played = worked(plan)
    assert len(played) == len(set(played))
    assert not {drill.id for drill in known.drills if drill.needs} & set(played)
    assert ("technique" in kinds) <= (known.thought is not None)
    # A plan that was composed for these limits needs no re-fit.
    wanted = [Share(at, b, b.minutes * 60, b.balls) for at, b in enumerate(plan.blocks)]
    assert not fit(wanted, within.seconds, within.balls).said


@given(facts, limits)
def test_no_block_is_hopeless_unless_none_fits(known: Facts, within: Limits) -> None:
    plan = compose(known, within, some)
    blocks = [block for block in plan.blocks if block.kind == "drill"]
    for block in blocks:
        odds = some(block.drill or "", block.set)
        hopeless = odds.ends < 0.1 or (odds.beats or 0) < 0.1
        assert not hopeless or block.why.startswith(("to measure", "to finish on"))
        assert block.chance == odds.beats


def test_a_need_outweighs_what_was_left_longest() -> None:
    """The worked half hour: a warm-up, what costs most, and a finish that serves it too."""
    known = Facts(
        (
            fact("wedges", days=90, club="lob-wedge", serves="60-100"),
            fact("corridor", days=2, best=10, last=9, club="driver", serves="driving"),
            fact("irons", days=30, best=10, last=3, club="7-iron", serves="100-140"),
        ),
        NOW,
        needs=(need("driving", 1.4), need("100-140", 0.9)),
        balls={("driver", "full"): 300, ("7-iron", "full"): 300, ("lob-wedge", "full"): 300},
    )
    plan = compose(known, Limits(18, 30))
    assert [(b.kind, b.drill, b.minutes, b.balls) for b in plan.blocks] == [
        ("warm-up", None, 3, 3),
        ("drill", "irons", 6, 10),
        ("free", None, 3, 7),
        ("drill", "corridor", 6, 10),
    ]
    assert plan.blocks[1].why == "shots from 100 to 140 cost you 0.9 a round, 6 rounds"
    assert (plan.blocks[1].serves, plan.blocks[-1].serves) == ("100-140", "driving")
    assert plan.blocks[-1].why == "to finish on: 9 last time, your best is 10"
    early = replace(known, needs=(need("driving", 1.4, 2), need("100-140", 0.9, 2)))
    assert worked(compose(early, Limits(14, 30)))[0] == "wedges"


def test_a_sure_miss_is_worth_a_drill_with_that_club() -> None:
    known = Facts(
        (fact("a", days=5, club="driver"), fact("b", days=20, club="lob-wedge")),
        NOW,
        balls={("driver", "full"): 300, ("lob-wedge", "full"): 300},
        sides={("driver", "full"): "you miss right, 9 in 10 sure"},
        clubs={"driver": "Driver"},
    )
    found = claim(known.drills[0], known)
    assert found.why == "driver: you miss right, 9 in 10 sure"
    assert found.value > claim(known.drills[1], known).value
    assert found.said.startswith(f"worth {found.value:.2f} strokes a round: ")


def test_the_first_three_days_measure_each_part_of_the_bag() -> None:
    some_drills = tuple(
        fact(f"{club}-{at}", club=club, balls=10 + at) for club in CLUBS for at in range(3)
    )
    new = Facts(some_drills, NOW, visits=0)
    plan = compose(new, Limits(30, 50), lambda *_: Odds(1.0, 0.5, None, False))
    assert {block.club for block in plan.blocks if block.drill} == set(CLUBS)
    assert all(b.why.startswith("to measure") for b in plan.blocks if b.drill)
    assert "measure" in plan.note
    quick = compose(new, Limits(10, 30), None)
    assert quick.balls >= 20
    assert len({block.club for block in quick.blocks if block.drill}) >= 2
    later = compose(replace(new, visits=3), Limits(30, 50))
    assert later.blocks[-1].why.startswith("to finish on")


def test_a_drill_that_is_too_hard_is_turned_to_where_it_fits_or_left_out() -> None:
    hard = fact("hard", club="driver", dial=DIAL)
    stuck = fact("stuck", club="7-iron")

    def chances(id: str, set: tuple[str, ...]) -> Odds:
        if set:
            return Odds(1.0, int(set[0].partition("=")[2]) / 60, Decimal(9), True)
        return Odds(1.0 if id == "hard" else 0.03, 0.01, Decimal(9), True)

    known = Facts((hard, stuck), NOW, visits=0)
    plan = compose(known, Limits(30, 50), chances)
    (block,) = [b for b in plan.blocks if b.drill]
    assert block.drill == "hard"
    assert block.chance is not None
    assert abs(block.chance - 0.5) < NEAR
    width = round(60 * block.chance)
    assert block.set == (f"aim.width={width}",)
    assert block.why.endswith("; turned to where it fits you")
    back = compose(known, Limits(30, 50), chances, written=["hard"])
    assert [b.set for b in back.blocks if b.drill] == [()]
    alone = compose(replace(known, drills=(stuck,)), Limits(30, 50), chances)
    assert [b.drill for b in alone.blocks if b.drill] == ["stuck"]
    assert "no drill fits you yet" in alone.blocks[1].why


def test_the_finish_can_be_won_today() -> None:
    known = Facts(
        tuple(fact(f"d{at}", days=at, best=10, last=5, club=f"club-{at}") for at in range(5)), NOW
    )
    plan = compose(
        known,
        Limits(30, 50),
        lambda id, _: Odds(1.0, {"d2": 0.45}.get(id, 0.2), Decimal(10), True),
    )
    assert plan.blocks[-1].drill == "d2"
    assert plan.blocks[-1].why == "to finish on: 5 last time, your best is 10, 45 % today"


def test_technique_is_for_who_has_a_thought_and_else_its_minutes_go_to_work() -> None:
    known = Facts(
        tuple(fact(id, days=5, club=id, serves="driving") for id in "abcd"),
        NOW,
        needs=(need("driving", 1.0),),
        visits=9,
    )
    without = compose(known, Limits(30, 50))
    assert [b.kind for b in without.blocks].count("drill") == 4
    thinks = replace(known, thought="Turn, do not slide.", thought_since=date(2024, 4, 2))
    plan = compose(thinks, Limits(30, 50))
    technique = plan.blocks[1]
    assert (technique.kind, technique.minutes, technique.balls) == ("technique", 6, 10)
    assert technique.thought == "Turn, do not slide."
    assert technique.why == "the one thing that you work on, since 2024-04-02"
    assert technique.club == "d"
    assert "10 balls of D before and after" in technique.note


def test_what_is_left_over_is_offered() -> None:
    known = Facts((fact("a", minutes=10, club="driver"),), NOW)
    plan = compose(known, Limits(30, 50))
    free = next(block for block in plan.blocks if block.kind == "free")
    assert free.why == f"{free.balls} balls left: once more what you like, or free"
    assert (plan.minutes, plan.balls) == (30, 50)
    full = compose(Facts((fact("a", minutes=25, balls=40, club="a"),), NOW), Limits(30, 48))
    assert "4 balls left: once more, or free" in full.note


def test_a_need_without_a_drill_is_said() -> None:
    known = Facts((fact("a", serves="driving"),), NOW, needs=(need("putting", 1.2),))
    said = "putting costs you 1.2 a round, 6 rounds: there is no drill for it here"
    assert said in compose(known, Limits(30, 50)).note


def test_drills_with_one_club_are_kept_apart() -> None:
    known = Facts(
        tuple(fact(f"{club}-{at}", club=club, days=9) for club in CLUBS[:2] for at in (1, 2)), NOW
    )
    clubs = [block.club for block in compose(known, Limits(30, 60)).blocks if block.drill]
    assert len(clubs) == 4
    assert all(one != other for one, other in itertools.pairwise(clubs))


def test_a_long_session_warms_up_ten_minutes_and_finds_what_a_drill_needs() -> None:
    needy = DrillFact("needy", "Needy", 10, 6, needs=("sand-wedge", "half"))
    plan = compose(Facts((fact("a", days=3), needy), NOW), Limits(60, 90))
    assert (plan.blocks[0].minutes, plan.blocks[0].note) == (10, "")
    (find,) = [block for block in plan.blocks if block.kind == "find"]
    assert (find.club, find.swing, find.shots) == ("sand-wedge", "half", 7)
    assert find.why == "Needy aims at it"
    stale = compose(Facts((fact("a", days=3),), NOW, (("gap-wedge", "full"),)), Limits(60, 90))
    assert [b.why for b in stale.blocks if b.kind == "find"] == ["the stock carry has gone stale"]


@given(facts, limits)
def test_there_is_always_something_to_hit(known: Facts, within: Limits) -> None:
    assert compose(known, within).balls > 0


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


def test_the_finish_leaves_room_for_work() -> None:
    """However much it is worth: half of the time at most, unless nothing shorter has room."""
    known = Facts(
        (
            fact("long", minutes=25, balls=18, club="driver", serves="driving"),
            fact("short", minutes=8, club="driver", serves="driving"),
            fact("irons", minutes=8, club="7-iron"),
        ),
        NOW,
        needs=(need("driving", 2.0),),
    )
    assert worked(compose(known, Limits(30, 50), lambda *_: Odds(1.0, 0.5, None, False))) == [
        "irons",
        "short",
    ]
    alone = replace(known, drills=known.drills[:1])
    assert worked(compose(alone, Limits(30, 50))) == ["long"]


def test_what_is_played_on_the_green_comes_in_one_go() -> None:
    green = tuple(
        replace(fact(f"green-{at}", club="putter", serves="putting"), green=True) for at in range(3)
    )
    bay = tuple(fact(f"bay-{at}", club=CLUBS[at], serves="driving") for at in range(2))
    for putting, driving in ((3.0, 1.0), (1.0, 3.0)):
        known = Facts(green + bay, NOW, needs=(need("putting", putting), need("driving", driving)))
        plan = compose(
            replace(known, thought="Turn"),
            Limits(60, 80),
            lambda *_: Odds(1.0, 0.5, None, False),
        )
        where = [block.where for block in plan.blocks if block.kind == "drill"]
        assert {"bay", "green"} == set(where)
        assert sum(one != other for one, other in itertools.pairwise(where)) == 1
        technique = next(block for block in plan.blocks if block.kind == "technique")
        assert technique.club in CLUBS, "its balls are hit at the bay"
