"""`drillrunner export`: everything in the database, as one JSON document."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drillrunner import __version__
from drillrunner.cli.history import run_document
from drillrunner.cli.layout import as_json
from drillrunner.cli.options import FINE, NOTHING, Wrong, existing_store

if TYPE_CHECKING:
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", metavar="FILE", type=Path, help="a new file (else stdout)")


def run(args: argparse.Namespace) -> int:
    """Write the document. Raises Wrong, StoreError."""
    store = existing_store(args)
    document = as_json(everything(store))
    if args.out is None:
        print(document)
    else:
        try:
            # A file that is there already may be the only copy of something.
            with args.out.open("x", encoding="utf-8") as out:
                print(document, file=out)
        except OSError as error:
            raise Wrong(f"{args.out}: can't be written: {error.strerror or error}") from None
        print(f"written to {args.out}", file=sys.stderr)
    return NOTHING if store is None else FINE


def everything(store: Store | None) -> Mapping[str, Any]:
    """All players with their clubs, and all runs, oldest first, with all their entries."""
    players = () if store is None else store.players(hidden=True)
    runs = () if store is None else store.history()[::-1]
    return {
        "format": "drillrunner",
        "version": __version__,
        "players": [
            {"player": player, "clubs": store.clubs(player.id) if store else ()}
            for player in players
        ],
        "runs": [
            {
                **run_document(run),
                "player_id": run.player_id,
                "as_set": run.as_set,
                "game_hash": run.game_hash,
                "entries": store.entries(run.run) if store else (),
            }
            for run in runs
        ],
    }
