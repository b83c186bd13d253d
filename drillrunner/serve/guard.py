"""The way in: a PIN, or links that work once, and how often a wrong one may be tried."""

from __future__ import annotations

import hmac
import secrets
from collections import deque
from collections.abc import Callable, Sequence

A_MINUTE, MINUTE = 5, 60.0
"""Wrong tries that one address has in a minute."""
AN_HOUR, HOUR = 30, 3600.0
"""Wrong tries that all have together in an hour."""
ADDRESSES = 4096
"""Addresses that are kept in mind."""


class Tries:
    """Wrong tries of late. clock: seconds that only go forward."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._all: deque[float] = deque(maxlen=AN_HOUR)
        self._of: dict[str, deque[float]] = {}

    def wait(self, address: str) -> int:
        """Whole seconds until this address may try again; 0 if it may now."""
        now = self._clock()
        waits = [0.0]
        if len(self._all) == AN_HOUR:
            waits.append(self._all[0] + HOUR - now)
        own: Sequence[float] = self._of.get(address, ())
        if len(own) == A_MINUTE:
            waits.append(own[0] + MINUTE - now)
        return max(0, -int(-max(waits) // 1))

    def wrong(self, address: str) -> None:
        """Count a wrong try."""
        now = self._clock()
        self._all.append(now)
        self._of.setdefault(address, deque(maxlen=A_MINUTE)).append(now)
        if len(self._of) > ADDRESSES:
            self._of = {a: tries for a, tries in self._of.items() if tries[-1] + MINUTE > now}


class Guard:
    """Who may come in. pin: what is asked for; `None` and not `open`: links that work once.

    on_used: called when a link was used, so that the next one can be shown.
    """

    def __init__(
        self,
        *,
        pin: str | None,
        open: bool,
        tries: Tries,
        on_used: Callable[[str], object] = lambda _: None,
    ) -> None:
        self.pin = pin
        self.open = open
        self.tries = tries
        self._on_used = on_used
        self.link = "" if open or pin is not None else _secret()
        """The secret of the link that works now; empty where a PIN or nothing is asked for."""

    def let_in(self, given: str, address: str) -> bool:
        """Whether this PIN, or this link's secret, opens the door; a wrong one is counted.

        Ask `tries.wait` first: while that says to wait, nothing opens it.
        """
        if self.open:
            return True
        if self.tries.wait(address):
            return False
        wanted = self.link if self.pin is None else self.pin
        if not hmac.compare_digest(given.encode(), wanted.encode()):
            self.tries.wrong(address)
            return False
        if self.pin is None:
            self.link = _secret()
            self._on_used(self.link)
        return True


def _secret() -> str:
    return secrets.token_urlsafe(16)
