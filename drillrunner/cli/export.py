"""`drillrunner export`: everything as JSON, or every shot as CSV."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from drillrunner.cli.lines import put_lines, sheet
from drillrunner.cli.options import FINE, NOTHING, existing_store
from drillrunner.cli.terminal import put, say

if TYPE_CHECKING:
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--format",
        choices=("csv", "json"),
        default="json",
        help="json: everything, to be imported again; csv: one row a shot",
    )
    parser.add_argument(
        "--out", metavar="FILE", type=Path, help="a new file; - is stdout, as without it"
    )
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
    from drillrunner.store.shot_list import COLUMNS, rows

    return sheet(chain([list(COLUMNS)], rows(store)))


def _explain() -> int:
    from drillrunner.cli.layout import labelled
    from drillrunner.store.shot_list import COLUMNS

    put(labelled(COLUMNS))
    return FINE
