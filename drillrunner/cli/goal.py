"""`drillrunner goal`: what a player wants by a day, and the one thought of their technique."""

from __future__ import annotations

import argparse
from decimal import Decimal

from drillrunner.cli.index import index_argument
from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    Wrong,
    add_json,
    add_player,
    catalogue,
    day_argument,
    existing_store,
    open_store,
    player,
    text_argument,
)
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "value",
        metavar="VALUE",
        nargs="?",
        type=text_argument,
        help="an index, or with --drill a score; `none` takes the goal back",
    )
    parser.add_argument("--drill", metavar="ID", type=text_argument, help="a score on this drill")
    parser.add_argument("--by", metavar="DAY", type=day_argument, help="the day, as 2026-09-01")
    parser.add_argument(
        "--thought",
        metavar="TEXT",
        type=text_argument,
        help="the one thing that you work on, in your words; `none` takes it back",
    )
    add_player(parser, "whose (else the owner's)")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Set goals and thought, or list the goals. Raises Wrong, StoreError."""
    setting = args.value is not None or args.thought is not None
    if not setting and (args.by is not None or args.drill is not None):
        raise Wrong("VALUE: expected an index, or a score on the drill")
    store = open_store(args) if setting else existing_store(args)
    whose = player(store, args.player) or (None if store is None else store.owner())
    if store is None or whose is None:
        if setting:
            raise Wrong("nobody plays yet: `drillrunner` asks for a name")
        return _none(args)
    if args.by is not None and args.by < store.clock().date():
        raise Wrong(f"--by {args.by}: the day is past")
    if args.value is not None:
        value = None if args.value == "none" else _value(args)
        store.intents.set_goal(whose.id, value, args.by, args.drill)
    if args.thought is not None:
        store.intents.set_thought(whose.id, None if args.thought == "none" else args.thought)
    from drillrunner.services.goals import goal_standings

    found = goal_standings(store, whose, catalogue(args))
    if args.json:
        put_json(
            [
                {
                    "kind": one.kind,
                    "drill": one.drill,
                    "value": one.value,
                    "by": None if one.by is None else one.by.isoformat(),
                    "now": one.now,
                }
                for one in found
            ]
        )
    elif found:
        rows = [(one.title, one.value, one.by or "", one.now or "") for one in found]
        put(table(("goal", "value", "by", "now"), rows))
    else:
        put("no goal")
    thought = store.intents.thought(whose.id)
    if thought is not None and thought.words and not args.json:
        put(f"\nyour thought since {thought.at:%Y-%m-%d}: {thought.words}")
    return FINE if found or setting else NOTHING


def _none(args: argparse.Namespace) -> int:
    if args.json:
        put_json([])
    else:
        put("no goal")
    return NOTHING


def _value(args: argparse.Namespace) -> Decimal:
    if args.drill is None:
        return index_argument("VALUE", args.value)
    from drillrunner.rules.units import NUMBER

    try:
        catalogue(args).drill(args.drill)
    except KeyError as error:
        raise Wrong(f"--drill: {error.args[0]}") from None
    if NUMBER.fullmatch(args.value) is None:
        raise Wrong(f"VALUE: expected a score, not {args.value!r:.40}")
    return Decimal(args.value.replace(",", "."))
