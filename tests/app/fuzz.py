"""Fuzz the app in a pseudo-terminal: `python -m tests.app.fuzz [--starts 400] [--keys 25]`.

Each start is a process of its own, forked from one that has imported the app already, on a
database with the demo's players, one of whom has played every drill and has an open run. It gets
keys in bursts, pastes, mouse reports of today's and of the oldest kind, windows from 3 to 400
columns, and bytes that are no text. Then it is left with Ctrl+Q. Counted are tracebacks, exit codes
other than 0, and starts that did not end.
"""

from __future__ import annotations

import argparse
import faulthandler
import fcntl
import os
import pty
import random
import select
import shutil
import signal
import struct
import sys
import tempfile
import termios
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

WORDS = (
    *("", "play hold-the-corridor", "play miss-total", "session", "play on-the-number"),
    *("play call-the-number", "play nine-putts", "play six-long-putts"),
    *("play holes-of-larch-bottom", "play chips-and-putts"),
    *("play hold-the-corridor --player Ines --player Tobi", "match points-with-an-iron --wait"),
    "play narrowing-green --player Ines --player Tobi --player Mara --fair",
)
KEYS = (
    *"0123456789",
    *"5554466",
    *"abcdefghijklmnopqrstuvwxyz?!@#=",
    *"+-*/.,",
    *("\r",) * 8,
    *("\x1b", "\x7f", "\t", " "),
    *("\x1b[A", "\x1b[B", "\x1b[C", "\x1b[D", "\x1b[5~", "\x1b[6~", "\x1bOp", "\x1bOM", "\x1bOj"),
    *("\x1bOP", "\x1b[12~", "\x1bOS", "\x1b[15~", "\x1b[17~", "\x10"),
)
ENDING = 5.0
"""Seconds of its own work within which a start has to end after Ctrl+Q."""
WAITING = 90.0
"""Seconds within which it has to end all the same, on a machine that has much else to do."""


@dataclass
class Found:
    """What came of all starts. faults: a line each, with the seed that does it again."""

    starts: int = 0
    keys: int = 0
    faults: list[str] = field(default_factory=list)


def prepare(folder: Path) -> Path:
    """A database with somebody who has played, in a folder that is a home of its own."""
    from drillrunner.catalogue.loader import folders, load
    from drillrunner.rules import keypad
    from drillrunner.rules.run import Entry, Kind
    from drillrunner.services.demo import build
    from drillrunner.store.store import Store
    from tests.golden.remake import entries

    os.environ |= {f"XDG_{kind}_HOME": str(folder / kind) for kind in ("CONFIG", "DATA", "CACHE")}
    database = folder / "bay.db"
    build(database, date.today())
    with Store.open(str(database)) as store:
        player = store.player("Ines")
        assert player is not None
        for drill in (drills := load(folders()[:1])).drills:
            dial = drill.dial
            turned = drill if dial is None else drill.with_value(dial.field, dial.low)
            # Each is over, or as long as one may be.
            for one in (drill, turned):
                playing = store.begin(player.id, one)
                texts = entries(one)[:-1]
                playing.append_all([keypad.read(text, playing.run.ask) for text in texts])
                if not playing.run.over:
                    playing.append(Entry(Kind.GIVE_UP))
        playing = store.begin(player.id, drills.drill("hold-the-corridor"))
        playing.append(keypad.read("5", playing.run.ask))
    return database


def pieces(chance: random.Random, keys: int) -> Iterator[tuple[str, bytes]]:
    """What a start is sent: `keys` keys in bursts, with other things between them."""
    left = keys
    while left > 0:
        kind = chance.random()
        if kind < 0.62:
            count = min(left, chance.choice((1, 1, 2, 2, 3, 8)))
            left -= count
            key = chance.choice(KEYS)
            same = chance.random() < 0.4
            typed = [key if same else chance.choice(KEYS) for _ in range(count)]
            yield "keys", "".join(typed).encode()
        elif kind < 0.70:
            text = "".join(chance.choice("5 4\n+-0abcé\x00") for _ in range(chance.randint(0, 60)))
            yield "keys", b"\x1b[200~" + text.encode() + b"\x1b[201~"
        elif kind < 0.86:
            x, y = chance.randint(1, 120), chance.randint(1, 40)
            press = f"\x1b[<0;{x};{y}M\x1b[<0;{x};{y}m"
            wheel = f"\x1b[<{chance.choice((64, 65, 35))};{x};{y}M"
            yield "keys", chance.choice((press, press * 2, wheel, press + wheel)).encode()
        elif kind < 0.90:
            yield "keys", b"\x1b[M" + bytes(chance.randint(32, 255) for _ in range(3))
        elif kind < 0.94:
            yield "keys", bytes(chance.randint(128, 255) for _ in range(chance.randint(1, 5)))
        else:
            columns = chance.choice((3, 3, 10, 20, 39, 40, 60, 80, 88, 100, 160, 250, 400))
            lines = chance.choice((1, 3, 6, 12, 18, 24, 40, 90))
            yield "size", struct.pack("HHHH", lines, columns, 0, 0)


