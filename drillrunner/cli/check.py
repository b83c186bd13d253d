"""`drillrunner check`: every fault of a drill, a game or a folder of them."""

from __future__ import annotations

import argparse
import os
from dataclasses import asdict
from pathlib import Path

from drillrunner.catalogue.check import check, files_of
from drillrunner.cli.layout import put_json
from drillrunner.cli.options import FINE, NOTHING, Wrong, add_json, plugin_folders
from drillrunner.cli.terminal import put, say


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("path", metavar="PATH", type=Path, help="a .toml, a .py, or a folder")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    if not os.path.lexists(args.path):
        raise Wrong(f"{args.path}: expected a drill, a game or a folder, and there is none")
    problems = check(args.path, plugin_folders(args))
    if args.json:
        put_json({"path": str(args.path), "problems": [asdict(problem) for problem in problems]})
    for problem in problems:
        say(str(problem))
    checked = len(files_of(args.path))
    if not args.json and not problems:
        put(
            f"no faults in {checked} file{'s' if checked != 1 else ''}"
            if checked
            else "no drill, game or plan here"
        )
    return NOTHING if problems or not checked else FINE
