"""`drillrunner needs`: what each kind of shot costs a round against the wanted level."""

from __future__ import annotations

import argparse

from drillrunner.cli.index import index_argument
from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    add_json,
    add_player,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "whose (else the owner's)")
    parser.add_argument(
        "--level", metavar="INDEX", type=text_argument, help="the wanted index (else the goal)"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the needs. Raises Wrong, StoreError."""
    from drillrunner.practice.looking_back.need_words import lines
    from drillrunner.practice.sessions.claims import to_the_half
    from drillrunner.services.needs import player_needs

    wanted = None if args.level is None else float(index_argument("--level", args.level))
    store = existing_store(args)
    whose = player(store, args.player) or (None if store is None else store.owner())
    if store is None or whose is None:
        if args.json:
            put_json([])
        else:
            put("no rounds yet")
        return NOTHING
    found = player_needs(store, whose, wanted)
    if args.json:
        put_json(
            [
                {
                    "kind": need.kind,
                    "lost": round(need.lost, 3),
                    "low": round(need.low, 3),
                    "high": round(need.high, 3),
                    "rounds": need.rounds,
                }
                for need in found.needs
                if found.rounds
            ]
        )
        return FINE if found.rounds else NOTHING
    if found.rounds:
        rows = [
            (
                need.kind,
                f"{need.lost:+z.1f}",
                f"{need.low:+z.1f} to {need.high:+z.1f}",
                to_the_half(need.rounds),
            )
            for need in found.needs
        ]
        put(table(("kind", "lost a round", "8 in 10", "rounds"), rows) + "\n")
    put("\n".join(lines(found.needs, found.wanted, found.goal, found.known, whose.column)))
    return FINE if found.rounds else NOTHING
