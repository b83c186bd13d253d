"""What next: the order of the evidence, what it says, and what plays it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from drillrunner.odds.strokes.needs import Kind, Need
from drillrunner.practice.looking_back.need_words import lines, worst_of
from drillrunner.practice.looking_back.what_next import what_next
from drillrunner.practice.sessions.claims import DrillFact, Facts

DRILLS = (
    DrillFact(
        "corridor", "Corridor", 15, 10, swings=(("driver", "full"),), serves=(("driving", 1.0),)
    ),
    DrillFact("irons", "Irons", 5, 4, swings=(("7-iron", "full"),), serves=(("100-140", 1.0),)),
    DrillFact("nines", "Nines", 5, 4, swings=(("9-iron", "full"),)),
    DrillFact("woods", "Woods", 5, 4, swings=(("3-wood", "full"),)),
    DrillFact("hybrids", "Hybrids", 5, 4, swings=(("4-hybrid", "full"),)),
    DrillFact("wedges", "Wedges", 5, 4, needs=("sand-wedge", "half")),
)
FACTS = Facts(
    DRILLS,
    datetime(2024, 5, 1, tzinfo=UTC),
    stale=(("gap-wedge", "full"),),
    balls={(club, "full"): 100 for club in ("driver", "7-iron", "9-iron", "3-wood")},
    sides={("driver", "full"): "you miss right, 9 in 10 sure"},
    needs=(
        Need("100-140", 0.9, 0.3, 1.5, 6.0),
        Need("putting", 0.4, -0.2, 1.0, 6.0),
        Need("driving", -0.3, -0.9, 0.3, 6.0),
    ),
)


def test_the_strongest_evidence_comes_first_and_each_has_what_plays_it() -> None:
    wider = {("putter", "full"): "two in three within 2 yd now", ("9-iron", "full"): "wider now"}
    found = list(what_next(FACTS, wider, {"irons": "worse", "woods": "worse"}))
    assert [(thing.what, thing.drill, thing.find) for thing in found] == [
        ("Irons", "irons", None),
        ("Corridor", "corridor", None),
        ("Nines", "nines", None),
        ("Woods", "woods", None),
        ("Find the stock carry of your sand-wedge, half", None, ("sand-wedge", "half")),
        ("Find the stock carry of your gap-wedge", None, ("gap-wedge", "full")),
        ("Hybrids", "hybrids", None),
    ]
    assert found[0].line == (
        "Irons: shots from 100 to 140 cost you 0.9 a round, 6 rounds; 8 in 10 between 0.3 and 1.5"
    )
    assert found[1].why == "driver, you miss right, 9 in 10 sure"
    assert found[2].line == "Nines: 9-iron, wider now; the two 80 % intervals are apart"
    assert found[-1].why == "no ball with the 4-hybrid lately"


def test_a_club_is_worked_on_where_it_is_hit_most_purely() -> None:
    """A drill of one club before one that has it among others, whatever those are worth."""
    both = DrillFact("both", "Both", 9, 5, swings=(("driver", "full"), ("9-iron", "full")))
    facts = replace(FACTS, drills=(both, *DRILLS), needs=(), stale=())
    assert next(iter(what_next(facts, {}, {}))).drill == "corridor"
    alone = replace(facts, drills=(both,), balls={})
    assert [thing.why for thing in what_next(alone, {}, {})] == [
        "driver, you miss right, 9 in 10 sure"
    ], "one drill is named once"


def test_early_rounds_name_nothing() -> None:
    early = replace(FACTS, needs=tuple(replace(need, rounds=2.0) for need in FACTS.needs))
    first, *_ = what_next(early, {}, {})
    assert first.why.startswith("driver, you miss right")
    assert "too early to tell: from three rounds on the largest need is named" in list(
        lines(early.needs, 10.0)
    )


def test_the_words_are_no_surer_than_the_needs() -> None:
    said = list(lines(FACTS.needs, 10.0, goal=False))
    assert said[0] == "against an index of 10; 6 rounds"
    assert said[1] == "shots from 100 to 140: 0.9 a round (0.3 to 1.5), 6 rounds"
    assert said[2] == "lengths stand in their order: under ten rounds none can be ranked"
    open_ = (replace(FACTS.needs[0], low=-0.1),)
    assert list(lines(open_, 10.0))[1].endswith(", so far")
    assert list(lines((), 10.0)) == [
        "no round that tells where strokes went yet: type one in full, or its putts"
    ]


def test_lengths_count_together_until_they_can_be_ranked() -> None:
    """A weakness of all long shots is named although no length of it costs most by itself."""
    some: tuple[Kind, ...] = ("60-100", "100-140", "140-180", "180+")
    six = (Need("putting", 0.8, 0.4, 1.2, 6.0), *(Need(k, 0.5, 0.1, 0.9, 6.0) for k in some))
    found = worst_of(six)
    assert found is not None
    assert found.said == "shots from 60 and more cost you 2.0 a round, 6 rounds"
    assert (found.low, found.high, found.sure) == pytest.approx((1.2, 2.8, True))
    first, *_ = what_next(replace(FACTS, needs=six), {}, {})
    assert (first.drill, first.why) == ("irons", found.said)
    ranked = worst_of(tuple(replace(need, rounds=10.0) for need in six))
    assert ranked is not None
    assert ranked.kinds == ("putting",)


def test_a_need_without_a_drill_is_said_all_the_same() -> None:
    only = replace(FACTS, needs=(Need("putting", 1.2, 0.8, 1.6, 6.0),))
    first, *_ = what_next(only, {}, {})
    assert (first.what, first.drill) == ("putting", None)
