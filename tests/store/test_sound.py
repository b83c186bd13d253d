"""Rows that this program never wrote: each is named and left out, and nothing else is lost."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from drillrunner.services.ledger import events_of, faults_of
from drillrunner.store import quick
from drillrunner.store.errors import StoreError
from drillrunner.store.sound import damaged
from tests.store.conftest import entries

DRILL = "hold-the-corridor"


@pytest.fixture
def lived(store, ines, catalogue):
    """Two runs, a session and a match."""
    runs = []
    for words in ("5, 5, 4, 4, 4", "5, 4, 4, 4"):
        session = store.add_session(ines.id, {"minutes": 30})
        playing = store.begin(ines.id, catalogue.drill(DRILL), session_id=session.id)
        for one in entries(words, playing.run.game.ask):
            playing.append(one)
        runs.append(playing.id)
    store.add_match(DRILL, [(ines.id, {})], {})
    return runs


def spoil(path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as other:
        for statement in statements:
            other.execute(statement)
        other.commit()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE run SET score = 'many' WHERE number = 1",
        "UPDATE run SET started = 'yesterday' WHERE number = 1",
        "UPDATE run SET started_offset = 'x' WHERE number = 1",
        "UPDATE run SET counted = 'x' WHERE number = 1",
    ],
)
def test_a_damaged_run_is_left_out_and_named(store, path, ines, lived, statement) -> None:
    spoil(path, statement)
    assert [run.run for run in store.history()] == [lived[1]]
    assert any(lived[0] in line and "damaged" in line for line in damaged())
    store.home(), store.bests(), store.settings()
    assert quick.home(path) is not None


@pytest.mark.parametrize("value", ["[]", "null", "7", '{"aim": 3}', "{", '"text"'])
@pytest.mark.parametrize("column", ["setting", "as_set"])
def test_a_setting_that_is_none_takes_its_runs_along(store, path, lived, value, column) -> None:
    spoil(path, f"UPDATE drill_as_set SET {column} = '{value}'")
    whole = column == "as_set" and value == '{"aim": 3}'
    assert len(store.history()) == (2 if whole else 0)
    store.home(), store.bests(), store.settings(), store.best(store.players()[0].id, "x")
    assert whole or any("drill as set" in line for line in damaged())


@pytest.mark.parametrize(
    ("table", "column"),
    [("session", "plan"), ("match", "data"), ("session", "started"), ("match", "started")],
)
def test_what_is_kept_of_an_outing(store, path, lived, table, column) -> None:
    spoil(path, f"UPDATE {table} SET {column} = '[1]' WHERE number = 1")
    assert len(store.sessions()) == (1 if table == "session" else 2)
    assert len(store.matches()) == (0 if table == "match" else 1)
    store.open_sessions(), store.open_matches(), store.home()


def test_a_damaged_entry_is_told_in_one_line(store, path, lived) -> None:
    spoil(path, "UPDATE entry SET kind = 'cheat' WHERE number = 1")
    with pytest.raises(StoreError, match="an entry of it is damaged") as told:
        store.entries(lived[0])
    assert "\n" not in str(told.value)
    spoil(path, "UPDATE entry SET kind = 'shot', lateral_size = 'far' WHERE number = 1")
    assert len(store.recent_shots(store.players()[0].id, "driver")) == 8


@pytest.mark.parametrize("data", [{}, {"spent": "long"}, {"spent": -1}, {"spent": 9, "count": "x"}])
def test_an_event_without_its_time_is_left_out(store, ines, data) -> None:
    plan = {"id": "p", "title": "P", "about": "", "note": "", "blocks": []}
    first = {"spent": 0, "minutes": 30, "balls": 40, "plan": plan, "dropped": [], "next": None}
    session = store.add_session(ines.id, {"plan": plan})
    store.append_event(session.id, 1, "started", {**first, "order": []})
    store.append_event(session.id, 2, "ball", data)
    store.append_event(session.id, 3, "seen", {"spent": 12})
    info = store.session(session.id)
    assert [event.kind for event in events_of(info)] == ["started", "seen"]
    (fault,) = faults_of(info)
    assert "event 2 (ball) is damaged" in fault


def test_without_its_first_event_a_session_is_told_in_one_line(store, ines) -> None:
    session = store.add_session(ines.id, {})
    store.append_event(session.id, 1, "started", {"minutes": 30})
    with pytest.raises(StoreError, match="event 1 \\(started\\) is damaged"):
        events_of(store.session(session.id))
