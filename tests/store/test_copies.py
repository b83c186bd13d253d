"""Backup and restore, checked by reading; and a person forgotten, with nothing of theirs left."""

from __future__ import annotations

import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from drillrunner.store import backup, forget
from drillrunner.store.errors import StoreError
from tests.store.test_exchange import hit
from tests.store.world import document, opened


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with opened(tmp_path / "own.db") as store:
        hit(store, "Ines", "5 5 4 4 4")
        hit(store, "Tobi", "5 4")
    return tmp_path / "own.db"


def test_a_backup_of_an_open_database_is_whole_and_its_owners_alone(path):
    with opened(path) as store:
        hit(store, "Tobi", "5")
        made = backup.backup(store.database, None, "2026")
        assert made.path == path.with_name("own-backup-2026.db")
        assert made.holds == {"players": 2, "sessions": 0, "runs": 2, "entries": 8}
        assert stat.S_IMODE(made.path.stat().st_mode) == 0o600
        with opened(made.path) as copy:
            assert document(copy) == document(store)
        with pytest.raises(StoreError, match="there already"):
            backup.backup(store.database, made.path, "2026")


def test_a_restored_database_is_what_it_was_and_what_was_there_lies_aside(path):
    with opened(path) as store:
        before = document(store)
        made = backup.backup(store.database, None, "2026")
        hit(store, "Tobi", "5 5 5")
        after = document(store)
    back = backup.restore(made.path, path)
    with opened(path) as store:
        assert document(store) == before
    with opened(back.aside) as store:
        assert document(store) == after
    new = path.with_name("folder") / "new.db"
    assert backup.restore(made.path, new).aside is None
    with opened(new) as store:
        assert document(store) == before


def test_a_database_that_is_open_elsewhere_sees_the_restored_one(path):
    with opened(path) as store:
        made = backup.backup(store.database, None, "2026")
        hit(store, "Tobi", "5 5 5")
        backup.restore(made.path, path)
        assert len(store.entries(store.open_runs()[0].run)) == 2
        hit(store, "Tobi", "5")
        assert len(store.entries(store.open_runs()[0].run)) == 3


@pytest.mark.parametrize("what", ["gone", "text", "torn", "other", "newer", "itself"])
def test_what_is_no_backup_is_refused_and_nothing_changes(what, path, tmp_path):
    bad = tmp_path / "bad.db"
    with opened(path) as store:
        before = document(store)
        if what in ("torn", "newer"):
            backup.backup(store.database, bad, "")
    if what == "text":
        bad.write_text("a note, and long enough to be taken for a database by its size alone " * 9)
    elif what == "torn":
        content = bytearray(bad.read_bytes())
        content[4096 : 4096 * 9] = b"\xff" * 4096 * 8
        bad.write_bytes(content)
    elif what == "other":
        with closing(sqlite3.connect(bad)) as connection:
            connection.execute("CREATE TABLE something (x)")
    elif what == "newer":
        with closing(sqlite3.connect(bad)) as connection, connection:
            connection.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreError) as refused:
        backup.restore(path if what == "itself" else bad, path)
    assert len(str(refused.value).splitlines()) == 1
    with opened(path) as store:
        assert document(store) == before
    assert not list(tmp_path.glob("*before-restore*"))


def test_a_person_is_forgotten_with_all_that_only_they_have(path):
    with opened(path) as store:
        hit(store, "Ines", "-5 -10", "miss-total-five")
        ines, tobi = store.player("Ines"), store.player("Tobi")
        session = store.add_session(ines.id, {"secret": "of hers"})
        store.append_event(session.id, 1, "start", {})
        shared = store.add_match("x", [(ines.id, {}), (tobi.id, {})], {})
        alone = store.add_match("y", [(ines.id, {})], {})
        kept = store.history(player_id=tobi.id)
        shown = forget.belongings(store.database, ines.id)
        assert shown == forget.forget(store.database, ines.id)
        assert (shown["runs"], shown["entries"], shown["places in matches"]) == (2, 7, 2)
        assert [player.name for player in store.players(hidden=True)] == ["Tobi"]
        assert store.history() == kept
        assert [match.id for match in store.matches()] == [shared.id] != [alone.id]
        text = document(store)
        assert ines.id not in text
        assert "miss-total-five" not in text, "a drill that only she played"
        with pytest.raises(StoreError, match="no player"):
            forget.forget(store.database, ines.id)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert b"of hers" not in path.read_bytes(), "overwritten in the file too"
    assert b"Ines" not in path.read_bytes()
