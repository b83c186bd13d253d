"""Brings a database to the newest schema: makes it, migrates it, or says why it can't."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from sqlalchemy import (
    Column,
    Connection,
    Dialect,
    MetaData,
    String,
    Table,
    insert,
    inspect,
    select,
    text,
)
from sqlalchemy.schema import CreateIndex, CreateTable, DDLElement

from drillrunner.store import aside, copies, quick
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.looking import NOT_OURS
from drillrunner.store.migrations import VERSIONS
from drillrunner.store.tables import WHERE, metadata

SCRIPTS = Path(__file__).parent / "migrations"

version_table = Table(
    "alembic_version",
    MetaData(naming_convention={"pk": "alembic_version_pkc"}),
    Column("version_num", String(32), primary_key=True),
)


def open_anew(database: Database) -> None:
    """Go on with the file that is there now, or a new one, after it was `Moved`."""

    def opened() -> None:
        database.reopen()
        bring_up(database)

    aside.in_thread(opened)


def bring_up(
    database: Database, versions: Sequence[str] = VERSIONS, scripts: Path = SCRIPTS
) -> None:
    """Make sure that the database has the newest schema.

    An old one is copied aside, then migrated in one transaction together with the record of it.
    Raises StoreError for a database that is newer than this program or not its own.
    """
    if _stored(database) == versions[-1]:
        return
    if not database.can_write:
        raise StoreError(
            f"{database.name}: it was made by an older version, and can't be written to bring it "
            "up to date: make the file and its folder writable"
        )
    with database.migrating() as connection:
        # Read again under the lock: another program may have done it meanwhile.
        stored = _read(connection)
        if stored == versions[-1]:
            return
        if stored == "":
            with closing(connection.connection.cursor()) as cursor:
                for statement in makes(connection.dialect):
                    cursor.execute(statement)
            connection.execute(insert(version_table).values(version_num=VERSIONS[-1]))
            return
        if stored not in versions:
            raise StoreError(_unknown(database, stored))
        if database.path is not None:
            path = database.path
            copies.copy(path, path.with_name(f"{path.stem}-before-{versions[-1]}{path.suffix}"))
        _migrate(connection, scripts, versions[-1])


_MAKES: dict[str, list[str]] = {}


def makes(dialect: Dialect) -> list[str]:
    """What makes every table, put into words once for each kind of database."""
    name = dialect.name
    if name not in _MAKES:
        made: list[DDLElement] = []
        for table in (*metadata.sorted_tables, version_table):
            made.append(CreateTable(table))
            for index in table.indexes:
                if WHERE in index.info:
                    index.dialect_options[name][WHERE] = text(index.info[WHERE])
                made.append(CreateIndex(index))
        _MAKES[name] = [str(statement.compile(dialect=dialect)) for statement in made]
    return _MAKES[name]


def _stored(database: Database) -> str | None:
    """The stored version; for SQLite with the cheapest read there is."""
    if database.path is not None and database.can_write:
        with database.told():
            return quick.version(database.path, database.wait)
    with database.reading_all() as connection:
        return _read(connection)


def _read(connection: Connection) -> str | None:
    names = inspect(connection).get_table_names()
    if version_table.name not in names:
        return None if names else ""
    return connection.execute(select(version_table.c.version_num)).scalar()


def _unknown(database: Database, stored: str | None) -> str:
    if stored is None:
        return f"{database.name}: {NOT_OURS}"
    return (
        f"{database.name}: its version {stored} is newer than this program knows: "
        "update drillrunner, or name another with --db"
    )


def _migrate(connection: Connection, scripts: Path, to: str) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)
