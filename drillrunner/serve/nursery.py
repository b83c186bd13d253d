"""`python -m drillrunner.serve.nursery`: where the apps of phones come from.

It has imported all that an app needs and forks one for each phone, so that a start costs little
and most memory is shared. It has no thread and no event loop, as a parent that forks must not.
Where there is no fork (`--one`) a process is one app, told what to do by its first line.
"""

from __future__ import annotations

import asyncio
import gc
import json
import os
import selectors
import signal
import socket
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from tempfile import TemporaryDirectory
from typing import NoReturn

GRACE = 0.2
"""Seconds that the apps have to end in good order when this ends: they were asked before."""
COLD = (
    "drillrunner.serve",
    "drillrunner.cli",
    "drillrunner.store.migrations",
    "drillrunner.store.wire",
    "drillrunner.__main__",
)
"""What no app needs, or none whose records lie in a file."""
HEAVY = "drillrunner.practice.looking_back.report"
"""What only a report needs."""
LONGEST = 10.0
"""Seconds that the rehearsal may take."""
LINE = 65536


@dataclass(frozen=True, slots=True)
class Order:
    """What an app is started with. database: path or URL. player: the name of who plays, if known.
    size: columns and rows. private: nobody else's records are open to it. prefers: choices that
    the phone kept, as of `Preferences`. dark: whether all on the phone is."""

    database: str
    folders: tuple[str, ...]
    player: str | None
    size: tuple[int, int]
    private: bool = False
    prefers: Mapping[str, str] = field(default_factory=dict)
    dark: bool = True

    def line(self) -> bytes:
        """As it is sent: one line of JSON."""
        return json.dumps(asdict(self)).encode() + b"\n"


def order_of(line: bytes) -> Order:
    """An order as it was sent."""
    told = json.loads(line)
    folders, (columns, rows) = tuple(told.pop("folders")), told.pop("size")
    return Order(folders=folders, size=(columns, rows), **told)


ENVIRONMENT = {
    "TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver",
    "TEXTUAL_COLOR_SYSTEM": "truecolor",
    "TEXTUAL_FPS": "60",
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "MALLOC_TRIM_THRESHOLD_": "65536",
}
"""What an app must find in its environment before anything is imported. The threads of numerical
libraries do not survive a fork, and forty apps share a few cores. glibc gives back what the odds
took as soon as they are done, which is a tenth of an app."""


def warm() -> None:
    """Import all that an app may come to need."""
    import drillrunner

    for module in walk_packages(drillrunner.__path__, "drillrunner."):
        if not module.name.startswith((*COLD, HEAVY)):
            import_module(module.name)
    import_module("drillrunner.serve.served")


def rehearse() -> None:
    """Have an app open once with nobody watching: what it keeps in mind is then shared by all.

    Its records are thrown away. Nothing of it is left running: a parent that forks has one thread.
    """
    from drillrunner.catalogue.places import folders
    from drillrunner.serve.served import ServedApp
    from drillrunner.store import background

    async def opened(database: str) -> None:
        app = ServedApp(database=database, folders=folders()[:1], player=None, prefers={})
        async with asyncio.timeout(LONGEST), app.run_test(size=(41, 40)) as pilot:
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()

    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        asyncio.run(opened(str(Path(folder) / "rehearsal.db")))
    background.wait_for_all()


def live(order: Order) -> int:
    """Be an app on standard input and output until it is left; its exit code."""
    os.environ["COLUMNS"], os.environ["ROWS"] = map(str, order.size)
    from drillrunner.serve.served import ServedApp

    app = ServedApp(
        database=order.database,
        folders=[Path(folder) for folder in order.folders],
        player=order.player,
        private=order.private,
        prefers=order.prefers,
        dark=order.dark,
    )
    gc.enable()
    app.run()
    return app.return_code or 0


