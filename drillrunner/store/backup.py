"""Backups of a SQLite database: made and put back while it may be in use, checked by reading."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from drillrunner.store import copies, quick
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.migrations import VERSIONS

COUNTED = {"player": "players", "session": "sessions", "run": "runs", "entry": "entries"}
"""Tables whose rows say what a copy holds, in words."""


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy, and how many rows were read in it. aside: where what it replaced lies now."""

    path: Path
    holds: Mapping[str, int]
    aside: Path | None = None


def backup(database: Database, out: Path | None, stamp: str) -> Copied:
    """Copy a database and read the copy.

    out: a new file; else one beside the database, named by `stamp`. Raises StoreError.
    """
    path = _file(database)
    if out is not None and out.exists():
        raise StoreError(f"{out}: it is there already: name a new file")
    wanted = out or path.with_name(f"{path.stem}-backup-{stamp}{path.suffix}")
    with database.told():
        try:
            copy = copies.copy(path, wanted, database.read_only_uri)
        except OSError as error:
            why = error.strerror or error
            raise StoreError(f"{wanted}: can't be written: {why}: name another file") from None
        with database.reading() as connection:
            here = {
                name: connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one()
                for table, name in COUNTED.items()
            }
        holds = contents(copy)
    short = [name for name, count in holds.items() if count > here[name]]
    if short:
        raise StoreError(f"{copy}: the copy holds other {short[0]} than {path}: make another one")
    return Copied(copy, holds)


def restore(backup: Path, target: Path) -> Copied:
    """Put a backup in the place of a database, which is copied aside first.

    Raises StoreError: no such file, damaged, or newer than this program; then nothing has changed.
    """
    if not backup.is_file():
        there = "it is a folder" if backup.is_dir() else "there is none"
        raise StoreError(f"{backup}: expected a file: {there}")
    if target.exists() and backup.samefile(target):
        raise StoreError(f"{backup}: it is the database itself: name a backup")
    holds = _usable(backup)
    aside = None
    try:
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            copies.fresh(target)
        elif target.stat().st_size:
            aside = copies.copy(
                target, target.with_name(f"{target.stem}-before-restore{target.suffix}")
            )
        with (
            closing(sqlite3.connect(backup)) as old,
            closing(sqlite3.connect(target, timeout=3)) as new,
        ):
            old.backup(new)
    except sqlite3.OperationalError as error:
        raise StoreError(f"{target}: close whatever uses it, then try again: {error}") from error
    except (sqlite3.Error, OSError) as error:
        raise StoreError(f"{target}: {error}") from error
    found = contents(target)
    if found != holds:
        raise StoreError(f"{target}: it was not put back whole: what was there lies in {aside}")
    return Copied(target, holds, aside)


def contents(path: Path) -> dict[str, int]:
    """How many rows of each kind are read in a database. Raises sqlite3.Error."""
    with closing(sqlite3.connect(path)) as connection:
        return {
            name: connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
            for table, name in COUNTED.items()
        }


def _usable(backup: Path) -> dict[str, int]:
    """What a backup holds. Raises StoreError where it can't be used."""
    try:
        with closing(sqlite3.connect(backup)) as connection:
            (verdict,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
        if verdict != "ok":
            raise StoreError(f"{backup}: it is damaged: use another backup")
        version = quick.version(backup)
        if version not in VERSIONS:
            raise StoreError(f"{backup}: expected a backup made by drillrunner, not newer than it")
        return contents(backup)
    except sqlite3.Error as error:
        raise StoreError(f"{backup}: expected a backup made by drillrunner: {error}") from None


def _file(database: Database) -> Path:
    if database.path is None:
        raise StoreError(
            f"{database.name}: a server keeps its own backups (pg_dump); this copies SQLite files"
        )
    return database.path