class Start:
    """One app in a terminal, read all the time so that it never waits for us."""

    def __init__(self, arguments: list[str]) -> None:
        self.drawn = bytearray()
        self.stuck = ""
        """Where each thread of a program that does not end is."""
        stacks = tempfile.TemporaryFile("w+")  # noqa: SIM115 (the child holds it too)
        self._stacks = stacks
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.environ["TERM"] = "xterm-256color"
            faulthandler.register(signal.SIGUSR1, file=stacks, all_threads=True)
            from drillrunner.cli.main import main

            # Those of the program that forked may be files, whose places are not ours.
            for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
                stream = os.fdopen(number, mode)
                setattr(sys, name, stream)
                setattr(sys, f"__{name}__", stream)

            code = 1
            try:
                code = main(arguments)
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stdout.flush()
                sys.stderr.flush()
                os._exit(code)
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    def send(self, kind: str, data: bytes) -> None:
        """Type bytes, or change the size of the window."""
        if kind == "size":
            fcntl.ioctl(self.handle, termios.TIOCSWINSZ, data)
        else:
            os.write(self.handle, data)

    def _worked(self) -> float:
        """Seconds of processor time that the program has had."""
        told = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")

    def read(self, seconds: float) -> bool:
        """Take in what is drawn for so long; whether the program is still there."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self.handle], [], [], left)[0]:
                try:
                    self.drawn += os.read(self.handle, 1 << 16)
                except OSError:
                    return False
        return True

    def ended(self) -> int | None:
        """Leave with Ctrl+Q; the exit code, or `None` for a program that does not end."""
        until, worked = time.monotonic() + WAITING, self._worked()
        while time.monotonic() < until and self._worked() < worked + ENDING:
            try:
                os.write(self.handle, b"\x11")
            except OSError:
                break
            if not self.read(0.5):
                break
        pid, status = os.waitpid(self.pid, os.WNOHANG)
        while pid == 0 and time.monotonic() < until and self._worked() < worked + ENDING:
            time.sleep(0.02)
            pid, status = os.waitpid(self.pid, os.WNOHANG)
        if pid == 0:
            os.kill(self.pid, signal.SIGUSR1)
            time.sleep(0.5)
            self._stacks.seek(0)
            self.stuck = self._stacks.read()
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        self._stacks.close()
        os.close(self.handle)
        return None if pid == 0 else os.waitstatus_to_exitcode(status)


def once(database: Path, seed: int, keys: int) -> str | None:
    """One start; what went wrong, or `None`."""
    chance = random.Random(seed)
    command = chance.choice(WORDS).split()
    own = database.with_name(f"{seed}.db")
    with_wal = [(database, own)]
    for one, other in with_wal:
        shutil.copy(one, other)
    start = Start([*command, "--db", str(own)])
    there = True
    # Some of it comes before the first paint.
    if chance.random() < 0.5:
        there = start.read(chance.choice((0.6, 1.2)))
    for kind, data in pieces(chance, keys):
        if not there:
            break
        try:
            start.send(kind, data)
        except OSError:
            break
        there = start.read(chance.choice((0.0, 0.0, 0.01, 0.05)))
    code = start.ended()
    said = start.drawn.decode("utf-8", "replace")
    for file in own.parent.glob(f"{own.name}*"):
        file.unlink()
    if "Traceback" in said or "Error" in said:
        at = max(said.rfind("Traceback"), said.rfind("Error") - 800, 0)
        return f"traceback, exit {code}: {said[at : at + 1600]!r}"
    return None if code == 0 else f"exit {code}: {said[-300:]!r}\n{start.stuck}"


def fuzz(starts: int, keys: int, seed: int) -> Found:
    """So many starts with so many keys each."""
    # Imported here once, and not by every start.
    import drillrunner.app.app
    import drillrunner.store.store  # noqa: F401

    found = Found()
    with tempfile.TemporaryDirectory() as folder:
        database = prepare(Path(folder))
        for at in range(seed, seed + starts):
            found.starts += 1
            found.keys += keys
            if fault := once(database, at, keys):
                found.faults.append(f"seed {at}: {fault}")
    return found


def main() -> int:
    """Fuzz, and print what came of it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=400)
    parser.add_argument("--keys", type=int, default=25)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    found = fuzz(given.starts, given.keys, given.seed)
    for fault in found.faults:
        print(fault)
    print(f"{found.starts} starts, {found.keys} keys: {len(found.faults)} faults")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
