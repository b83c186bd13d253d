"""`drillrunner export`: everything as JSON, or every shot as CSV."""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.cli.lines import put_lines
from drillrunner.cli.options import FINE, NOTHING, existing_store, say

if TYPE_CHECKING:
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--format",
        choices=("csv", "json"),
        default="json",
        help="json: everything, to be imported again; csv: one row a shot",
    )
    parser.add_argument("--out", metavar="FILE", type=Path, help="a new file (else stdout)")
    parser.add_argument(
        "--columns", action="store_true", help="say what the columns of the CSV mean, and stop"
    )


def run(args: argparse.Namespace) -> int:
    """Write the document. Raises Wrong, StoreError."""
    if args.columns:
        return _explain()
    store = existing_store(args)
    if store is None:
        say("drillrunner: no database yet, so there is nothing to export")
        return NOTHING
    with store:
        put_lines(args.out, _sheet(store) if args.format == "csv" else _document(store))
    return FINE


def _document(store: Store) -> Iterator[str]:
    from drillrunner.store import exchange

    return exchange.write(store.database)


def _sheet(store: Store) -> Iterator[str]:
    """Comma-separated values as RFC 4180 has them."""
    from drillrunner.store.shot_list import COLUMNS, rows

    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    for row in (list(COLUMNS), *()):
        writer.writerow(row)
    for row in rows(store):
        yield _taken(buffer)
        writer.writerow(row)
    yield _taken(buffer)


def _taken(buffer: io.StringIO) -> str:
    text = buffer.getvalue()
    buffer.seek(0)
    buffer.truncate()
    return text


def _explain() -> int:
    from drillrunner.cli.layout import facts
    from drillrunner.store.shot_list import COLUMNS

    print(facts(COLUMNS))
    return FINE
