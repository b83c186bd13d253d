"""`drillrunner challenge`: a finished run in a file, for a friend who is elsewhere."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.cli.lines import put_lines
from drillrunner.cli.options import FINE, Wrong, catalogue, existing_store, text_argument
from drillrunner.cli.terminal import say


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "run", metavar="RUN", type=text_argument, help="its id, as `history` lists it"
    )
    parser.add_argument(
        "--out", metavar="FILE", type=Path, help="a new file; - is stdout, as without it"
    )


def run(args: argparse.Namespace) -> int:
    """Write the challenge. Raises Wrong, StoreError."""
    from drillrunner.practice.matches.challenge import BadChallenge, write

    store = existing_store(args)
    stored = None if store is None else store.run(args.run)
    if store is None or stored is None:
        raise Wrong(f"no run {args.run}: `drillrunner history` lists them")
    with store:
        playing = store.resume(args.run, catalogue(args).games)
    try:
        text = write(stored.player, stored.ended_at or stored.started, playing.drill, playing.run)
    except BadChallenge as error:
        raise Wrong(f"run {args.run} can't be sent: {error}") from None
    put_lines(args.out, [text])
    if args.out is not None:
        say("its checksum finds accidental damage; it proves nothing against a cheat")
    return FINE
