"""Rows are read into the program's own types; one that can't be is named and left out.

An import or another hand may have put into a database what this program never writes. Nothing
here repairs it, and nothing of it is shown as if it were sound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine

from drillrunner.store.errors import DAMAGES

T = TypeVar("T")
_FOUND: WeakKeyDictionary[Engine, dict[str, str]] = WeakKeyDictionary()
"""Of each database what was left out, and why; gone with it."""


def sound(
    connection: Connection, kind: str, rows: Iterable[Any], make: Callable[[Any], T]
) -> Iterator[T]:
    """What `make` makes of each row; a row of which it can't is left out and kept in mind.

    kind: what a row is, in words; the row begins with its lasting id or its number.
    """
    for row in rows:
        try:
            made = make(row)
        except DAMAGES as error:
            said = (str(error).splitlines() or [type(error).__name__])[0]
            _FOUND.setdefault(connection.engine, {})[f"{kind} {row[0]}"] = said
        else:
            yield made


def damaged() -> tuple[str, ...]:
    """What was left out since this was last asked, a line each."""
    found = [pair for rows in _FOUND.values() for pair in rows.items()]
    _FOUND.clear()
    return tuple(f"{what} is damaged, so it is left out: {why}" for what, why in found)
