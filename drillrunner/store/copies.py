"""Copies of a SQLite database, made while it may be in use and checked by reading them."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from drillrunner.store.errors import StoreError

PRIVATE = 0o600


def fresh(wanted: Path) -> Path:
    """A new, empty file for its owner alone: `wanted`, or with a number where it exists."""
    for attempt in range(1000):
        suffix = f"-{attempt}" if attempt else ""
        path = wanted.with_name(f"{wanted.stem}{suffix}{wanted.suffix}")
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))
        except FileExistsError:
            continue
        return path
    raise StoreError(f"{wanted}: a thousand copies lie there already: move some away")


def copy(source: Path, wanted: Path, uri: str | None = None) -> Path:
    """Copy a database and read the copy; where it lies. An existing file is never written over.

    uri: how the source is to be opened, if not as usual.

    Raises StoreError, sqlite3.Error or OSError; a copy that failed is taken away again.
    """
    target = fresh(wanted)
    try:
        opened = sqlite3.connect(uri or str(source), uri=uri is not None)
        with closing(opened) as old, closing(sqlite3.connect(target)) as new:
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")
            (verdict,) = new.execute("PRAGMA integrity_check(1)").fetchone()
        if verdict != "ok":
            raise StoreError(f"{source}: damaged, so it was not copied: {verdict}")
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return target
