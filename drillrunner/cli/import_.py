"""`drillrunner import`: an export of our own, or a CSV of carries and misses from any source."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.catalogue import places
from drillrunner.cli.confirm import confirmed
from drillrunner.cli.layout import labelled, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_player,
    catalogue,
    existing_store,
    open_store,
    text_argument,
)
from drillrunner.cli.terminal import put, say
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.practice.carries.columns import ColumnMap, Reading, Sheet, UnreadableRow
    from drillrunner.rules.units import Unit
    from drillrunner.store.bringing import Brought

LISTED = 20
"""How many unreadable rows are listed before the rest are counted."""


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path, help="JSON of `export`, or any CSV")
    add_player(parser, "whose shots a CSV holds; a new name is created")
    parser.add_argument(
        "--column",
        metavar="FIELD=HEAD",
        type=text_argument,
        action="append",
        default=[],
        help="which column of a CSV is what: carry, target, lateral, depth, club, swing, at; "
        "no HEAD leaves it out",
    )
    parser.add_argument(
        "--measure",
        metavar="[FIELD=]UNIT",
        type=text_argument,
        action="append",
        default=[],
        help="yd, m or ft: of all distances, or of one column",
    )
    parser.add_argument(
        "--positive",
        metavar="SIDE",
        choices=("left", "right", "long", "short"),
        action="append",
        default=[],
        help="the side that a number without a sign means (else right and long)",
    )
    parser.add_argument(
        "--club",
        metavar="[NAME=]ID",
        type=text_argument,
        action="append",
        default=[],
        help="the club, where no column says; with NAME what the file calls a club",
    )
    parser.add_argument("--yes", action="store_true", help="import without asking")


def run(args: argparse.Namespace) -> int:
    """Import the file. Raises Wrong, StoreError."""
    try:
        with args.file.open("rb") as file:
            is_export = file.read(64).lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{"
        content = b"" if is_export else args.file.read_bytes()
    except OSError as error:
        raise Wrong(f"{args.file}: {error.strerror or error}") from None
    return _export(args) if is_export else _sheet(args, content)


def _export(args: argparse.Namespace) -> int:
    from drillrunner.services.ledger import damaged_sessions
    from drillrunner.store import bringing
    from drillrunner.store.errors import StoreError

    try:
        with open_store(args) as store:
            brought = bringing.bring_in_file(store.database, args.file, catalogue(args).games)
            if brought.added.get("session_event"):
                for damage in damaged_sessions(store):
                    say(damage)
    except (OSError, UnicodeDecodeError, StoreError) as error:
        raise Wrong(f"{args.file}: {error}") from None
    return _told(brought)


def _told(brought: Brought) -> int:
    for note in brought.notes:
        say(note)
    if brought.added:
        put(labelled({name.replace("_", " "): n for name, n in brought.added.items()}))
    else:
        put("everything in it is here already")
    return FINE


def _sheet(args: argparse.Namespace, content: bytes) -> int:
    from drillrunner.practice.carries.columns import BadSheet, read, sheet
    from drillrunner.services import column_maps
    from drillrunner.services.bring_shots import bring_shots

    if args.player is None:
        raise Wrong("whose shots are these? --player NAME says so")
    known = existing_store(args)
    whose = None if known is None else known.player(args.player)
    try:
        rows = sheet(content)
        mapping = _mapping(args, rows, "yd" if whose is None else whose.unit)
        readings, faults = read(rows, mapping, None, date.today())
    except BadSheet as error:
        raise Wrong(f"{args.file}: {error}") from None
    _show(mapping, readings, faults)
    if not readings:
        say("no row can be read")
        return NOTHING
    name = f"{args.player}, a new player" if whose is None else whose.name
    if not confirmed(args, f"Import {numbered(len(readings), 'shot')} for {name}?"):
        return NOTHING
    with known or open_store(args) as store:
        brought = bring_shots(
            store, whose or store.add_player(args.player), readings, content, store.clock()
        )
    try:
        column_maps.keep(places.config_dir(), rows.heads, mapping)
    except OSError as error:
        say(f"the columns could not be kept for next time: {error.strerror or error}")
    count = brought.added.get("entry", 0)
    said = "1 shot" if count == 1 else f"{count} shots"
    put(f"{said} imported" if count else "every row of this file is here already")
    return FINE


def _mapping(args: argparse.Namespace, rows: Sheet, unit: Unit) -> ColumnMap:
    """What the options say, on top of what was kept or can be guessed. Raises Wrong, BadSheet."""
    from pydantic import ValidationError

    from drillrunner.catalogue.fields import reasons
    from drillrunner.practice.carries.columns import ColumnMap, check_columns, guess_columns
    from drillrunner.services import column_maps

    known = column_maps.find(places.config_dir(), rows.heads) or guess_columns(rows.heads, unit)
    document = known.model_dump(exclude_none=True)
    columns = document["columns"]
    for name, head in _pairs("--column", args.column):
        if head:
            columns[name] = {**columns.get(name, {}), "head": head}
        else:
            columns.pop(name, None)
    for name, measure in _pairs("--measure", args.measure, bare="measure"):
        if name == "measure":
            document["measure"] = measure
        elif name in columns:
            columns[name]["measure"] = measure
        else:
            raise Wrong(f"--measure {name}={measure}: no column is {name}")
    for side in args.positive:
        name = "lateral" if side in ("left", "right") else "depth"
        if name not in columns:
            raise Wrong(f"--positive {side}: no column is {name}")
        columns[name]["positive"] = side
    for name, id in _pairs("--club", args.club, bare=""):
        if name:
            document["clubs"][name] = id
        else:
            document["club"] = id
    try:
        mapping = ColumnMap.model_validate(document)
    except ValidationError as error:
        path, reason = next(iter(reasons(error, ColumnMap, ())))
        where = " ".join(part for part in path if part not in ("columns", "[key]"))
        raise Wrong(f"{where}: {reason}") from None
    check_columns(mapping, rows.heads)
    return mapping


def _pairs(option: str, given: Iterable[str], bare: str | None = None) -> Iterable[tuple[str, str]]:
    for pair in given:
        name, equals, value = pair.partition("=")
        if equals:
            yield name.strip(), value.strip()
        elif bare is not None:
            yield bare, name.strip()
        else:
            raise Wrong(f"{option} {pair}: expected FIELD=HEAD")


def _show(mapping: ColumnMap, readings: Sequence[Reading], faults: Sequence[UnreadableRow]) -> None:
    """What the columns mean, the first ten rows as read, and the rows that can't be."""
    from drillrunner.practice.carries.columns import preview

    means: Mapping[str, str] = {
        what: ", ".join(
            part
            for part in (column.head, column.measure, column.positive and f"+ is {column.positive}")
            if part
        )
        for what, column in mapping.columns.items()
    }
    put(labelled({**means, "distances": mapping.measure}))
    if readings:
        put()
        put(table(("line", "club", "aim", "shot"), preview(readings)))
    if faults:
        put(f"\n{len(faults)} row{'' if len(faults) == 1 else 's'} can't be read:")
        for fault in faults[:LISTED]:
            put(f"  {fault}")
        if len(faults) > LISTED:
            put(f"  and {len(faults) - LISTED} more")
    put()
