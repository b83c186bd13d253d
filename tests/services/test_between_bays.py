"""A match between bays: several desks on one database, each for one player."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillrunner.practice.matches.record import Setup
from drillrunner.rules.keypad import read
from drillrunner.rules.refused import Refused
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store import forget
from drillrunner.store.errors import Conflict, StoreError
from drillrunner.store.gatherings import OLD
from drillrunner.store.store import Store
from tests.store.conftest import Clock
from tests.store.postgres import server_url, url
from tests.store.world import catalogue

__all__ = ["server_url", "url"]

DRILL = catalogue().drill("hold-the-corridor")


def ball(text: str):
    return read(text, DRILL.game().ask)


@pytest.fixture(params=["sqlite", "postgresql"])
def stores(request, tmp_path):
    """The store of one bay for Ines and of another for Tobi; each reads what is its player's."""
    where = tmp_path / "range.db" if request.param == "sqlite" else request.getfixturevalue("url")
    clock = Clock()
    with Store.open(where, clock) as store:
        for name in ("Ines", "Tobi", "Mara"):
            store.add_player(name)
    with (
        Store.open(where, clock, own="Ines") as ines,
        Store.open(where, clock, own="Tobi") as tobi,
        Store.open(where, clock, own="Mara") as mara,
    ):
        yield ines, tobi, mara


def mine(store: Store) -> str:
    return store.player(store.database.own).id


def seats(store: Store, *players: str) -> list[Seat]:
    return [Seat(store.player_of(player), DRILL) for player in players]


def test_each_types_their_own_balls_and_sees_the_others(stores) -> None:
    ines, tobi, mara = stores
    opened = ines.gatherings.open(mine(ines), {"drill": {}})
    assert opened.code is not None
    assert len(opened.code) == 4
    joined = tobi.gatherings.join(opened.code, mine(tobi), 8)
    assert [one.name for one in joined.players] == ["Ines", "Tobi"]
    assert ines.gatherings.look(opened.number) == joined
    with pytest.raises(StoreError, match="not open"):
        mara.gatherings.look(opened.number)

    here = MatchDesk.start(
        ines, catalogue().games, seats(ines, mine(ines), mine(tobi)),
        Setup(("Ines", "Tobi"), gathering=opened.number), own=mine(ines),
    )  # fmt: skip
    with pytest.raises(Conflict):
        ines.add_match(DRILL.id, [], {}, opened.number)
    match = tobi.gatherings.look(opened.number).match
    assert match == here.info.id
    there = MatchDesk.resume(tobi, catalogue().games, match, mine(tobi))
    with pytest.raises(Refused, match="Ines's turn"):
        there.keep(ball("5"))

    # Before the first ball another one joins by the number, after it nobody.
    mara.gatherings.join(opened.code, mine(mara), 8)
    late = MatchDesk.resume(mara, catalogue().games, match, mine(mara))
    late.join(seats(mara, mine(mara))[0])
    here.follow(MatchDesk.resume(ines, catalogue().games, match, mine(ines)))
    version = tobi.gatherings.look(opened.number).version
    here.keep(ball("5"))
    assert tobi.gatherings.look(opened.number).version != version
    with pytest.raises(Refused, match="first ball"):
        tobi.gatherings.join(opened.code, mine(tobi), 8)

    assert there.follow(MatchDesk.resume(tobi, catalogue().games, match, mine(tobi)))
    assert [line.entrant.name for line in there.board] == ["Ines", "Tobi", "Mara"]
    with pytest.raises(Refused, match="only Ines takes it back"):
        there.keep(ball("undo"))
    there.keep(ball("4"))
    assert not there.follow(here)
    late.follow(MatchDesk.resume(mara, catalogue().games, match, mine(mara)))
    late.keep(ball("5"))
    assert {run.player for run in mara.history()} == {"Ines", "Tobi", "Mara"}


def test_back_in_the_waiting_room_leaves_no_match_that_has_begun(stores) -> None:
    ines, tobi, mara = stores
    opened = ines.gatherings.open(mine(ines), {})
    tobi.gatherings.join(opened.code, mine(tobi), 8)
    match = MatchDesk.start(
        ines, catalogue().games, seats(ines, mine(ines), mine(tobi)),
        Setup(("Ines", "Tobi"), gathering=opened.number), own=mine(ines),
    ).info.id  # fmt: skip
    # Who came by the number and took no seat is away again; who has one stays.
    mara.gatherings.join(opened.code, mine(mara), 8)
    for store in (mara, tobi, ines):
        store.gatherings.leave(opened.number, mine(store))
    assert [one.name for one in ines.gatherings.look(opened.number).players] == ["Ines", "Tobi"]
    assert match not in tobi.gatherings.others(mine(tobi))
    assert MatchDesk.resume(tobi, catalogue().games, match, mine(tobi)).own == mine(tobi)


def test_a_number_is_free_again_and_nobody_comes_twice(stores) -> None:
    ines, tobi, _ = stores
    opened = ines.gatherings.open(mine(ines), {})
    for _ in range(2):
        assert len(tobi.gatherings.join(opened.code, mine(tobi), 2).players) == 2
    for wrong in ("0000" if opened.code != "0000" else "1111", "x"):
        with pytest.raises(Refused, match="no match waits"):
            tobi.gatherings.join(wrong, mine(tobi), 8)
    with pytest.raises(Refused, match="full"):
        stores[2].gatherings.join(opened.code, mine(stores[2]), 2)
    ines.clock.now += OLD + timedelta(minutes=1)
    with pytest.raises(Refused, match=r"no match|first ball"):
        tobi.gatherings.join(opened.code, mine(tobi), 8)
    again = ines.gatherings.open(mine(ines), {})
    assert ines.gatherings.look(opened.number).code is None
    ines.gatherings.leave(again.number, mine(ines))
    with pytest.raises(StoreError, match="not open"):
        ines.gatherings.look(again.number)


def test_who_is_there_beats_and_who_goes_does_not(stores) -> None:
    ines, tobi, _ = stores
    opened = ines.gatherings.open(mine(ines), {})
    tobi.gatherings.join(opened.code, mine(tobi), 8)
    tobi.gatherings.beat(opened.number, mine(tobi))
    assert [one.beats for one in ines.gatherings.look(opened.number).players] == [1, 2]
    tobi.gatherings.beat(opened.number, mine(tobi), here=False)
    assert [one.beats for one in ines.gatherings.look(opened.number).players] == [1, None]


def test_forgetting_takes_a_place_between_bays_along(stores) -> None:
    ines, tobi, _ = stores
    opened = ines.gatherings.open(mine(ines), {})
    tobi.gatherings.join(opened.code, mine(tobi), 8)
    forget.forget(tobi.database, mine(tobi))
    assert [one.name for one in ines.gatherings.look(opened.number).players] == ["Ines"]
    forget.forget(ines.database, mine(ines))
    with ines.database.reading_all() as connection:
        assert connection.exec_driver_sql("SELECT * FROM gathering").first() is None
