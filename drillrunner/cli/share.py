"""`drillrunner share`: whether a player stands on the boards that everyone can see."""

from __future__ import annotations

import argparse

from drillrunner.cli.layout import put_json
from drillrunner.cli.options import FINE, add_json, existing_store, player, text_argument
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("player", metavar="PLAYER", type=text_argument, help="whose word it is")
    parser.add_argument(
        "word",
        choices=("yes", "no"),
        nargs="?",
        help="what they said; left out, it is told what they said last (no, before any word)",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Tell or change it. Raises Wrong, StoreError."""
    store = existing_store(args)
    whose = player(store, args.player)
    assert store is not None
    assert whose is not None
    if args.word is not None:
        store.boards.share(whose.id, args.word == "yes")
    shares = store.boards.shares(whose.id)
    if args.json:
        put_json({"player": whose.name, "shares": shares})
    else:
        stands = "stands" if shares else "does not stand"
        put(f"{whose.name} {stands} on the boards that everyone can see")
    return FINE
