"""What the parts of an open store have in common."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection, bindparam, select

from drillrunner.store import tables as t
from drillrunner.store.database import Database, Prepared
from drillrunner.store.errors import StoreError
from drillrunner.store.once import Once

_FIND_PLAYER = Prepared(select(t.player.c.number).where(t.player.c.id == bindparam("player")))


class Opened:
    """A database that is open, and what tells the time with its zone."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self.database = database
        self.clock = clock
        self.once = Once(database)


def player_number(connection: Connection, player: str) -> int:
    """The number of a player by id. Raises StoreError if there is no such player."""
    number = _FIND_PLAYER.value(connection, {"player": player})
    if number is None:
        raise StoreError(f"no player {player}: it was taken away, or is in another database")
    return int(number)
