"""Standings against matches counted by hand, and against a plain count of made-up seasons."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from drillrunner.practice.matches.record import MatchRecord, Result
from drillrunner.practice.matches.standings import DecidedMatch, Pair, Tally, standings

START = datetime(2025, 3, 30, 12, tzinfo=UTC)


def played(day: int, drill: str, *ranks: int | None, winners: tuple[int, ...]) -> DecidedMatch:
    """A match of Ines, Tobi and Mara, in that order, on a day of the season."""
    names = dict(enumerate(("Ines", "Tobi", "Mara")[: len(ranks)], 1))
    kept = Result(
        winners=winners,
        by="score",
        scores=dict.fromkeys(names, 1),
        ranks=dict(zip(names, ranks, strict=True)),
    )
    return DecidedMatch(drill, drill.title(), START + timedelta(day), names, kept)


SEASON = (
    played(0, "lives", 1, 2, 3, winners=(1,)),
    played(1, "lives", 2, 1, winners=(2,)),
    played(2, "total", 1, 1, 3, winners=(1, 2)),
    played(3, "total", 1, 2, None, winners=(1,)),
    played(4, "lives", 1, 1, winners=(1,)),  # level by score, and the decider was hers
)


def test_a_season_counted_by_hand():
    found = standings(SEASON)
    assert found.matches == 5
    assert [(r.player, r.total, r.run) for r in found.rows] == [
        ("Ines", Tally(5, 3, 1), 2),
        ("Tobi", Tally(5, 1, 1), 0),
        ("Mara", Tally(3, 0, 0), 0),
    ]
    assert found.rows[0].drills == {"lives": Tally(3, 2, 0), "total": Tally(2, 1, 1)}
    assert found.pairs == (
        Pair("Ines", "Tobi", 3, 1, 1),
        Pair("Ines", "Mara", 3, 0, 0),
        Pair("Tobi", "Mara", 3, 0, 0),
    )


def test_a_season_between_two_days_takes_both_in():
    found = standings(SEASON, date(2025, 3, 31), date(2025, 4, 1))
    assert found.matches == 2
    assert [(r.player, r.total.won, r.total.shared, r.run) for r in found.rows] == [
        ("Tobi", 1, 1, 0),
        ("Ines", 0, 1, 0),
        ("Mara", 0, 0, 0),
    ]
    assert standings(SEASON, date(2026, 1, 1)).matches == 0


def test_nobody_with_a_score_wins_nothing_and_is_level():
    found = standings([played(0, "number", None, None, winners=())])
    assert [row.total for row in found.rows] == [Tally(1, 0, 0), Tally(1, 0, 0)]
    assert found.pairs == (Pair("Ines", "Tobi", 0, 0, 1),)


@given(st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3)), max_size=12))
def test_head_to_head_mirrors_itself_and_adds_up(ranks):
    matches = []
    for day, (mine, theirs) in enumerate(ranks):
        low = min(mine, theirs)
        best = tuple(place for place, rank in ((1, mine), (2, theirs)) if rank == low)
        matches.append(played(day, "lives", mine, theirs, winners=best))
    found = standings(matches)
    (pair,) = found.pairs or (Pair("Ines", "Tobi", 0, 0, 0),)
    won = sum(mine < theirs for mine, theirs in ranks)
    lost = sum(theirs < mine for mine, theirs in ranks)
    told = {pair.one: pair.won, pair.other: pair.lost}
    assert (told.get("Ines", 0), told.get("Tobi", 0)) == (won, lost)
    assert pair.level == len(ranks) - won - lost


def test_a_match_not_decided_and_one_against_a_file_count_for_nothing():
    record = MatchRecord(turns="ball", tie="shared", fair=False, title="Lives", seats=2)
    assert DecidedMatch.of("lives", START, {1: "Ines"}, record) is None
    result = Result(winners=(1,), by="score", scores={1: 2}, ranks={1: 1})
    decided = record.model_copy(update={"result": result})
    assert DecidedMatch.of("lives", START, {1: "Ines"}, decided) is not None
    assert (
        DecidedMatch.of("lives", START, {1: "I"}, decided.model_copy(update={"challenge": "{}"}))
        is None
    )
