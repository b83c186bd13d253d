"""`drillrunner allow`: let a Python game of someone else's run."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.catalogue import allowed
from drillrunner.catalogue.tomltext import Unreadable
from drillrunner.cli.options import FINE, Wrong
from drillrunner.cli.terminal import put


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path, help="a Python file with one game")


def run(args: argparse.Namespace) -> int:
    try:
        digest = allowed.allow(args.file)
    except Unreadable as error:
        raise Wrong(f"{args.file}: {error}") from None
    except OSError as error:
        raise Wrong(f"{allowed.list_file()}: can't be written: {error.strerror or error}") from None
    put(f"allowed to run as it now is: {args.file}")
    put(f"sha256 {digest}")
    return FINE
