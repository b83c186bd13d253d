"""`drillrunner worth`: what a change of one part of the game is worth in strokes a round."""

from __future__ import annotations

import argparse

from drillrunner.cli.index import index_argument
from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import (
    FINE,
    Wrong,
    add_json,
    add_player,
    existing_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import put

NOT_EFFORT = "this compares what each is worth, not how much work it takes"


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "whose patterns count (else the owner's)")
    parser.add_argument(
        "--index", metavar="N", type=text_argument, help="of the model's golfer of an index"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print what each change is worth. Raises Wrong, StoreError."""
    from drillrunner.catalogue.strokes.table import FROM_MEN
    from drillrunner.services.worth import WORDS, model_worth, player_worth

    if args.index is not None and args.player is not None:
        raise Wrong("--index: expected it without --player, whose own index counts")
    index = None if args.index is None else index_argument("--index", args.index)
    store = None if index is not None else existing_store(args)
    whose = player(store, args.player) or (None if store is None else store.owner())
    if index is None and (store is None or whose is None):
        raise Wrong("nobody is known yet: expected --index N")
    if store is not None and whose is not None:
        found = player_worth(store, whose)
    else:
        found = model_worth(float(index or 0))
    if args.json:
        put_json(
            [
                {
                    "change": one.change,
                    "strokes": round(one.strokes, 3),
                    "low": None if one.low is None else round(one.low, 3),
                    "high": None if one.high is None else round(one.high, 3),
                }
                for one in found
            ]
        )
        return FINE
    rows = [
        (
            WORDS[one.change],
            f"{one.strokes:.2f}",
            "by the model" if one.low is None else f"{one.low:.2f} to {one.high:.2f}",
            "" if not one.balls else f"from {one.balls} balls of your own",
        )
        for one in found
    ]
    put(table(("change", "strokes a round", "", ""), rows))
    put(f"\n{NOT_EFFORT}; the kinds overlap, so they do not add up")
    if whose is not None and whose.column == "women":
        put(FROM_MEN)
    return FINE
