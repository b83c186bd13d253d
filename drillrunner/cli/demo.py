"""`drillrunner demo`: open the app on a throw-away copy of the demo."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from drillrunner.cli.app import need_terminal, open_app
from drillrunner.cli.options import add_player


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "who plays: Ines, Tobi or Mara")


def run(args: argparse.Namespace) -> int:
    """Play the demo's journal into a new database, and open the app on it. Raises Wrong.

    Whatever database is named elsewhere, this opens its own, and deletes it at the end.
    """
    need_terminal()
    from drillrunner.practice.demo import build

    with TemporaryDirectory(prefix="drillrunner-demo-") as folder:
        args.db = str(Path(folder) / "demo.db")
        build(Path(args.db), datetime.now().astimezone().date())
        return open_app(args, demo=True)
