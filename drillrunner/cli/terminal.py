"""The one place that prints: whatever goes to a terminal is escaped on the way.

A title, a note, a file's name or a game's message may hold anything. A terminal would obey it: it
could clear the screen, rename the window or hide what follows. So nothing else here prints, and a
test holds that.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress

from drillrunner.catalogue.escapes import escaped


def put(text: str = "") -> None:
    """Lines on standard output."""
    print(escaped(text, lines=True))


def say(line: str) -> None:
    """One line on standard error."""
    print(escaped(line.replace("\n", " ")), file=sys.stderr)


def put_data(lines: Iterable[str]) -> None:
    """A document of lines that end themselves on standard output.

    A file or a program gets it as it is; a terminal is shown what it holds and does not obey it.
    """
    if sys.stdout.isatty():
        lines = (escaped(line.replace("\r\n", "\n"), lines=True) for line in lines)
    sys.stdout.writelines(lines)


def ask(question: str, unseen: bool = False) -> str:
    """What a person types after a question; empty at the end of input.

    unseen: a secret, which a terminal does not show while it is typed.
    """
    try:
        if unseen and interactive():
            from getpass import getpass

            return getpass(escaped(question))
        return input(escaped(question))
    except EOFError:
        return ""


def interactive() -> bool:
    """Whether somebody can read and type here."""
    return sys.stdin.isatty() and sys.stdout.isatty()


@contextmanager
def quiet() -> Iterator[None]:
    """Keep what is typed from now on for the app, unseen; leave the terminal as it was found.

    What was typed before is still there: nothing is flushed.
    """
    try:
        import termios

        before = termios.tcgetattr(sys.stdin)
    except (ImportError, OSError, ValueError, termios.error):
        yield
        return
    unseen = [*before[:3], before[3] & ~(termios.ECHO | termios.ICANON), *before[4:]]
    unseen[0] &= ~termios.ICRNL
    try:
        termios.tcsetattr(sys.stdin, termios.TCSANOW, unseen)
        yield
    finally:
        # The terminal may be gone.
        with suppress(termios.error, OSError):
            termios.tcsetattr(sys.stdin, termios.TCSANOW, before)


def begin() -> None:
    """A name that the terminal's encoding lacks is shown in another form, not a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def flush() -> None:
    """All that was put is out. Raises OSError, where nobody takes it."""
    sys.stdout.flush()


def stop() -> None:
    """Nobody takes our output any more; without this Python's own flush at exit would complain."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
