"""Lines to standard output or to a new file."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path

from drillrunner.cli.options import Wrong, say


def put_lines(out: Path | None, lines: Iterable[str]) -> None:
    """Write lines that end themselves. Raises Wrong; a file that is there is never written over."""
    if out is None:
        sys.stdout.writelines(lines)
        return
    try:
        with out.open("x", encoding="utf-8", newline="") as file:
            file.writelines(lines)
    except OSError as error:
        raise Wrong(f"{out}: can't be written: {error.strerror or error}") from None
    say(f"written to {out}")
