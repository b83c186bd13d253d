"""A store that reads one player's records shows nobody else's, however it is asked."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from drillrunner.store import own
from drillrunner.store import tables as t
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.store.world import NAMES, Ticking, lived

STORY = [
    (act, name, drill, pick)
    for pick, drill in enumerate(("hold-the-corridor", "miss-total-five"))
    for name in NAMES
    for act in ("session", "event", "stock", "index", "round", "hole", "goal", "thought")
    + ("play",) * 4
    + ("note",)
]


@pytest.fixture(params=["sqlite", "postgresql"])
def everyones(request, path) -> str:
    """A database in which three have played, Ines and Tobi in a match too; its path or URL."""
    where = str(path) if request.param == "sqlite" else request.getfixturevalue("url")
    with Store.open(where, Ticking()) as store:
        lived(store, STORY)
        ids = {name: store.player(name).id for name in NAMES}
        for player in ids.values():
            store.phones.set_pin(player, "a hash")
            store.boards.share(player, True)
        store.add_match("hold-the-corridor", [(ids["Ines"], {}), (ids["Tobi"], {})], {})
    return where


def test_every_table_is_covered_or_says_nothing_of_anybody() -> None:
    assert {*own.VIEWS, *own.OPEN_TO_ALL} == set(t.metadata.tables)


def test_nothing_of_others_is_read(everyones) -> None:
    with Store.open(everyones, own="Ines") as store:
        ines = store.player("Ines")
        with store.database.reading_all() as connection:
            numbers = dict(connection.execute(select(t.player.c.name, t.player.c.number)).all())
        with store.database.reading() as connection:
            for name, table in t.metadata.tables.items():
                rows = connection.execute(table.select()).mappings().all()
                whose = {row["player"] for row in rows if "player" in row}
                seen = {numbers["Ines"]}
                if name in ("handicap", "match_player"):
                    seen.add(numbers["Tobi"])
                assert whose <= seen, name
                assert rows or name in ("owner", "given", "phone", "gathering", "gathered"), name
        assert [one.name for one in store.players()] == ["Ines", "Tobi"]
        assert store.player("Mara") is None
        for runs in (store.history(), store.settings(), store.bests(), store.open_runs()):
            assert {run.player for run in runs} <= {"Ines"}
        assert {one.player for one in store.sessions()} == {"Ines"}
        assert {one.player_id for one in store.visits()} == {ines.id}
        assert store.home("Mara").player is None
        assert store.home("Ines").player == ines
        with pytest.raises(StoreError, match="no player"):
            store.begin(numbers["Mara"], None)


def test_what_is_written_is_there_and_names_are_still_taken(everyones) -> None:
    with Store.open(everyones, Ticking("2026-05-01T10:00:00+00:00"), own="Mara") as store:
        mara = store.player("Mara")
        assert store.change_player(mara.id, pace=9).pace == 9
        with pytest.raises(StoreError, match="there is a player Ines"):
            store.change_player(mara.id, name="Ines")
        assert len(store.boards.leaders(store.settings()[0].fingerprint)) >= 0
    with pytest.raises(StoreError, match="sign in anew"):
        Store.open(everyones, own="Nobody").players()
