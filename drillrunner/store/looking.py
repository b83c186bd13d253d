"""A file is looked at before it is touched: only a database of ours is opened for writing.

Looking changes nothing: no byte, no mode, no file beside it. What can't be written can be read all
the same, from wherever it lies.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import tempfile
from contextlib import closing
from pathlib import Path

from drillrunner.store.errors import DiskTrouble, StoreError

OURS = {"alembic_version", "player", "run", "entry"}
"""Tables that every version of our database has."""

NOT_OURS = "it holds something else, not drills: name another with --db"
NO_DATABASE = "it is no database: name another with --db, or move this file away"
KINDS = {
    stat.S_IFDIR: "a folder",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
}
SYSTEM = tuple(Path(name) for name in ("/proc", "/sys", "/dev"))
"""Folders in which a file is no file."""


def refuse_what_is_no_file(path: Path) -> bool:
    """Whether there is a file; nothing is opened. Raises StoreError for anything else there."""
    real = Path(os.path.realpath(path))
    if any(real.is_relative_to(folder) for folder in SYSTEM if os.name == "posix"):
        raise StoreError(f"{path}: it belongs to the system: expected a file of your own")
    try:
        kind = stat.S_IFMT(path.stat().st_mode)
    except FileNotFoundError:
        if path.is_symlink():
            raise StoreError(f"{path}: a link that leads nowhere: expected a file") from None
        return False
    if kind != stat.S_IFREG:
        raise StoreError(f"{path}: it is {KINDS.get(kind, 'something else')}: expected a file")
    return True


def must_be_ours(path: Path) -> None:
    """Raises StoreError for a file that holds anything but drills; an empty one may become ours.

    Not to be asked of a file that this process has open: on some systems a file that is closed
    once more loses its locks.
    """
    past_locks = f"{path.as_uri()}?mode=ro&immutable=1"
    try:
        names = _tables(past_locks, path)
    except sqlite3.DatabaseError:
        # While its log is being written into it, a file looks damaged to who minds no locks.
        names = set() if has_log(path) else _tables(past_locks, path)
    if not names >= OURS and has_log(path):
        names = _tables(f"{path.as_uri()}?mode=ro", path)
    if names and not names >= OURS:
        raise StoreError(f"{path}: {NOT_OURS}")


def _tables(uri: str, path: Path) -> set[str]:
    try:
        with closing(sqlite3.connect(uri, uri=True)) as connection:
            return {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    except sqlite3.DatabaseError as error:
        code = int(getattr(error, "sqlite_errorcode", 0) or 0) & 0xFF
        if code == sqlite3.SQLITE_NOTADB:
            raise StoreError(f"{path}: {NO_DATABASE}") from None
        raise


def log_of(path: Path) -> Path:
    """Where SQLite writes ahead for a database."""
    return path.with_name(path.name + "-wal")


def has_log(path: Path) -> bool:
    """Whether something lies in the log that is not in the file yet, as far as that is seen."""
    try:
        return log_of(path).stat().st_size > 0
    except OSError:
        return False


class ReadOnly:
    """A way to read a database that can't be written: where `uri` leads, until `close`.

    With nothing in its log the file is read as it is; else through the log, or, where that needs
    files that can't be made beside it, from a copy of both in the folder for passing files.
    """

    def __init__(self, path: Path) -> None:
        self._copy: tempfile.TemporaryDirectory[str] | None = None
        if not has_log(path):
            self.uri = f"{path.as_uri()}?mode=ro&immutable=1"
            self._try(path)
            return
        self.uri = f"{path.as_uri()}?mode=ro"
        try:
            self._try(path)
        except sqlite3.OperationalError:
            self._copy = tempfile.TemporaryDirectory(prefix="drillrunner-")
            copied = Path(self._copy.name) / path.name
            for source in (path, log_of(path)):
                shutil.copyfile(source, copied.with_name(source.name))
            self.uri = f"{copied.as_uri()}?mode=rw"
            self._try(path)

    def _try(self, path: Path) -> None:
        with closing(sqlite3.connect(self.uri, uri=True)) as connection:
            if not connection.execute("SELECT name FROM sqlite_master").fetchall():
                raise DiskTrouble(f"{path}: nothing is in it, and it can't be written")

    def close(self) -> None:
        """Take the copy away, if there is one."""
        if self._copy is not None:
            self._copy.cleanup()
