"""The whole program in a real pseudo-terminal: typed, killed, taken up again, and finished."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pyte
import pytest

from tests.app.test_bytes import APPLICATION, KITTY, UNLOCKED

PATIENCE = 30.0
"""Seconds after which a screen that has not come counts as missing."""


class Ended(AssertionError):
    """The program is gone."""


class Terminal:
    """A program in a terminal of 80 by 24, seen through pyte."""

    def __init__(self, *arguments: str) -> None:
        self.screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self.screen)
        self._code: int | None = None
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            os.environ |= {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
            os.execv(sys.executable, [sys.executable, "-m", "drillrunner", *arguments])
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    def type(self, data: str) -> None:
        """Send bytes."""
        os.write(self._fd, data.encode())

    def click(self, *faces: str) -> None:
        """Click the first of the faces that stand side by side on the drawn keypad."""
        for _ in self.reading(f"keys {faces}"):
            for row, line in enumerate(self.screen.display):
                at = [line.find(face, 50) for face in faces]
                if -1 not in at and at == sorted(at):
                    place = f"0;{at[0] + 1};{row + 1}"
                    self.type(f"\x1b[<{place}M\x1b[<{place}m")
                    return

    def wait_for(self, *words: str) -> str:
        """Read until all these words stand on the screen; the screen's text."""
        for text in self.reading(f"{words}"):
            if all(word in text for word in words):
                break
        return text

    def wait_until_gone(self, *words: str) -> None:
        """Read until none of these words is left: a screen is drawn over the last, not at once."""
        for text in self.reading(f"an end of {words}"):
            if not any(word in text for word in words):
                return

    def reading(self, wanted: str) -> Iterator[str]:
        """The screen's text, again and again as it is drawn; fails when patience is at an end."""
        until = time.monotonic() + PATIENCE
        while True:
            text = "\n".join(self.screen.display)
            yield text
            assert time.monotonic() < until, f"{wanted} not on the screen:\n{text}"
            # What has come by now is drawn before it is looked at: a look costs as much.
            wait = 0.1
            while time.monotonic() < until and select.select([self._fd], [], [], wait)[0]:
                try:
                    self._stream.feed(os.read(self._fd, 65536))
                except OSError:
                    if wait:
                        raise Ended(f"it ended before {wanted} came:\n{text}") from None
                    break
                wait = 0

    def ended(self) -> int:
        """Read until the program is gone; its exit code."""
        with suppress(Ended):
            for _ in self.reading("an end"):
                pass
        self._code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self._code

    def kill(self) -> None:
        """End the process at once, as a flat battery does."""
        if self._code is None:
            os.kill(self.pid, signal.SIGKILL)
            self._code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


@contextmanager
def play(database: Path) -> Iterator[Terminal]:
    """The corridor, played by Ada, until the block ends."""
    terminal = Terminal("play", "hold-the-corridor", "--player", "Ada", "--db", str(database))
    try:
        yield terminal
    finally:
        terminal.kill()


def test_typed_killed_gone_on_with_and_finished(home: Path) -> None:
    database = home / "bay.db"
    with play(database) as terminal:
        terminal.wait_for("held 0", "lives left 3", "no best yet")
        terminal.type("5")
        terminal.wait_for("held 1")
        terminal.type(APPLICATION["5"])
        terminal.wait_for("held 2")
        terminal.type(KITTY["4"])
        terminal.wait_for("lives left 2", "last: left")
    with play(database) as terminal:
        terminal.wait_for("has an open run", "back")
        # What is typed while the question is still being drawn is no answer to it.
        for text in terminal.reading("an answer"):
            if "held 2" in text:
                break
            terminal.type("\r")
        terminal.wait_for("held 2", "lives left 2", "last: left")
        terminal.click("4", "5", "6")
        terminal.wait_for("lives left 1", "last: left")
        terminal.type(UNLOCKED["4"][0])
        terminal.wait_for("score 2", "out of lives", "your first score", "left 3, in 2, right 0")
        terminal.type("\r")
        terminal.wait_for("held 0", "to beat 2: 3 more")


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM])
def test_the_demo_takes_its_copy_away_when_its_terminal_is_closed_or_it_is_ended(
    number: signal.Signals, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TMPDIR", str(home))
    terminal = Terminal("demo")
    try:
        terminal.wait_for("demo", "Hold the corridor")
        assert len(list(home.glob("drillrunner-demo-*"))) == 1
        os.kill(terminal.pid, number)
        assert terminal.ended() == 128 + number
    finally:
        terminal.kill()
    assert not list(home.glob("drillrunner-demo-*"))
