"""`drillrunner demo`: open the app on a throw-away copy of the demo."""

from __future__ import annotations

import argparse
import signal
import sys
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

from drillrunner.cli.app import need_terminal, open_app
from drillrunner.cli.options import add_player

if TYPE_CHECKING:
    from drillrunner.app.app import DrillrunnerApp

# Windows knows no SIGHUP.
ENDS = [getattr(signal, name) for name in ("SIGHUP", "SIGTERM") if hasattr(signal, name)]
"""The signals of a closed terminal, and of somebody who ends the program."""

KILLED = 128
"""Added to a signal's number, what a shell calls the end that it brought."""


def arguments(parser: argparse.ArgumentParser) -> None:
    add_player(parser, "who plays: Ines, Tobi or Mara")


def run(args: argparse.Namespace) -> int:
    """Play the demo's journal into a new database, and open the app on it. Raises Wrong.

    Whatever database is named elsewhere, this opens its own, and deletes it at the end, however
    that comes.
    """
    need_terminal()
    from drillrunner.services.demo import build

    for number in ENDS:
        signal.signal(number, _leave)
    with TemporaryDirectory(prefix="drillrunner-demo-") as folder:
        args.db = str(Path(folder) / "demo.db")
        build(Path(args.db), datetime.now().astimezone().date())
        return open_app(args, demo=True, opened=_end_in_good_order)


def _end_in_good_order(app: DrillrunnerApp) -> None:
    """Let the app end itself from now on: what is raised amid its work may be lost on the way."""

    def leave(number: int, _: FrameType | None) -> None:
        _ignore()
        app.leave(KILLED + number)

    for number in ENDS:
        signal.signal(number, leave)


def _leave(number: int, _: FrameType | None) -> NoReturn:
    _ignore()
    sys.exit(KILLED + number)


def _ignore() -> None:
    # A closed terminal sends it, and then its shell once more: the tidying up is under way.
    for each in ENDS:
        signal.signal(each, signal.SIG_IGN)
