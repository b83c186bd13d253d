"""A connection to a PostgreSQL server that is patient, but not for ever, and holds up no screen.

psycopg waits for a server in one place, `Connection.wait`. A server that has stopped, or a network
that swallows what is sent, would be waited for there without end: the limits that it is given for a
statement are its own to keep.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Generator
from typing import Any

from psycopg import Connection, OperationalError
from psycopg.waiting import wait_async
from sqlalchemy.engine.interfaces import DBAPIConnection

from drillrunner.store import aside

ANSWERS_WITHIN = 15.0
"""Seconds that a server has for one answer: longer than it may take for a statement."""
LOOK = 0.1
"""Seconds between two looks at whether that is over."""

Steps = Generator[Any, Any, Any]


class Patient(Connection[Any]):
    """limit: seconds until a server that does not answer is given up; `None` for no end."""

    limit: float | None = ANSWERS_WITHIN

    def wait(self, gen: Steps, *of: Any, **more: Any) -> Any:
        """Go through the steps of an exchange with the server; what they come to."""
        try:
            first = next(gen)
        except StopIteration as done:
            return done.value
        steps = self._limited(gen, first)
        if not aside.waits():
            return super().wait(steps, *of, **more)
        socket = self.pgconn.socket
        try:
            return aside.until(lambda: asyncio.ensure_future(wait_async(steps, socket, LOOK)))
        except aside.Abandoned:
            # It stands in the middle of an exchange, and nobody will hear the end of that.
            self.close()
            raise

    def _limited(self, gen: Steps, wanted: Any) -> Steps:
        """The same steps, until it took too long. wanted: what the first of them waits for."""
        until = None if self.limit is None else time.monotonic() + self.limit
        while True:
            ready = yield wanted
            if not ready and until is not None and time.monotonic() > until:
                self.close()
                raise OperationalError("the server does not answer")
            try:
                wanted = gen.send(ready)
            except StopIteration as done:
                return done.value


def connected(_dialect: object, _record: object, of: Any, more: Any) -> DBAPIConnection:
    """Connect; a listener of SQLAlchemy's `do_connect`."""
    connection: Any = Patient.connect(*of, **more)
    return connection  # type: ignore[no-any-return]


def for_ever(connection: Any) -> None:
    """Let the server take as long as it likes on this connection."""
    if isinstance(connection, Patient):
        connection.limit = None
