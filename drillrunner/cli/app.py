"""`drillrunner`: open the app."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from drillrunner.cli.options import FINE, Wrong, add_player, database, plugin_folders
from drillrunner.cli.terminal import interactive

if TYPE_CHECKING:
    from drillrunner.app.app import DrillrunnerApp
    from drillrunner.app.doors import Door, Leaders
    from drillrunner.app.match_start import Against
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.practice.matches.record import Setup


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "who plays")


def run(args: argparse.Namespace) -> int:
    return open_app(args)


def open_app(
    args: argparse.Namespace,
    drill: Drill | str | None = None,
    demo: bool = False,
    match: Setup | None = None,
    against: Against | None = None,
    catalogue: Catalogue | None = None,
    opened: Callable[[DrillrunnerApp], object] = lambda _: None,
    first: Door | None = None,
    board: Leaders | None = None,
) -> int:
    """Open the app, on a drill if one is given, until it is left. Raises Wrong, StoreError.

    match, against, catalogue, first, board: as of `DrillrunnerApp`. opened: called with the app
    before it runs.
    """
    need_terminal()
    if args.player is not None:
        # A name that can't be kept is told before the app takes the screen.
        from drillrunner.store.stored import LONGEST_NAME, line

        line(args.player, "--player", LONGEST_NAME)
    from drillrunner.app.app import DrillrunnerApp

    app = DrillrunnerApp(
        database=database(args),
        folders=plugin_folders(args),
        player=args.player,
        drill=drill,
        demo=demo,
        match=match,
        against=against,
        catalogue=catalogue,
        first=first,
        board=board,
    )
    opened(app)
    app.run()
    return app.return_code or FINE


def need_terminal() -> None:
    """Raise Wrong unless there is a terminal to draw on, or a driver of something else."""
    if not interactive() and not os.environ.get("TEXTUAL_DRIVER"):
        raise Wrong("the app needs a terminal; `drillrunner --help` lists the plain commands")
