"""Whose the records are, and what was typed under somebody else's name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillrunner.store.errors import Conflict, PlayedElsewhere, StoreError
from drillrunner.store.forget import forget
from drillrunner.store.store import Store
from tests.store.conftest import entries, entry
from tests.store.world import brought, document, opened

DRILL = "hold-the-corridor"


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Store, Store]]:
    with opened(tmp_path / "a.db") as one, opened(tmp_path / "b.db") as other:
        yield one, other


def hit(store: Store, catalogue, player: str, words: str = "5, 5, 4, 4, 4", **about: object) -> str:
    playing = store.begin(player, catalogue.drill(DRILL), **about)
    for one in entries(words, playing.run.game.ask):
        playing.append(one)
    return playing.id


def test_the_owner_is_the_first_made_until_changed_on_purpose(store, catalogue) -> None:
    assert store.owner() is None
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    hit(store, catalogue, tobi.id)
    assert store.owner() == ines
    store.set_owner(tobi.id)
    assert store.owner() == tobi
    store.add_player("Mara")
    assert store.owner() == tobi
    store.set_owner(ines.id)
    assert store.owner() == ines


def test_a_run_that_was_given_counts_for_whose_it_was(store, catalogue) -> None:
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    run = hit(store, catalogue, ines.id)
    setting = catalogue.drill(DRILL).fingerprint
    assert store.best(ines.id, setting) is not None
    given = store.give_run(run, tobi.id)
    assert given.player == "Tobi"
    assert store.best(ines.id, setting) is None
    best = store.best(tobi.id, setting)
    assert best is not None
    assert best.run == run
    assert not store.recent_shots(ines.id, "driver")
    assert len(store.recent_shots(tobi.id, "driver")) == 5
    assert [one.run for one in store.history(player_id=tobi.id)] == [run]
    assert [visit.player_id for visit in store.visits()] == [tobi.id], "it was Ines's only run"
    (giving,) = store.givings(run)
    assert (giving.kind, giving.giver, giving.taker) == ("run", "Ines", "Tobi")
    assert [one.text for one in store.entries(run)] == ["5", "5", "4", "4", "4"]
    store.give_run(run, ines.id)
    assert [one.taker for one in store.givings(run)] == ["Tobi", "Ines"]
    store.give_run(run, ines.id)
    assert len(store.givings(run)) == 2, "it is hers already"


def test_a_run_that_was_given_is_not_played_on_under_the_old_name(store, catalogue) -> None:
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    playing = store.begin(ines.id, catalogue.drill(DRILL))
    playing.append(entry("5", playing.run.game.ask))
    store.give_run(playing.id, tobi.id)
    with pytest.raises(PlayedElsewhere, match="given to another player"):
        playing.append(entry("4", playing.run.game.ask))
    again = store.resume(playing.id, catalogue.games)
    assert again.player == tobi
    again.append(entry("4", again.run.game.ask))
    assert len(store.recent_shots(tobi.id, "driver")) == 2


def test_an_open_run_is_not_given_to_who_has_one_open(store, catalogue) -> None:
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    mine, theirs = (hit(store, catalogue, one.id, "5") for one in (ines, tobi))
    with pytest.raises(Conflict, match="open: finish it or give it up first"):
        store.give_run(mine, tobi.id)
    assert not store.givings()
    assert {run.run: run.player for run in store.history()} == {mine: "Ines", theirs: "Tobi"}


def test_a_session_goes_with_its_runs(store, catalogue) -> None:
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    session = store.add_session(ines.id, {"minutes": 30})
    store.append_event(session.id, 1, "start", {"block": 1})
    inside = hit(store, catalogue, ines.id, session_id=session.id)
    outside = hit(store, catalogue, ines.id)
    given = store.give_session(session.id, tobi.id)
    assert (given.player, len(given.events)) == ("Tobi", 1)
    assert {run.run: run.player for run in store.history()} == {inside: "Tobi", outside: "Ines"}
    assert store.sessions(ines.id) == ()


def test_a_seat_goes_with_its_runs_and_never_twice(store, catalogue) -> None:
    ines, tobi, mara = (store.add_player(name) for name in ("Ines", "Tobi", "Mara"))
    match = store.add_match(DRILL, [(ines.id, {"dial": 1}), (tobi.id, {})], {})
    run = hit(store, catalogue, ines.id, match_id=match.id)
    with pytest.raises(StoreError, match="give the seat"):
        store.give_run(run, mara.id)
    with pytest.raises(Conflict, match="has a seat"):
        store.give_seat(match.id, ines.id, tobi.id)
    given = store.give_seat(match.id, ines.id, mara.id)
    assert [(seat.player, seat.place) for seat in given.players] == [("Mara", 1), ("Tobi", 2)]
    assert given.players[0].data == {"dial": 1}
    assert store.history()[0].player == "Mara"


def test_what_was_given_goes_out_and_comes_in(two, catalogue) -> None:
    one, other = two
    ines, tobi = one.add_player("Ines"), one.add_player("Tobi")
    run = hit(one, catalogue, ines.id)
    match = one.add_match(DRILL, [(ines.id, {})], {})
    seated = hit(one, catalogue, ines.id, match_id=match.id)
    session = one.add_session(ines.id, {})
    one.set_owner(tobi.id)
    brought(other, document(one))
    assert document(other) == document(one), "as it is now"
    one.give_run(run, tobi.id)
    one.give_seat(match.id, ines.id, tobi.id)
    one.give_session(session.id, tobi.id)
    brought(other, document(one))
    assert {stored.run: stored.player for stored in other.history()} == {
        run: "Tobi",
        seated: "Tobi",
    }
    assert other.session(session.id).player == "Tobi"
    assert other.match(match.id).players[0].player == "Tobi"
    owner = other.owner()
    assert owner is not None
    assert owner.name == "Tobi"
    assert not brought(other, document(one)).added
    # Given back there later: that is the latest word, here too.
    other.give_run(run, ines.id)
    brought(one, document(other))
    assert one.run(run).player == "Ines"
    brought(other, document(one))
    assert other.run(run).player == "Ines"


def test_who_comes_in_does_not_become_the_owner(two, catalogue) -> None:
    one, other = two
    mine = other.add_player("Mara")
    one.add_player("Ines")
    tobi = one.add_player("Tobi")
    one.set_owner(tobi.id)
    brought(other, document(one))
    assert other.owner() == mine


def test_a_forgotten_person_is_in_no_giving(store, catalogue) -> None:
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    run = hit(store, catalogue, ines.id)
    store.set_owner(tobi.id)
    store.give_run(run, tobi.id)
    forget(store.database, ines.id)
    assert store.givings() == ()
    assert store.run(run).player == "Tobi"
    forget(store.database, tobi.id)
    assert store.owner() is None
