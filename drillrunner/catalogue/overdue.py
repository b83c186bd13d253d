"""Ends a call of a game that does not return: an allowed game is still a stranger's code.

A thread looks in on the others a few times a second. The outermost frame of a game that is the
same as before is a call that goes on; when it has gone on for too long, `TooLong` is raised inside
it, and whoever called the game takes that as any other error of the game. It is raised again as
long as the call goes on. What sleeps inside the interpreter's own C code can be ended only on the
main thread of a system that has signals.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
import traceback
from types import FrameType
from typing import Any

from drillrunner.rules.soundness import Unsound

MODULE = "drillrunner_game_"
"""What the name of a game's module begins with."""

LIMIT = 1.0
"""Seconds of this process's own time: a machine that is busy or asleep takes none of them."""

PATIENCE = 10.0
"""Seconds by the clock, for a call that waits instead of working."""

EVERY = 0.2
"""Seconds between two looks."""


class TooLong(Unsound):
    """A call of a game did not come back in time."""

    def __init__(self) -> None:
        super().__init__(f"did not come back within {LIMIT:g} s")


def _call_in(frame: FrameType | None) -> FrameType | None:
    """The outermost frame of a game among this one and those that called it."""
    found = None
    # Its thread goes on meanwhile: what stands behind a frame that has returned need be none, and
    # the next look comes soon.
    while isinstance(frame, FrameType):
        if str(frame.f_globals.get("__name__", "")).startswith(MODULE):
            found = frame
        frame = frame.f_back
    return found


def raised_in(error: BaseException) -> str | None:
    """File and line of the game that an error came out of; `None` if it came out of none."""
    found = None
    for frame, line in traceback.walk_tb(error.__traceback__):
        if str(frame.f_globals.get("__name__", "")).startswith(MODULE):
            found = f"{frame.f_code.co_filename}:{line}"
    return found


class Watch:
    """Looks in on every thread. One is enough for a process."""

    def __init__(self) -> None:
        self._thread: threading.Thread | None = None
        self._calls: dict[int, tuple[FrameType, float, float]] = {}
        self._due: FrameType | None = None

    def begin(self) -> None:
        """Watch from now on; once more changes nothing."""
        on_main = threading.current_thread() is threading.main_thread()
        free = hasattr(signal, "SIGALRM") and signal.getsignal(signal.SIGALRM) is signal.SIG_DFL
        if on_main and free:
            signal.signal(signal.SIGALRM, self._ring)
        if self._thread is None or not self._thread.is_alive():
            self._thread = threading.Thread(target=self._watch, name="overdue", daemon=True)
            self._thread.start()

    def _watch(self) -> None:
        while True:
            time.sleep(EVERY)
            self._look()

    def _look(self) -> None:
        spent, now = time.process_time(), time.monotonic()
        calls = {}
        for thread, frame in sys._current_frames().items():
            call = _call_in(frame)
            if call is None:
                continue
            before = self._calls.get(thread)
            known = before if before is not None and before[0] is call else (call, spent, now)
            if spent - known[1] > LIMIT or now - known[2] > PATIENCE:
                self._end(thread, call)
            calls[thread] = known
        self._calls = calls

    def _end(self, thread: int, call: FrameType) -> None:
        main = threading.main_thread().ident
        rings = hasattr(signal, "SIGALRM") and signal.getsignal(signal.SIGALRM) == self._ring
        if thread == main and rings:
            self._due = call
            signal.pthread_kill(thread, signal.SIGALRM)
            return
        from ctypes import c_ulong, py_object, pythonapi

        pythonapi.PyThreadState_SetAsyncExc(c_ulong(thread), py_object(TooLong))

    def _ring(self, _: int, frame: FrameType | None) -> Any:
        """On the main thread: raise, if the call that is due still goes on."""
        due, self._due = self._due, None
        while frame is not None and due is not None:
            if frame is due:
                raise TooLong
            frame = frame.f_back


_watch = Watch()


def watch() -> None:
    """See to it that no call of a game goes on for ever."""
    _watch.begin()
