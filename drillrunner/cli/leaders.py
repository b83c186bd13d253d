"""`drillrunner leaders`: the best scores on a drill, of the players who agreed to stand there."""

from __future__ import annotations

import argparse
from datetime import datetime, time

from drillrunner.cli.layout import put_json, table
from drillrunner.cli.options import (
    FINE,
    NOTHING,
    add_drill,
    add_json,
    catalogue,
    day_argument,
    drill,
    existing_store,
)
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    add_drill(parser)
    parser.add_argument(
        "--since", metavar="DATE", type=day_argument, help="runs that ended from this day on"
    )
    parser.add_argument(
        "--unit", choices=("yd", "m"), help="as players in yards or metres have it (as written)"
    )
    parser.add_argument(
        "--show", action="store_true", help="on a screen that is kept up to date, for all to see"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the board, or show it. Raises Wrong, StoreError, NeedsStock."""
    known = catalogue(args)
    wanted = drill(known, args)
    if args.unit is not None:
        wanted = wanted.in_unit(args.unit)
    # A drill that aims at everyone's own stock carry is another one for each: it says so.
    wanted.game()
    if args.show:
        from drillrunner.app.doors import Leaders
        from drillrunner.cli.app import open_app

        args.player = None
        return open_app(args, catalogue=known, board=Leaders(wanted, args.since))
    since = None if args.since is None else datetime.combine(args.since, time()).astimezone()
    store = existing_store(args)
    found = () if store is None else store.boards.leaders(wanted.fingerprint, since)
    if args.json:
        put_json(
            [
                {"player": one.player, "score": one.score, "at": one.at, "run": one.run}
                for one in found
            ]
        )
    elif found:
        heads = ("place", "player", "score", "on")
        put(table(heads, [(o.place, o.player, o.score, f"{o.at:%Y-%m-%d}") for o in found]))
    else:
        put("nobody stands here yet: `drillrunner share PLAYER yes`, and a finished run")
    return FINE if found else NOTHING
