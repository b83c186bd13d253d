"""`drillrunner play`: open the app on a drill."""

from __future__ import annotations

import argparse

from drillrunner.cli.app import open_app
from drillrunner.cli.options import add_drill, add_player, catalogue, drill


def arguments(parser: argparse.ArgumentParser) -> None:
    add_drill(parser)
    add_player(parser, "who plays; a new name is created")


def run(args: argparse.Namespace) -> int:
    # What is wrong is said here, before the app takes the screen.
    drill(catalogue(args), args)
    return open_app(args, args.drill, args.set)
