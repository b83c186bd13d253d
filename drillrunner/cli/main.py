"""`drillrunner`: finds the command, reads its arguments, runs it."""

from __future__ import annotations

import gc
import sys
from argparse import RawDescriptionHelpFormatter
from collections.abc import Sequence
from contextlib import nullcontext
from importlib import import_module

from drillrunner import __version__
from drillrunner.cli import terminal
from drillrunner.cli.options import FINE, WRONG, Parser, Wrong, add_everywhere
from drillrunner.cli.terminal import say

COMMANDS = {
    "play": ("play", "play a drill at once"),
    "match": ("match", "a match: on this screen, or between bays by a number"),
    "score": ("score", "score a tally from paper"),
    "drill": ("drill", "make a drill of your own, change it, or take it away"),
    "drills": ("drills", "list the drills, and what is wrong with any file"),
    "check": ("check", "check a drill, a game or a folder of them, and name every fault"),
    "allow": ("allow", "allow a Python game of someone else's to run"),
    "best": ("best", "the personal bests"),
    "history": ("history", "the runs played, newest first"),
    "pattern": ("pattern", "where your shots with a club finish, and how sure that is"),
    "chance": ("chance", "how likely a run beats a score from here"),
    "tune": ("tune", "how hard a drill is set so that it fits a player"),
    "strokes": ("strokes", "how many strokes a golfer of an index takes from somewhere"),
    "holes": ("holes", "which club and which line from the tees of a course"),
    "round": ("round", "a round on a course: typed in the app, or from a file"),
    "rounds": ("rounds", "the rounds played, newest first"),
    "index": ("index", "the handicap index, and what brings it to a goal"),
    "needs": ("needs", "what each kind of shot costs a round against the wanted level"),
    "worth": ("worth", "what a change of each part of the game is worth in strokes a round"),
    "goal": ("goal", "an index or a score by a day, and the one thing that you work on"),
    "session": ("session", "half an hour, one bucket: a timed session, or what one came to"),
    "report": ("report", "one page to send to a coach: scores, patterns, carries, what is next"),
    "aim": ("aim", "how wide a target is, or how many fingers a width is"),
    "export": ("export", "everything in the database as JSON, or every shot as CSV"),
    "import": ("import_", "an export of another database, or a CSV of carries and misses"),
    "backup": ("backup", "a copy of the database, checked by reading it"),
    "restore": ("restore", "put a backup in the place of the database"),
    "give": ("give", "give what was typed under another name to whose it was"),
    "forget": ("forget", "remove a person and what only they have, after a backup"),
    "challenge": ("challenge", "a finished run in a file, for a friend to play against"),
    "accept": ("accept", "play against a challenge, as if its sender were in the next bay"),
    "standings": ("standings", "matches won, by drill and head to head"),
    "leaders": ("leaders", "the best scores on a drill, of those who agreed to stand there"),
    "share": ("share", "whether a player stands on the boards that everyone can see"),
    "serve": ("serve", "the app for phones, through a browser"),
    "phones": ("phones", "the phones that may come in; sign out one that is lost"),
    "demo": ("demo", "open the app on a throw-away copy of the demo"),
}
"""Command to the module of `drillrunner.cli` that holds it, and what it does in a line.

A module has `arguments(parser)` and `run(args) -> int`, and is imported only for its command.
"""

OPENING = ("", "play", "match", "session", "accept", "demo")
"""Commands that open the app."""

WITH_VALUE = ("--db", "--games", "--player")
"""Options that may stand before the command."""

INTERRUPTED = 130
PIPE_CLOSED = 141


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line; returns the exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    terminal.begin()
    # What start-up makes stays: looking through it for garbage costs a tenth of the first paint.
    # The app begins with that once its first screen stands.
    gc.disable()
    try:
        _left_out()
        code = _run(words)
        for line in _left_out():
            say(f"drillrunner: {line}")
        terminal.flush()
        return code
    except KeyboardInterrupt:
        say("drillrunner: interrupted")
        return INTERRUPTED
    except BrokenPipeError:
        terminal.stop()
        return PIPE_CLOSED
    except OSError as error:
        terminal.stop()
        say(f"drillrunner: {error.filename or 'output'}: {error.strerror or error}")
        return WRONG
    finally:
        gc.enable()


def _left_out() -> tuple[str, ...]:
    """The damaged rows that were met since this was last asked; nothing is imported for it."""
    met = sys.modules.get("drillrunner.store.sound")
    return () if met is None else tuple(met.damaged())


def _run(words: list[str]) -> int:
    from drillrunner.catalogue.errors import BadDrill, NeedsStock
    from drillrunner.store.errors import StoreError

    try:
        command, rest = _split(words)
        module, summary = COMMANDS.get(command, ("app", overview()))
        code = import_module(f"drillrunner.cli.{module}")
        parser = Parser(command, summary)
        code.arguments(parser)
        add_everywhere(parser)
        if not command:
            parser.usage = "drillrunner [COMMAND] [OPTION...]"
            parser.formatter_class = RawDescriptionHelpFormatter
            parser.add_argument("--version", action="version", version=f"drillrunner {__version__}")
        # What is typed from now on is for the app.
        with terminal.quiet() if command in OPENING else nullcontext():
            return int(code.run(parser.read(rest)))
    except BadDrill as error:
        for problem in error.problems:
            say(f"drillrunner: {problem}")
    except (Wrong, NeedsStock, StoreError) as error:
        say(f"drillrunner: {error}")
    except Exception as error:
        from drillrunner.catalogue.loader import first_line
        from drillrunner.catalogue.overdue import raised_in

        if (place := raised_in(error)) is None:
            raise
        said = f"{type(error).__name__}: {first_line(error)}"
        say(f"drillrunner: {place}: the game raised {said}")
    except SystemExit as done:
        # argparse leaves this way after --help and --version.
        return FINE if done.code is None else int(done.code)
    return WRONG


def _split(words: list[str]) -> tuple[str, list[str]]:
    """The command (empty: none) and everything else. Raises Wrong for an unknown command."""
    at = 0
    while at < len(words) and words[at].startswith("-"):
        at += 2 if words[at] in WITH_VALUE else 1
    if at >= len(words):
        return "", words
    if words[at] not in COMMANDS:
        raise Wrong(f"no command {words[at]!r}: expected one of {', '.join(COMMANDS)}")
    return words[at], words[:at] + words[at + 1 :]


def overview() -> str:
    """What the program does and its commands, for `--help`."""
    size = max(map(len, COMMANDS))
    lines = [f"  {name:<{size}}  {summary}" for name, (_, summary) in COMMANDS.items()]
    start = "Practice drills at the range, shot by shot. Without a command the app opens."
    return "\n".join(
        (start, "", "commands:", *lines, "", "`drillrunner COMMAND --help` says more.")
    )
