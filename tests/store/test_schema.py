"""Migrations: a copy aside first, then all in one transaction with the record of it."""

from __future__ import annotations

import sqlite3
import stat
from contextlib import closing
from pathlib import Path
from types import ModuleType

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine
from sqlalchemy.dialects import postgresql, sqlite

from drillrunner.store import copies, schema
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.migrations import VERSIONS
from drillrunner.store.store import Store
from drillrunner.store.tables import WHERE, metadata

HERE = Path(__file__).parent

NEXT = """
import sqlalchemy as sa
from alembic import op
revision, down_revision = "next", "{last}"

def upgrade():
    op.add_column("player", sa.Column("motto", sa.String()))
    op.execute("UPDATE player SET motto = 'slow back'")
    {more}
"""


def scripts(folder: Path, more: str = "") -> Path:
    """A copy of the migrations with one more step."""
    (folder / "versions").mkdir(parents=True)
    for file in (schema.SCRIPTS / "env.py", *(schema.SCRIPTS / "versions").glob("v*.py")):
        (folder / file.relative_to(schema.SCRIPTS)).write_text(file.read_text())
    (folder / "versions" / "next.py").write_text(NEXT.format(more=more, last=VERSIONS[-1]))
    return folder


def shape(path: Path) -> list[tuple[str, ...]]:
    """Every table and index, and every column, as SQLite sees them."""
    with closing(sqlite3.connect(path)) as connection:
        names = connection.execute("SELECT type, name, tbl_name FROM sqlite_master").fetchall()
        columns = [
            (table, *map(str, row))
            for kind, table, _ in names
            if kind == "table"
            for row in connection.execute(f'PRAGMA table_info("{table}")')
        ]
        keys = [
            (table, *map(str, row[2:]))
            for kind, table, _ in names
            if kind == "table"
            for row in connection.execute(f'PRAGMA foreign_key_list("{table}")')
        ]
    return sorted(names + columns + keys)


def first(path: Path) -> Database:
    """A database of the first version."""
    path.parent.mkdir(exist_ok=True)
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript((HERE / "version_0001.sql").read_text("utf-8"))
    return Database(path)


def test_the_list_of_versions_is_what_the_scripts_say() -> None:
    config = Config()
    config.set_main_option("script_location", str(schema.SCRIPTS))
    steps = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(steps)) == VERSIONS


def test_making_and_migrating_lead_to_the_same_schema(tmp_path: Path) -> None:
    made, migrated = tmp_path / "made.db", tmp_path / "migrated.db"
    Store.open(made).close()
    database = first(migrated)
    with database.migrating() as connection:
        schema._migrate(connection, schema.SCRIPTS, "head")
    database.close()
    assert shape(made) == shape(migrated)
    engine = create_engine(f"sqlite:///{migrated}")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    engine.dispose()


@pytest.mark.parametrize("version", VERSIONS[:-1])
def test_a_database_of_each_earlier_version_comes_up_with_all_it_holds(
    path: Path, version: str
) -> None:
    database = first(path)
    with database.migrating() as connection:
        schema._migrate(connection, schema.SCRIPTS, version)
        connection.exec_driver_sql(
            "INSERT INTO player (id, name, key, unit, hidden, at, at_offset) VALUES"
            " ('p', 'Ines', 'ines', 'yd', 0, '2026-03-01T10:00:00.000000', 60)"
        )
    database.close()
    with Store.open(path) as store:
        assert [player.name for player in store.players()] == ["Ines"]
        owner = store.owner()
        assert owner is not None
        assert owner.name == "Ines"
    assert list(path.parent.glob("*-before-*"))


def test_an_old_database_is_copied_aside_and_migrated(path: Path, tmp_path: Path) -> None:
    with Store.open(path) as store:
        store.add_player("Ines")
        # The copy must hold what still lies in the log only.
        database = Database(path)
        schema.bring_up(database, (*VERSIONS, "next"), scripts(tmp_path / "scripts"))
        with database.reading() as connection:
            said = connection.exec_driver_sql("SELECT name, motto FROM player").fetchall()
        assert said == [("Ines", "slow back")]
    assert schema._stored(database) == "next"
    schema.bring_up(database, (*VERSIONS, "next"), tmp_path / "scripts")
    database.close()
    (copy,) = path.parent.glob("*-before-*")
    assert copy.name == "drillrunner-before-next.db"
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    with Store.open(copy) as old:
        assert [player.name for player in old.players()] == ["Ines"]


def test_a_migration_that_fails_leaves_everything_as_it_was(path: Path, tmp_path: Path) -> None:
    with Store.open(path) as store:
        store.add_player("Ines")
    before = shape(path)
    database = Database(path)
    failing = scripts(tmp_path / "scripts", "raise RuntimeError('half way')")
    with pytest.raises(RuntimeError):
        schema.bring_up(database, (*VERSIONS, "next"), failing)
    database.close()
    assert shape(path) == before
    with Store.open(path) as store:
        assert [player.name for player in store.players()] == ["Ines"]


def test_a_migration_that_breaks_a_reference_is_taken_back(path: Path, tmp_path: Path) -> None:
    with Store.open(path) as store:
        store.add_player("Ines")
    database = Database(path)
    careless = scripts(tmp_path / "scripts", "op.execute('DELETE FROM player')")
    with pytest.raises(StoreError, match="hangs loose"):
        schema.bring_up(database, (*VERSIONS, "next"), careless)
    database.close()
    with Store.open(path) as store:
        assert len(store.clubs(store.players()[0].id)) == 17


def test_a_copy_never_replaces_a_file_and_is_read_back(path: Path) -> None:
    with Store.open(path) as store:
        store.add_player("Ines")
        wanted = path.with_name("copy.db")
        made = [copies.copy(path, wanted) for _ in range(3)]
    assert [copy.name for copy in made] == ["copy.db", "copy-1.db", "copy-2.db"]
    assert not list(path.parent.glob("copy*-wal"))
    content = bytearray(path.read_bytes())
    content[4096:] = b"\x5a" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises((StoreError, sqlite3.Error)):
        copies.copy(path, wanted)
    assert len(list(path.parent.glob("copy*"))) == 3


@pytest.mark.parametrize("kind", [sqlite, postgresql])
def test_every_table_can_be_made_with_the_indexes_of_some_rows(kind: ModuleType) -> None:
    said = schema.makes(kind.dialect())
    some = {
        index.name: index.info[WHERE]
        for table in metadata.sorted_tables
        for index in table.indexes
        if WHERE in index.info
    }
    assert len(some) == 8
    for name, where in some.items():
        assert any(f"INDEX {name} " in line and line.endswith(f" WHERE {where}") for line in said)
    assert sum("CREATE TABLE" in line for line in said) == len(metadata.tables) + 1
    assert sum(" WHERE " in line for line in said) == len(some)
