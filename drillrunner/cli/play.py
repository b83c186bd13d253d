"""`drillrunner play`: open the app on a drill, alone or as a match."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from drillrunner.catalogue import listing
from drillrunner.cli.app import open_app
from drillrunner.cli.options import (
    Wrong,
    add_drill,
    add_players,
    catalogue,
    drill,
    plugin_folders,
)

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.practice.matches.record import Setup

MATCH_ONLY = ("turns", "draw", "decider", "fair")


def arguments(parser: argparse.ArgumentParser) -> None:
    add_drill(parser)
    add_players(parser, "who plays; a new name is created; two to eight of them play a match")
    add_ways(parser)


def add_ways(parser: argparse.ArgumentParser) -> None:
    """How a match is played."""
    parser.add_argument(
        "--turns", choices=("ball", "run"), help="in a match: ball by ball, or a run each"
    )
    parser.add_argument("--draw", action="store_true", help="draw the order of a match by lot")
    parser.add_argument(
        "--decider", action="store_true", help="equal scores play on, instead of sharing the match"
    )
    parser.add_argument(
        "--fair",
        action="store_true",
        help="set the drill harder or easier so that everyone has the same chance",
    )


def run(args: argparse.Namespace) -> int:
    # What is wrong is said here, before the app takes the screen.
    match = match_of(args)
    wanted, known = _alone(args) if match is None else None, None
    if wanted is None:
        known = catalogue(args)
        wanted = drill(known, args)
    args.player = first_of(args)
    return open_app(args, wanted, match=match, catalogue=known)


def _alone(args: argparse.Namespace) -> Drill | str | None:
    """The drill that is wanted, by its id if it is as it was when it was listed, or read alone.

    `None` where all have to be looked at. Raises BadDrill.
    """
    if not args.set and listing.lists(plugin_folders(args), args.drill):
        return str(args.drill)
    from drillrunner.catalogue.loader import load_bundled

    found = load_bundled(args.drill)
    return None if found is None else found.with_set(args.set)


def first_of(args: argparse.Namespace) -> str | None:
    """The player of the app, where it may be said who plays more than once."""
    return args.player[0] if args.player else None


def match_of(args: argparse.Namespace) -> Setup | None:
    """The match that is wanted; `None` for one player. Raises Wrong, StoreError."""
    names = [name.strip() for name in args.player]
    given = next((name for name in MATCH_ONLY if getattr(args, name)), None)
    if len(names) < 2 and given is None:
        return None
    from drillrunner.practice.matches.match import FEWEST_PLAYERS, MOST_PLAYERS
    from drillrunner.store.stored import LONGEST_NAME, line

    if len(names) < FEWEST_PLAYERS:
        if given is not None:
            raise Wrong(
                f"--{given} is for a match: expected {FEWEST_PLAYERS} to {MOST_PLAYERS} times "
                "--player"
            )
        return None
    if len(names) > MOST_PLAYERS:
        raise Wrong(
            f"a match takes {FEWEST_PLAYERS} to {MOST_PLAYERS} players, and these are {len(names)}"
        )
    seen: set[str] = set()
    for name in names:
        if not name:
            raise Wrong("--player: expected a name")
        line(name, "--player", LONGEST_NAME)
        if name.casefold() in seen:
            raise Wrong(f"{name} twice: everyone has one place in a match")
        seen.add(name.casefold())
    return setup_of(args, tuple(names))


def setup_of(args: argparse.Namespace, names: tuple[str, ...]) -> Setup:
    """A match of these players, played as `add_ways` has it."""
    from drillrunner.practice.matches.match import Tie
    from drillrunner.practice.matches.record import Setup

    tie: Tie = "decider" if args.decider else "shared"
    return Setup(names, args.turns or "ball", args.draw, tie, args.fair)
