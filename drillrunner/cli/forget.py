"""`drillrunner forget`: remove a person, after a backup."""

from __future__ import annotations

import argparse

from drillrunner.cli.confirm import confirmed
from drillrunner.cli.layout import labelled
from drillrunner.cli.options import FINE, NOTHING, existing_store, player, text_argument
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "player", metavar="PLAYER", type=text_argument, help="who is to be forgotten"
    )
    parser.add_argument("--yes", action="store_true", help="remove without asking")


def run(args: argparse.Namespace) -> int:
    """Show what would go, ask, copy the database, remove. Raises Wrong, StoreError."""
    store = existing_store(args)
    whose = player(store, args.player)
    assert store is not None
    assert whose is not None
    from drillrunner.store import backup, forget

    with store:
        put(labelled(forget.belongings(store.database, whose.id)))
        if not confirmed(args, f"Remove {whose.name} and all of this for good?"):
            return NOTHING
        if store.database.path is not None:
            stamp = f"before-forget-{store.clock():%Y-%m-%d-%H%M%S}"
            copy = backup.backup(store.database, None, stamp).path
            put(f"copied to {copy}, which still has {whose.name}: delete it when you are sure")
        else:
            put("no copy of a server is made here: its own backups still have what they have")
        forget.forget(store.database, whose.id)
    put(f"{whose.name} is gone")
    return FINE
