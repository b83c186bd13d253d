"""`drillrunner best`: the personal bests, one for each drill as it was set."""

from __future__ import annotations

import argparse

from drillrunner.cli.layout import put_json, setting_words, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    add_json,
    add_player,
    existing_store,
    player,
)
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List the bests. Raises Wrong, StoreError."""
    store = existing_store(args)
    whose = player(store, args.player)
    bests = () if store is None else store.bests(whose.id if whose else None)
    if args.json:
        put_json(
            [
                {
                    "player": best.player,
                    "drill": best.drill,
                    "setting": best.setting,
                    "score": best.score,
                    "at": best.at,
                    "run": best.run,
                }
                for best in bests
            ]
        )
    elif bests:
        heads = ("player", "drill", "best", "on", "as set")
        rows = [
            (b.player, b.drill, b.score, f"{b.at:%Y-%m-%d}", setting_words(b.setting))
            for b in bests
        ]
        put(table(heads, rows))
    else:
        put("no bests yet")
    return FINE if bests else NOTHING
