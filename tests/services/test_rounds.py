"""Rounds from the store: what each comes to, and the record that they make together."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.courses import Course, load_courses
from drillrunner.practice.looking_back.report.page import page
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.practice.rounds.index import RatedScore, Record
from drillrunner.practice.rounds.played import limits
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.scorecard import told_hole
from drillrunner.services.report import gather
from drillrunner.services.rounds import card_holes, current_index, player_rounds, told_rounds
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.practice.worlds import NO_DRILLS

FIRST = date(2026, 4, 1)
COURSE = load_courses().courses[0]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "shots.db", throwaway=True) as opened:
        yield opened


@pytest.fixture
def ines(store: Store) -> PlayerInfo:
    return store.add_player("Ines")


def played(
    store: Store,
    player: PlayerInfo,
    over: int,
    day: date = FIRST,
    course: Course = COURSE,
    numbers: tuple[int, ...] | None = None,
    *more: tuple[str, dict[str, object]],
) -> str:
    """A finished round, every hole so much over par; its id."""
    numbers = numbers or tuple(range(1, len(course.holes) + 1))
    holes = [
        ("hole", told_hole(HolePlayed(n, score=course.holes[n - 1].par + over))) for n in numbers
    ]
    new = NewRound(
        day, "score", course.id, course.as_kept, course.tees[0].name, {"holes": list(numbers)},
        [*holes, *more, ("finished", {})],
    )  # fmt: skip
    return store.rounds.add(player.id, new)[0].id


def eighteen(rating: str = "72.0", slope: int = 113) -> Course:
    """Two times the nine holes that come with the program."""
    holes = COURSE.holes[:9]
    tee = replace(COURSE.tees[0], rating=Decimal(rating), slope=slope, lengths=())
    tee = replace(tee, par=2 * sum(hole.par for hole in holes))
    both = [replace(hole, index=2 * hole.index - (at < 9)) for at, hole in enumerate(holes * 2)]
    order = sorted(range(18), key=lambda at: both[at].index)
    both = [replace(hole, index=order.index(at) + 1) for at, hole in enumerate(both)]
    return replace(COURSE, id="twice", tees=(tee,), holes=tuple(both))


def test_gross_adjusted_and_differential_by_the_index_in_force(store, ines) -> None:
    course = eighteen()
    played(store, ines, 6, course=course)
    found = player_rounds(store, ines).rounds[0]
    # Without an index a hole counts par and five at most.
    assert (found.gross, found.adjusted) == (course.par + 6 * 18, course.par + 5 * 18)
    assert found.differential == course.par + 90 - 72
    store.change_player(ines.id, index=Decimal(18))
    played(store, ines, 6, date.today() + timedelta(1), course)
    later = player_rounds(store, ines).rounds[1]
    # Course handicap 18 + 72 - par: one stroke a hole, and so many more on the hardest.
    assert later.adjusted == course.par + 2 * 18 + 18 + (72 - course.par)


def test_the_typed_index_is_in_force_until_three_rounds_make_one(store, ines) -> None:
    store.change_player(ines.id, index=Decimal("20.5"))
    assert current_index(store, ines) == Decimal("20.5")
    course = eighteen()
    for at in range(3):
        played(store, ines, 1, FIRST + timedelta(at), course)
    found = player_rounds(store, ines)
    assert {one.index for one in found.rounds} == {Decimal("20.5")}
    differential = course.par + 18 - 72
    scores = [RatedScore.of(FIRST + timedelta(at), differential) for at in range(3)]
    assert found.index == Record.of(scores).index == differential - 2


def test_nine_holes_wait_for_a_partner_and_make_one_score_with_it(store, ines) -> None:
    nine = replace(COURSE, holes=COURSE.holes[:9], tees=(replace(
        COURSE.tees[0], par=sum(hole.par for hole in COURSE.holes[:9]), lengths=(),
        rating=Decimal("35.2"), slope=120,
    ),))  # fmt: skip
    first = played(store, ines, 1, FIRST, nine)
    found = player_rounds(store, ines)
    assert found.waiting is not None
    assert found.waiting.info.id == first
    assert found.rounds[0].differential is None
    played(store, ines, 2, FIRST + timedelta(3), nine)
    found = player_rounds(store, ines)
    assert found.waiting is None
    par = nine.par
    exact = Decimal(113) / 120 * (2 * par + 27 - 2 * Decimal("35.2"))
    assert found.rounds[1].differential == exact.quantize(Decimal("0.1"))
    assert [step.score.day for step in found.record.steps] == [FIRST + timedelta(3)]


def test_nine_of_eighteen_count_by_the_figure_of_the_club_alone(store, ines) -> None:
    course = eighteen()
    played(store, ines, 1, FIRST, course, tuple(range(10, 19)))
    shown = ("shown", {"differential": 19.4})
    played(store, ines, 1, FIRST, course, tuple(range(1, 10)), shown)
    without, typed = player_rounds(store, ines).rounds
    assert (without.differential, without.counts) == (None, False)
    assert (typed.differential, typed.counts) == (Decimal("19.4"), True)


def test_taken_out_counts_no_more_and_comes_back(store, ines) -> None:
    id = played(store, ines, 1, course=eighteen())
    store.rounds.tell(id, store.rounds.round(id).seq + 1, "taken out")
    found = player_rounds(store, ines)
    assert found.record.steps == ()
    assert found.rounds[0].differential is not None
    assert found.like(FIRST, "twice", COURSE.tees[0].name) == ()
    store.rounds.tell(id, store.rounds.round(id).seq + 1, "put back")
    found = player_rounds(store, ines)
    assert len(found.record.steps) == 1
    assert len(found.like(FIRST, "twice", COURSE.tees[0].name)) == 1


def test_order_within_a_day_can_be_said(store, ines) -> None:
    morning, noon = (played(store, ines, over, course=eighteen()) for over in (1, 2))
    store.rounds.tell(noon, store.rounds.round(noon).seq + 1, "order", {"order": 0})
    assert [one.info.id for one in player_rounds(store, ines).rounds] == [noon, morning]


def test_an_old_round_keeps_the_rating_that_the_course_had(store, ines) -> None:
    played(store, ines, 1, course=eighteen("72.0"))
    played(store, ines, 1, FIRST + timedelta(1), eighteen("70.0", 130))
    before, after = player_rounds(store, ines).rounds
    assert before.tee is not None
    assert after.tee is not None
    assert (before.tee.rating, after.tee.rating) == (Decimal("72.0"), Decimal("70.0"))
    assert before.differential == before.gross - 72


def test_a_score_of_a_list_keeps_the_differential_of_the_club(store, ines) -> None:
    facts = {"gross": 92, "rating": 71.7, "slope": 134, "holes": 18}
    told = [("shown", {"differential": 16.9}), ("finished", {})]
    store.rounds.add(
        ines.id,
        NewRound(FIRST, "score", data=facts, told=[("finished", {})]),
        NewRound(FIRST, "score", data=facts, told=told),
    )
    worked_out, shown = player_rounds(store, ines).rounds
    # Rules of Handicapping, worked example: 92 on 71.7 and 134 is 17.1.
    assert (worked_out.differential, shown.differential) == (Decimal("17.1"), Decimal("16.9"))


def test_holes_for_the_split_of_the_strokes_are_in_yards(store, ines) -> None:
    played(store, ines, 1)
    found = player_rounds(store, ines)
    assert told_rounds(found) == ()
    holes = card_holes(found.rounds[0])
    assert [hole.par for hole in holes] == [hole.par for hole in COURSE.holes]
    assert holes[0].length == COURSE.yards(1, COURSE.tees[0])
    assert holes[0].played.score == COURSE.holes[0].par + 1


def test_limits_on_nine_of_eighteen_are_those_of_the_whole_card() -> None:
    course = eighteen()
    every = limits(course, course.tees[0], range(1, 19), Decimal("9.3"))
    assert limits(course, course.tees[0], range(10, 19), Decimal("9.3")) == every[9:]


def test_ten_years_are_folded_in_a_time_that_nobody_waits_for(store, ines) -> None:
    course, rounds = eighteen(), []
    for at in range(500):
        holes = [
            ("hole", told_hole(HolePlayed(
                n, "left", None, Decimal(150), "on", None, None, Decimal(20), 2, None, 4,
            ))) for n in range(1, 19)
        ]  # fmt: skip
        rounds.append(NewRound(
            FIRST - timedelta(7 * at), "full", course.id, course.as_kept,
            course.tees[0].name, {}, [*holes, ("finished", {})],
        ))  # fmt: skip
    store.rounds.add(ines.id, *rounds)
    began = time.process_time()
    found = player_rounds(store, ines)
    print(f"500 rounds: {time.process_time() - began:.3f} s")
    assert len(found.rounds) == len(found.record.steps) == 500


def test_the_page_for_a_coach_tells_of_rounds_and_index(store, ines) -> None:
    for at in range(3):
        played(store, ines, 1, FIRST + timedelta(at), eighteen())
    out = played(store, ines, 9, FIRST, eighteen())
    store.rounds.tell(out, store.rounds.round(out).seq + 1, "taken out")
    report = gather(store, ines, Covered(), datetime(2026, 6, 1, tzinfo=UTC), NO_DRILLS)
    text = page(report, str)
    assert "<h2>Rounds</h2>" in text
    assert f"Index {player_rounds(store, ines).index}." in text
    assert len(report.rounds) == 3
