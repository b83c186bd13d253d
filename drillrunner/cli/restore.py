"""`drillrunner restore`: put a backup in the place of the database."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.cli.confirm import confirmed, holding
from drillrunner.cli.options import FINE, NOTHING, Wrong, database
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path, help="a backup")
    parser.add_argument("--yes", action="store_true", help="restore without asking")


def run(args: argparse.Namespace) -> int:
    """Restore. Raises Wrong, StoreError."""
    from drillrunner.store.backup import restore

    where = database(args)
    if "://" in where:
        raise Wrong(f"restore puts back a SQLite file: name it by its path, not {where}")
    target = Path(where)
    if target.exists() and not confirmed(args, f"Put {args.file} in the place of {target}?"):
        return NOTHING
    made = restore(args.file, target)
    put(f"{made.path}: {holding(made.holds)}")
    if made.aside is not None:
        put(f"what was there lies in {made.aside}")
    return FINE
