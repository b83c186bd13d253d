"""Ask before something that can't be taken back, and say what a copy holds."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping

from drillrunner.cli.options import Wrong


def confirmed(args: argparse.Namespace, question: str) -> bool:
    """Whether `--yes` or the person at the terminal says so. Raises Wrong where nobody can."""
    if args.yes:
        return True
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Wrong(f"{question} --yes says so")
    try:
        return input(f"{question} [y/N] ").strip().casefold() in ("y", "yes")
    except EOFError:
        return False


def holding(counts: Mapping[str, int]) -> str:
    """Counts in a line: `3 players, 40 runs`."""
    return ", ".join(f"{count} {name}" for name, count in counts.items())
