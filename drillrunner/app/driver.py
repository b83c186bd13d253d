"""The driver of the terminal or the browser, made fit for anything that comes in, and for its end.

Textual's own gives up at a byte that is no UTF-8, takes a mouse report of the oldest kind for keys
(a click would count as balls), and goes on without its terminal once that is gone.
"""

from __future__ import annotations

import os
import re
import select
import threading
from codecs import getincrementaldecoder
from typing import TYPE_CHECKING, Any

from textual._parser import ParseError
from textual._xterm_parser import XTermParser
from textual.messages import ExitApp

if TYPE_CHECKING:
    from textual.driver import Driver

PASTE, PASTED = "\x1b[200~", "\x1b[201~"
GRACE = 1.2
"""Seconds to end in good order once the terminal is gone; then the process ends all the same."""
GONE = 129
"""The exit code then: that of a process ended by a hang-up."""
POLL = 0.1
PASTED_WITHIN = 3
"""Looks without anything new after which a paste is at its end, though nothing says so."""
READ = 4096

OLD_MOUSE = re.compile(rb"\x1b\[M[\x20-\xff]{3}", re.DOTALL)
BEGUN = re.compile(rb"\x1b(?:\[(?:M[\x20-\xff]{0,2})?)?$", re.DOTALL)


class Clean:
    """Bytes as they come, to text: no old mouse reports, and a sign for what is no UTF-8."""

    def __init__(self) -> None:
        self._decode = getincrementaldecoder("utf-8")("replace").decode
        self._rest = b""

    def __call__(self, data: bytes) -> str:
        """What is to be parsed. A report of the mouse that is cut off waits for its end."""
        data = OLD_MOUSE.sub(b"", self._rest + data)
        cut = BEGUN.search(data)
        # An escape alone is a key: only what can be nothing but a mouse report waits.
        if cut is not None and b"M" in cut.group():
            self._rest, data = cut.group(), data[: cut.start()]
        else:
            self._rest = b""
        return self._decode(data)


class Ends:
    """Mixed into a driver: it ends the app when what it reads from is gone."""

    _app: Any
    exit_event: threading.Event

    def gone(self) -> None:
        """Nobody is there any more. Every entry that was shown is on disk."""
        last = threading.Timer(GRACE, os._exit, (GONE,))
        last.daemon = True
        last.start()
        self._app.post_message(ExitApp())


class InTerminal(Ends):
    """Mixed into Textual's driver of a terminal."""

    fileno: int
    process_message: Any
    _debug: bool

    def run_input_thread(self) -> None:
        """Read until the app ends or the terminal is gone."""
        parser, clean, quiet, pasting = XTermParser(self._debug), Clean(), 0, False
        while not self.exit_event.is_set():
            data = None
            try:
                if select.select([self.fileno], [], [], POLL)[0]:
                    data = os.read(self.fileno, READ)
            except (OSError, ValueError):
                data = b""
            if data == b"":
                if not self.exit_event.is_set():
                    self.gone()
                return
            text = clean(data) if data else ""
            quiet = 0 if text else quiet + 1
            pasting = text.rfind(PASTE) > text.rfind(PASTED) or (pasting and PASTED not in text)
            if pasting and quiet >= PASTED_WITHIN:
                text, pasting = PASTED, False
            try:
                for event in parser.feed(text) if text else ():
                    self.process_message(event)
                for event in parser.tick():
                    self.process_message(event)
            except (ParseError, EOFError, ValueError, IndexError, KeyError):
                # What can't be understood is left out; the next key is read anew.
                parser = XTermParser(self._debug)


class InBrowser(Ends):
    """Mixed into Textual's driver of a browser, which reads its standard input."""

    def run_input_thread(self) -> None:
        """Read until the app ends or the input is at an end."""
        super().run_input_thread()  # type: ignore[misc]
        if not self.exit_event.is_set():
            self.gone()


def made_fit(driver: type[Driver]) -> type[Driver]:
    """A kind of driver with what is said above, where it reads in one of the two known ways."""
    name = driver.__name__
    mixin = {"LinuxDriver": InTerminal, "WebDriver": InBrowser}.get(name)
    return driver if mixin is None else type(f"Fit{name}", (mixin, driver), {})
