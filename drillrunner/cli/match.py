"""`drillrunner match`: a match on this screen, or between bays, where others join by a number."""

from __future__ import annotations

import argparse

from drillrunner.cli.app import open_app
from drillrunner.cli.options import Wrong, add_players, add_set, catalogue, drill, text_argument
from drillrunner.cli.play import MATCH_ONLY, add_ways, first_of, match_of, setup_of


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "drill", metavar="DRILL", type=text_argument, nargs="?", help="its id; not with --join"
    )
    add_set(parser)
    between = parser.add_mutually_exclusive_group()
    between.add_argument(
        "--wait",
        action="store_true",
        help="between bays: open it, and show the number that the others join by",
    )
    between.add_argument(
        "--join",
        metavar="NUMBER",
        type=_code,
        help="between bays: join the match of these four digits",
    )
    add_players(parser, "who plays here; a new name is created; on one screen two to eight of them")
    add_ways(parser)


def run(args: argparse.Namespace) -> int:
    """Open the app on a match. Raises Wrong, BadDrill, StoreError."""
    if not (args.wait or args.join):
        return _on_this_screen(args)
    from drillrunner.app.doors import JoinOthers, WaitForOthers

    if len(args.player) > 1:
        raise Wrong("--player: expected one of them: between bays the others play in theirs")
    args.player = first_of(args)
    if args.join:
        ways = [name for name in MATCH_ONLY if getattr(args, name)]
        if args.drill is not None or args.set or ways:
            raise Wrong("--join: expected no drill and no way to play it: who opened it chose both")
        return open_app(args, first=JoinOthers(args.join))
    known = catalogue(args)
    wanted = drill(known, _named(args))
    setup = setup_of(args, ())
    return open_app(args, catalogue=known, first=WaitForOthers(wanted, setup))


def _on_this_screen(args: argparse.Namespace) -> int:
    setup = match_of(_named(args))
    if setup is None:
        raise Wrong("expected --wait, or --join NUMBER, or --player for each who plays here")
    known = catalogue(args)
    wanted = drill(known, args)
    args.player = first_of(args)
    return open_app(args, wanted, match=setup, catalogue=known)


def _named(args: argparse.Namespace) -> argparse.Namespace:
    if args.drill is None:
        raise Wrong("DRILL: expected the id of a drill, or --join NUMBER")
    return args


def _code(value: str) -> str:
    if not (len(value) == 4 and value.isascii() and value.isdigit()):
        raise argparse.ArgumentTypeError(f"{value}: expected the four digits of the other bay")
    return value
