"""Files that are written for their owner alone, and whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path


def write_whole(path: Path, lines: Iterable[str], over: bool = False) -> None:
    """Write a text file, readable by its owner alone (0600): all of it, or nothing.

    It is written beside and then named, so that nobody ever sees a part of it. over: what lies
    there goes. Raises OSError, FileExistsError where something lies there that is to stay; then
    nothing has changed.
    """
    if not over:
        expect_free(path)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.writelines(lines)
            file.flush()
            os.fsync(file.fileno())
        if over:
            os.replace(beside, path)
        else:
            _name_new(beside, path)
    finally:
        with suppress(FileNotFoundError):
            beside.unlink()


def expect_free(path: Path) -> None:
    """Raises FileExistsError where something lies already."""
    if os.path.lexists(path):
        raise FileExistsError(17, "it is there already: name a new file", str(path))


def _name_new(beside: Path, path: Path) -> None:
    """Give a file its name unless something else came to have it meanwhile."""
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if os.path.lexists(path):
            raise FileExistsError(17, "it is there already", str(path)) from None
        os.rename(beside, path)
