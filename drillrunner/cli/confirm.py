"""Ask before something that can't be taken back, and say what a copy holds."""

from __future__ import annotations

import argparse
from collections.abc import Mapping

from drillrunner.cli.options import Wrong
from drillrunner.cli.terminal import ask, interactive


def confirmed(args: argparse.Namespace, question: str) -> bool:
    """Whether `--yes` or the person at the terminal says so. Raises Wrong where nobody can."""
    if args.yes:
        return True
    if not interactive():
        raise Wrong(f"{question} --yes says so")
    return ask(f"{question} [y/N] ").strip().casefold() in ("y", "yes")


def holding(counts: Mapping[str, int]) -> str:
    """Counts in a line: `3 players, 40 runs`."""
    return ", ".join(f"{count} {name}" for name, count in counts.items())
