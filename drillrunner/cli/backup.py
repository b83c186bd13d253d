"""`drillrunner backup`: a copy of the database, checked by reading it."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.cli.confirm import holding
from drillrunner.cli.options import FINE, Wrong, existing_store
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="FILE", type=Path, help="a new file (else beside it)")


def run(args: argparse.Namespace) -> int:
    """Copy. Raises Wrong, StoreError."""
    from drillrunner.store.backup import backup

    store = existing_store(args)
    if store is None:
        raise Wrong("no database yet, so there is nothing to copy")
    with store:
        made = backup(store.database, args.out, f"{store.clock():%Y-%m-%d-%H%M%S}")
    put(f"{made.path}: {holding(made.holds)}")
    return FINE
