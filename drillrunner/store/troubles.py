"""What a database or a disk says in trouble: which trouble that is, and its one line."""

from __future__ import annotations

import errno
import sqlite3

from drillrunner.store import server
from drillrunner.store.errors import Busy, DiskTrouble, StoreError
from drillrunner.store.looking import NO_DATABASE

REASONS = {
    sqlite3.SQLITE_BUSY: "another program holds it: close that one",
    sqlite3.SQLITE_LOCKED: "another program holds it: close that one",
    sqlite3.SQLITE_READONLY: "it can't be written: make the file and its folder writable, or name "
    "another with --db",
    sqlite3.SQLITE_PERM: "it can't be written: make the file and its folder writable, or name "
    "another with --db",
    sqlite3.SQLITE_CANTOPEN: "it can't be opened: check the folder and who may use it, or name "
    "another with --db",
    sqlite3.SQLITE_FULL: "the disk is full: free some space",
    sqlite3.SQLITE_IOERR: "the disk failed to read or write: check the disk",
    sqlite3.SQLITE_CORRUPT: "it is damaged: put a backup in its place, or name another with --db",
    sqlite3.SQLITE_CONSTRAINT: "what it belongs to was taken away meanwhile: start again",
    sqlite3.SQLITE_NOTADB: NO_DATABASE,
}

PASSING = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
}
"""What somebody can put right while the program runs, so that what was typed waits for it."""

LOST = ("OperationalError", "InterfaceError")
"""What a driver raises when its connection is gone, without the server having said anything."""


def code_of(error: BaseException | None) -> int:
    """SQLite's primary code of an error, 0 if it has none."""
    return int(getattr(error, "sqlite_errorcode", 0) or 0) & 0xFF


def kind_of(error: BaseException | None) -> type[StoreError]:
    """What an error of the driver or the disk is to those who wait for it."""
    code = code_of(error)
    state = getattr(error, "sqlstate", None)
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) or state in server.HELD:
        return Busy
    lost = state is not None and state[:2] in server.GOING
    away = lost or (state is None and type(error).__name__ in LOST and not code)
    return DiskTrouble if isinstance(error, OSError) or code in PASSING or away else StoreError


def reason_of(error: BaseException | None) -> str:
    if isinstance(error, OSError):
        if error.errno == errno.ENOSPC:
            return REASONS[sqlite3.SQLITE_FULL]
        if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
            return REASONS[sqlite3.SQLITE_READONLY]
        return f"{error.strerror or error}: check the path, or name another with --db"
    if getattr(error, "sqlstate", None) in server.HELD:
        return REASONS[sqlite3.SQLITE_BUSY]
    return REASONS.get(code_of(error)) or f"the database says: {first_said(error)}"


def first_said(error: BaseException | None) -> str:
    """The first line of an error's message."""
    lines = str(error).strip().splitlines()
    return lines[0] if lines else type(error).__name__
