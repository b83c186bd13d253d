"""Lines to standard output or to a new file, and the lines of a sheet."""

from __future__ import annotations

import csv
import errno
import io
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from drillrunner.catalogue.files import expect_free, write_whole
from drillrunner.cli.options import Wrong
from drillrunner.cli.terminal import put_data, say

FORMULA = re.compile(r"[=+\-@\t\r]")
"""How a cell begins that a spreadsheet may run (OWASP, CSV Injection)."""

NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?")


def put_lines(out: Path | None, lines: Iterable[str], what: str = "") -> None:
    """Write lines that end themselves. Raises Wrong; a file that is there is never written over.

    out: `-`, like nothing, is standard output. what: what was written, said after the file's name.
    """
    if out is None or str(out) == "-":
        put_data(lines)
        return
    with _said(out):
        write_whole(out, lines)
    say(f"written to {out}" + (f": {what}" if what else ""))


def expect_new(out: Path) -> None:
    """Say before long work what `put_lines` would say after it. Raises Wrong."""
    if str(out) == "-":
        return
    with _said(out):
        expect_free(out)
        out.parent.stat()
        if not os.access(out.parent, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


@contextmanager
def _said(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise Wrong(f"{out}: can't be written: {error.strerror or error}") from None


def sheet(rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Rows as lines of comma-separated values (RFC 4180) that no spreadsheet runs.

    What could be a formula and is no number gets a `'` before it, which spreadsheets take for text.
    """
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    for row in rows:
        writer.writerow(map(_still, row))
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()


def _still(cell: str) -> str:
    return f"'{cell}" if FORMULA.match(cell) and not NUMBER.fullmatch(cell) else cell
