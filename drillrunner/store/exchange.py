"""Everything in a database as one JSON document, and such a document into any database.

The document has one list for each table, one row a line, in the order of insertion. Numbers are in
the unit that stands beside them, times are ISO 8601 with their offset, rows name each other by
their lasting ids, and what is null is left out. Writing a database, reading that into an empty one
and writing again gives the same document.

What follows from something else is not in it: it is worked out again on the way in, and a run
whose game is here is played through it again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Integer,
    Table,
    select,
)

from drillrunner.rules.units import plain
from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.stored import (
    exact,
    hundredths,
    moment,
    prose,
    stamp,
)

FORMAT, VERSION = "drillrunner export", 1

TABLES: tuple[Table, ...] = (
    t.player,
    t.handicap,
    t.club,
    t.visit,
    t.session,
    t.event,
    t.stock,
    t.match,
    t.seat,
    t.drill_as_set,
    t.run,
    t.round,
    t.round_event,
    t.goal,
    t.thought,
    t.given,
    t.owner,
    t.entry,
)
"""Each after those that its rows name; the one that is long comes last."""

STAYS: tuple[Table, ...] = (t.sharing, t.pin, t.phones, t.gathering, t.gathered)
"""What holds for this database alone: who may come in, who agreed to stand on its boards, and who
waits in its bays. No export has it."""

NAMES = {t.drill_as_set.name: "digest"}
"""The column that names a row for good, where it is not `id`."""

Row = dict[str, Any]

# ------------------------------------------------------------------ one value, both ways


@dataclass(frozen=True, slots=True)
class Value:
    """How one column is written and read. into: the table whose rows it names."""

    name: str
    needed: bool
    write: Callable[[Any], Any]
    read: Callable[[Any], Any]
    offset: str | None = None
    into: str | None = None


def _values(table: Table) -> tuple[Value, ...]:
    """The columns of a table that stand in the document, from what the table says of them."""
    offsets = {column.info.get("time") for column in table.columns}
    found = []
    for column in table.columns:
        name = column.name
        if name == "number" or name in offsets or column.info.get("follows"):
            continue
        into = next((key.column.table.name for key in column.foreign_keys), None)
        write, read = _ways(column)
        needed = not column.nullable
        found.append(Value(name, needed, write, read, column.info.get("time"), into))
    return tuple(found)


def _ways(column: Column[Any]) -> tuple[Callable[[Any], Any], Callable[[Any], Any]]:
    """How a column is written and read."""
    info = column.info
    if "choices" in info:
        return _same, _one_of(info["choices"])
    if "hundredths" in info:
        return _number, _hundredths(*info["hundredths"])
    if "json" in info:
        return json.loads, _canonical
    if isinstance(column.type, Boolean):
        return bool, _of(bool, "true or false")
    if isinstance(column.type, Integer) and not column.foreign_keys:
        return _same, _whole
    return _same, _text


def _same(value: Any) -> Any:
    return value


def _number(stored: int) -> int | float:
    return plain(exact(stored))


def _hundredths(least: int, most: int) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise ValueError("expected a number")
        kept = hundredths(value)
        if kept is None or not least <= kept <= most:
            raise ValueError(f"expected {_number(least)} to {_number(most)}")
        return kept

    return read


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > 2**31:
        raise ValueError("expected a whole number")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > 100_000:
        raise ValueError("expected text")
    return prose(value, "text")


def _of(kind: type, words: str) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if not isinstance(value, kind):
            raise ValueError(f"expected {words}")
        return value

    return read


def _one_of(choices: tuple[Any, ...]) -> Callable[[Any], Any]:
    def read(value: Any) -> Any:
        if isinstance(value, bool) or value not in choices:
            raise ValueError(f"expected one of {', '.join(map(str, choices))}")
        return value

    return read


def _canonical(value: Any) -> str:
    if not isinstance(value, dict):
        raise ValueError("expected an object")
    return prose(_json(value, separators=(",", ":")), "object")


def _json(value: Any, **how: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=plain, **how)


VALUES = {table.name: _values(table) for table in TABLES}


# ------------------------------------------------------------------ out


def write(database: Database) -> Iterator[str]:
    """The document, line by line, from one unchanging view of the database."""
    with database.reading() as connection:
        names: dict[str, dict[int, str]] = {
            table.name: pairs(connection, select(table.c.number, name_of(table)))
            for table in TABLES
            if name_column(table) in table.columns and "number" in table.columns
        }
        ends = _ends(connection)
        yield f'{{"format": "{FORMAT}", "version": {VERSION}'
        for table in TABLES:
            yield f',\n"{table.name}": ['
            for at, row in enumerate(connection.execute(_ordered(table)).mappings()):
                written = _written(table, dict(row), names)
                if table is t.run and row["ended_by"] is not None:
                    written["ended_by"] = ends.get(row["ended_by"])
                yield f"{',' if at else ''}\n{_json(written)}"
            yield "]"
        yield "\n}\n"


def _written(table: Table, row: Mapping[str, Any], names: Mapping[str, Mapping[int, str]]) -> Row:
    written: Row = {}
    for value in VALUES[table.name]:
        stored = row[value.name]
        if stored is None:
            continue
        if value.offset is not None:
            written[value.name] = moment(stored, row[value.offset]).isoformat()
        elif value.into is not None and isinstance(stored, int):
            written[value.name] = names[value.into][stored]
        else:
            written[value.name] = value.write(stored)
    return written


def pairs(connection: Connection, query: Any) -> dict[Any, Any]:
    """The first column of a query to its second."""
    return {row[0]: row[1] for row in connection.execute(query)}


def name_column(table: Table) -> str:
    """The column that names a row of a table for good."""
    return NAMES.get(table.name, "id")


def name_of(table: Table) -> Any:
    """As `name_column`, the column itself."""
    return table.c[name_column(table)]


def _ordered(table: Table) -> Any:
    order = [table.c.number] if "number" in table.columns else list(table.primary_key.columns)
    return select(table).order_by(*order)


def _ends(connection: Connection) -> dict[int, int]:
    """Of the entries that ended a run: number to sequence number."""
    query = select(t.entry.c.number, t.entry.c.seq).join(
        t.run, t.run.c.ended_by == t.entry.c.number
    )
    return pairs(connection, query)


# ------------------------------------------------------------------ a row, on its way in

_BY_NAME = {name: {value.name: value for value in values} for name, values in VALUES.items()}
_EMPTY: dict[str, Row] = {
    name: dict.fromkeys(
        part for value in values for part in (value.name, value.offset) if part is not None
    )
    for name, values in VALUES.items()
}
_NEEDED = {
    name: [value.name for value in values if value.needed] for name, values in VALUES.items()
}
_READ: dict[Any, Any] = {}
_PLAIN = {str, int, bool, Decimal}
_REMEMBERED = 20_000
"""Values that are remembered as they were read: a long export says the same again and again."""


def read_row(table: Table, row: Any, at: int) -> Row:
    """A row of a document as it lies in the database, but for the names of other rows.

    at: its place in its table, from 1. Raises StoreError.
    """
    where = f"{table.name} {at}"
    if not isinstance(row, dict):
        raise StoreError(f"{where}: expected an object")
    values, kept = _BY_NAME[table.name], _EMPTY[table.name].copy()
    by_heart = _READ if table is t.entry else {}
    for name, given in row.items():
        known = (name, given.__class__, given) if given.__class__ in _PLAIN else None
        if known in by_heart:
            kept[name] = by_heart[known]
            continue
        value = values.get(name)
        if value is None:
            raise StoreError(f"{where}: unknown field {name!r:.60}")
        if given is None:
            continue
        try:
            if value.offset is not None:
                kept[name], kept[value.offset] = stamp(datetime.fromisoformat(_text(given)))
            elif value.into is not None:
                kept[name] = _text(given)
            else:
                kept[name] = value.read(given)
                if known is not None and len(by_heart) < _REMEMBERED:
                    by_heart[known] = kept[name]
        except (ValueError, StoreError, OverflowError, InvalidOperation) as error:
            raise StoreError(f"{where}: {name}: {error}, not {given!r:.60}") from None
    for name in _NEEDED[table.name]:
        if kept[name] is None:
            raise StoreError(f"{where}: {name}: missing: expected a value, not None")
    return kept