class Nursery:
    """Forks an app for each order that comes by `control`, with the socket that it lives on."""

    def __init__(self, control: socket.socket) -> None:
        self._control = control
        self._children: set[int] = set()

    def run(self) -> None:
        """Until the other end goes, however it goes; then every app is ended."""
        bell, rings = socket.socketpair()
        for end in (bell, rings):
            end.setblocking(False)
        signal.set_wakeup_fd(rings.fileno(), warn_on_full_buffer=False)
        signal.signal(signal.SIGCHLD, lambda *_: None)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.signal(signal.SIGTERM, self._stop)
        self._own = (bell, rings)
        self._send(ready=os.getpid())
        with selectors.DefaultSelector() as ready:
            ready.register(self._control, selectors.EVENT_READ)
            ready.register(bell, selectors.EVENT_READ)
            while self._serve(key.fileobj for key, _ in ready.select()):
                pass
        self._end()

    def _stop(self, *_: object) -> None:
        self._control.shutdown(socket.SHUT_RDWR)

    def _serve(self, ready: object) -> bool:
        """See to what came; whether to go on."""
        bell = self._own[0]
        with suppress(BlockingIOError):
            bell.recv(4096)
        self._reap()
        if self._control not in list(ready):  # type: ignore[call-overload]
            return True
        try:
            told, handles, _, _ = socket.recv_fds(self._control, LINE, 1)
        except OSError:
            return False
        # Several may come at once; each order has the one handle that came with it.
        for line in told.splitlines():
            if (pid := json.loads(line).get("kill")) is None:
                self._fork(line, handles.pop(0))
            elif pid in self._children:
                os.kill(pid, signal.SIGKILL)
        return bool(told)

    def _fork(self, told: bytes, handle: int) -> None:
        try:
            pid = os.fork()
        except OSError as error:
            os.close(handle)
            self._send(failed=str(error))
            return
        if pid == 0:
            self._be_born(told, handle)
        os.close(handle)
        self._children.add(pid)
        self._send(started=pid)

    def _be_born(self, told: bytes, handle: int) -> NoReturn:
        code = 1
        try:
            signal.set_wakeup_fd(-1)
            for number in (signal.SIGCHLD, signal.SIGINT, signal.SIGTERM):
                signal.signal(number, signal.SIG_DFL)
            for end in (self._control, *self._own):
                end.close()
            os.dup2(handle, 0)
            os.dup2(handle, 1)
            os.close(handle)
            code = live(order_of(told))
        except BaseException:
            import traceback

            traceback.print_exc()
        finally:
            os._exit(code)

    def _reap(self) -> None:
        while self._children:
            try:
                pid, status = os.waitpid(-1, os.WNOHANG)
            except ChildProcessError:
                return
            if pid == 0:
                return
            self._children.discard(pid)
            self._send(ended=pid, code=os.waitstatus_to_exitcode(status))

    def _send(self, **what: object) -> None:
        with suppress(OSError):
            self._control.sendall(json.dumps(what).encode() + b"\n")

    def _end(self) -> None:
        self._signal(signal.SIGTERM)
        until = time.monotonic() + GRACE
        while self._children and time.monotonic() < until:
            time.sleep(0.02)
            self._reap()
        self._signal(signal.SIGKILL)

    def _signal(self, number: signal.Signals) -> None:
        for pid in self._children:
            with suppress(ProcessLookupError):
                os.kill(pid, number)


def _first_line() -> bytes:
    """The first line of standard input, and not a byte more."""
    line = b""
    while not line.endswith(b"\n") and len(line) < LINE:
        byte = os.read(0, 1)
        if not byte:
            break
        line += byte
    return line


def main(words: list[str]) -> int:
    """words: `--one`, or the number of the control socket."""
    os.environ.update(ENVIRONMENT)
    gc.disable()
    if words == ["--one"]:
        return live(order_of(_first_line()))
    control = socket.socket(fileno=int(words[0]))
    warm()
    # Apps open without that too, only dearer.
    with suppress(Exception):
        rehearse()
    gc.collect()
    gc.freeze()
    Nursery(control).run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
