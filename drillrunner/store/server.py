"""What holds for a PostgreSQL server alone: its patience, its connections, what it says in trouble.

An app takes one connection from its pool for each thing that it reads or writes, and gives it
back; a second one is opened only while it does both at once, and closed after that.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL

from drillrunner.store import aside
from drillrunner.store.own import cover

KEPT, MORE = 1, 1
"""Connections that an app keeps, and opens besides for a moment."""
POOL_WAIT = 5
"""Seconds to wait until one of these is free."""
LIMITS: dict[str, Any] = {
    "connect_timeout": 5,
    "options": "-c lock_timeout=3000 -c statement_timeout=10000"
    " -c idle_in_transaction_session_timeout=60000",
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 10000,
}
"""Patience: seconds to connect, milliseconds for a lock and for one statement; how soon a server
is noticed that is gone without a word."""

HELD = {"40001", "40P01", "55P03", "57014"}
"""What a server says when another program holds what is wanted, or it took too long."""

GOING = {"08", "53", "57", "58"}
"""Classes of what a server says when it is going, out of room, or out of reach."""

COVERED = "drillrunner covers it"
"""Under what a connection keeps in mind that it shows one player's rows."""
UNCOVER = "SELECT set_config('search_path', current_schema() || ', pg_temp', true)"
"""A temporary view comes before the table that it covers, unless it is named last."""


def engine(url: URL) -> Engine:
    """The connections to a server. Raises as `create_engine` for a URL that is none."""
    ours = url.drivername.endswith("psycopg")
    limits = {"connect_args": LIMITS} if ours else {}
    pool: dict[str, Any] = {"pool_size": KEPT, "max_overflow": MORE, "pool_timeout": POOL_WAIT}
    made = create_engine(url, pool_pre_ping=True, **pool, **limits)
    if ours:
        from drillrunner.store import wire

        event.listen(made, "do_connect", wire.connected)
    return made


def without_limit(connection: Connection) -> None:
    """Let the server take as long as it likes, in the transaction that goes on."""
    connection.exec_driver_sql("SET LOCAL statement_timeout = 0")
    from drillrunner.store import wire

    wire.for_ever(connection.connection.driver_connection)
    # What waits without end is no connection to be kept.
    connection.detach()


@contextmanager
def transaction(engine: Engine, own: str | None = None) -> Iterator[Connection]:
    """One transaction. own: what is read in it is this player's (see `own`)."""
    with aside.in_thread(engine.connect) as connection:
        if own is not None and COVERED not in connection.info:
            with connection.begin():
                cover(connection, own)
            connection.info[COVERED] = True
        with connection.begin():
            if own is None and COVERED in connection.info:
                connection.exec_driver_sql(UNCOVER)
            yield connection
