"""What is written is there once, though a database may go between keeping it and saying so."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from sqlalchemy import Connection

from drillrunner.store.database import Database
from drillrunner.store.errors import DiskTrouble

T = TypeVar("T")


class Once:
    """Writes what is given again after trouble, as the queue of `writer` does.

    A database that failed may have kept it all the same. So the next try looks whether it is there;
    before there was trouble that would only cost time.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self._unsure: set[str] = set()

    def write(
        self, of: str, put: Callable[[Connection], T], there: Callable[[Connection], T | None]
    ) -> T:
        """Put something in one transaction, unless an earlier try did.

        of: the id of what it belongs to. there: what `put` would give, where exactly this is on
        disk already; else `None`. Raises as `Database.writing`.
        """
        try:
            with self._database.writing() as connection:
                found = there(connection) if of in self._unsure else None
                done = put(connection) if found is None else found
        except DiskTrouble:
            self._unsure.add(of)
            raise
        self._unsure.discard(of)
        return done
