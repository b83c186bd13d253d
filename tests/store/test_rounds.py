"""Rounds, goals and thoughts on disk: as they were told, given, forgotten, out and in again."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest

from drillrunner.catalogue.courses import from_kept, load_courses
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.scorecard import told_hole
from drillrunner.store import forget
from drillrunner.store.errors import PlayedElsewhere, StoreError
from drillrunner.store.round_book import NewRound
from drillrunner.store.shapes import RoundInfo
from drillrunner.store.store import Store
from tests.store.test_exchange import pair
from tests.store.world import brought, document

DAY = date(2026, 5, 30)


@pytest.fixture
def two():
    with pair() as stores:
        yield stores


def begun(store: Store, player: str, *holes: HolePlayed) -> RoundInfo:
    course = load_courses().courses[0]
    new = NewRound(
        DAY, "full", course.id, course.as_kept, "yellow", told=[
            ("hole", told_hole(hole)) for hole in holes
        ],
    )  # fmt: skip
    return store.rounds.add(player, new)[0]


def test_a_round_is_what_was_told_of_it_and_the_course_as_it_was(store, ines) -> None:
    first = HolePlayed(1, tee="left", approach=Decimal("152.5"), result="on", putts=2)
    round = begun(store, ines.id, first)
    store.rounds.tell(round.id, 2, "hole", told_hole(HolePlayed(2, score=5)))
    store.rounds.tell(round.id, 3, "hole", told_hole(HolePlayed(1, score=6)))
    store.rounds.tell(round.id, 4, "pcc", {"pcc": 1})
    found = store.rounds.round(round.id)
    assert found.card.holes == {1: HolePlayed(1, score=6), 2: HolePlayed(2, score=5)}
    assert (found.card.pcc, found.seq, found.day) == (1, 4, DAY)
    assert found.as_played is not None
    assert from_kept(found.as_played).as_kept == found.as_played
    assert store.rounds.of(ines.id) == (found,)


def test_what_is_told_in_two_places_at_once_is_told_once(store, ines) -> None:
    round = begun(store, ines.id)
    store.rounds.tell(round.id, 1, "finished")
    with pytest.raises(PlayedElsewhere):
        store.rounds.tell(round.id, 1, "taken out")
    with pytest.raises(StoreError, match="no round"):
        store.rounds.tell("nowhere", 1, "finished")


def test_the_newest_goal_and_thought_are_in_force_until_taken_back(store, ines) -> None:
    by = date(2026, 9, 1)
    store.intents.set_goal(ines.id, Decimal("12.4"), by)
    store.intents.set_goal(ines.id, Decimal(40), by, "miss-total")
    store.intents.set_goal(ines.id, Decimal("9.9"), None)
    index, score = store.intents.goals(ines.id)
    assert (index.kind, index.value, index.by) == ("index", Decimal("9.9"), None)
    assert (score.drill, score.value, score.by) == ("miss-total", Decimal(40), by)
    store.intents.set_goal(ines.id, None, None)
    assert [goal.kind for goal in store.intents.goals(ines.id)] == ["score"]
    assert store.intents.thought(ines.id) is None
    store.intents.set_thought(ines.id, "turn, then\n let go ")
    found = store.intents.thought(ines.id)
    assert found is not None
    assert found.words == "turn, then let go"
    store.intents.set_thought(ines.id, " ")
    assert store.intents.thought(ines.id) is None
    assert len(store.intents.thoughts(ines.id)) == 2
    with pytest.raises(StoreError, match="two decimals"):
        store.intents.set_goal(ines.id, Decimal("1.234"), None)


def test_a_round_that_was_given_is_whose_it_was_and_a_forgotten_person_has_none(store, ines):
    mara = store.add_player("Mara")
    round = begun(store, ines.id, HolePlayed(1, score=4))
    store.intents.set_thought(ines.id, "slow back")
    store.give_round(round.id, mara.id)
    assert store.rounds.of(ines.id) == ()
    assert [one.id for one in store.rounds.of(mara.id)] == [round.id]
    assert forget.forget(store.database, mara.id)["rounds"] == 1
    with pytest.raises(StoreError, match="no round"):
        store.rounds.round(round.id)
    assert forget.forget(store.database, ines.id)["thoughts"] == 1


def test_rounds_go_out_and_come_in_and_go_on(two) -> None:
    one, other = two
    ines = one.add_player("Ines")
    round = begun(one, ines.id, HolePlayed(1, score=4))
    one.intents.set_goal(ines.id, Decimal("12.4"), DAY)
    one.intents.set_thought(ines.id, "slow back")
    brought(other, document(one))
    assert other.rounds.of(ines.id) == one.rounds.of(ines.id)
    assert other.intents.goals(ines.id) == one.intents.goals(ines.id)
    assert other.intents.thought(ines.id) == one.intents.thought(ines.id)
    one.rounds.tell(round.id, 2, "hole", told_hole(HolePlayed(2, score=7)))
    text = document(one)
    brought(other, text)
    assert other.rounds.of(ines.id) == one.rounds.of(ines.id)
    assert brought(other, text).added == {}
    one.rounds.tell(round.id, 3, "pcc", {"pcc": 1})
    other.rounds.tell(round.id, 3, "finished")
    here = other.rounds.of(ines.id)
    assert "told differently" in " ".join(brought(other, document(one)).notes)
    assert other.rounds.of(ines.id) == here


@pytest.mark.parametrize(
    ("table", "field", "value"),
    [
        ("round", "as_played", {"id": "x"}),
        ("round", "tee", "nowhere"),
        ("round", "day", "last week"),
        ("round_event", "data", {"hole": 19}),
        ("round_event", "data", {"hole": 1, "score": "four"}),
        ("round_event", "kind", "holed"),
        ("goal", "kind", "wish"),
    ],
)
def test_what_can_not_be_is_refused_and_nothing_comes_in(two, table, field, value) -> None:
    one, other = two
    ines = one.add_player("Ines")
    begun(one, ines.id, HolePlayed(1, score=4))
    one.intents.set_goal(ines.id, Decimal(12), DAY)
    found = json.loads(document(one))
    found[table][0][field] = value
    with pytest.raises(StoreError, match=f"^{table.split('_')[0]}"):
        brought(other, json.dumps(found))
    assert other.players() == ()
