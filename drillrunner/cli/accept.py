"""`drillrunner accept`: play against a challenge, as if its sender were in the next bay."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.cli.app import open_app
from drillrunner.cli.options import Wrong, add_player, catalogue


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", type=Path, help="as `challenge` writes it")
    add_player(parser, "who plays; a new name is created")


def run(args: argparse.Namespace) -> int:
    """Open the app on it. Raises Wrong for a file that does not add up, before any screen."""
    from drillrunner.practice.matches.challenge import LARGEST_FILE, BadChallenge, read

    try:
        with args.file.open(encoding="utf-8") as file:
            text = file.read(LARGEST_FILE + 1)
        challenge = read(text, catalogue(args).games)
    except UnicodeDecodeError:
        raise Wrong(f"{args.file}: expected a challenge, and this is no text in UTF-8") from None
    except OSError as error:
        raise Wrong(f"{args.file}: {error.strerror or error}") from None
    except BadChallenge as error:
        raise Wrong(f"{args.file}: {error}") from None
    return open_app(args, against=(challenge, text))
