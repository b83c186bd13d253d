"""A program in a terminal of its own, watched from outside with the time of everything it draws."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import termios
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

import pyte

COLUMNS, LINES = 100, 32
PATIENCE = 30.0
PAUSE = 0.003


class Terminal:
    """Runs a command in a pseudo-terminal; seconds are of `time.perf_counter`."""

    def __init__(self, command: Sequence[str], env: Mapping[str, str]) -> None:
        self.screen = pyte.Screen(COLUMNS, LINES)
        self.stream = pyte.ByteStream(self.screen)
        self.started = time.perf_counter()
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.execvpe(command[0], list(command), {**env, "TERM": "xterm-256color"})
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", LINES, COLUMNS, 0, 0))

    def send(self, keys: str) -> float:
        """Press keys; returns when."""
        now = time.perf_counter()
        os.write(self.handle, keys.encode())
        return now

    def until(self, pattern: str) -> float:
        """When the screen first showed a text (a regular expression). Raises TimeoutError."""
        wanted, end = re.compile(pattern), time.perf_counter() + PATIENCE
        while not wanted.search(self.text()):
            chunks = self._read(end - time.perf_counter())
            if not chunks:
                raise TimeoutError(f"{pattern!r} did not show:\n{self.text()}")
            for at, (when, drawn) in enumerate(chunks):
                self.stream.feed(drawn)
                if wanted.search(self.text()):
                    for _, rest in chunks[at + 1 :]:
                        self.stream.feed(rest)
                    return when
        return time.perf_counter()

    def settle(self, seconds: float) -> None:
        """Take in what is drawn for so long."""
        end = time.perf_counter() + seconds
        while chunks := self._read(end - time.perf_counter()):
            for _, drawn in chunks:
                self.stream.feed(drawn)

    def text(self) -> str:
        """The screen as it stands."""
        return "\n".join(self.screen.display)

    def peak(self) -> float:
        """The most memory that the program has held so far, in MiB (as Linux tells it).

        Not what `wait4` tells: that counts the process which this one was forked from, too.
        """
        told = Path(f"/proc/{self.pid}/status").read_text()
        (kib,) = re.findall(r"VmHWM:\s+(\d+) kB", told)
        return int(kib) / 1024

    def close(self) -> None:
        """End the program."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.handle)

    def _read(self, seconds: float) -> list[tuple[float, bytes]]:
        """What is drawn from now on, each piece with its time, until there is a short pause.

        Nothing is looked at meanwhile, so that looking does not delay the next piece. Empty if
        nothing was drawn within so many seconds.
        """
        chunks: list[tuple[float, bytes]] = []
        while select.select([self.handle], [], [], PAUSE if chunks else max(seconds, 0))[0]:
            try:
                drawn = os.read(self.handle, 1 << 16)
            except OSError:
                break
            chunks.append((time.perf_counter(), drawn))
        return chunks
