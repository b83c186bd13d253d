"""The days at the range."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from drillrunner.store import tables as t
from drillrunner.store.database import BAY, Prepared
from drillrunner.store.errors import StoreError
from drillrunner.store.opened import Opened
from drillrunner.store.records import IS_PLAYER, columns
from drillrunner.store.shapes import VisitInfo
from drillrunner.store.stored import prose

NOTED = ("place", "surface", "ball", "wind", "note", "bay")

_TODAYS = Prepared(
    select(t.visit.c.id, t.visit.c.bay)
    .where(t.visit.c.player == bindparam("player"), t.visit.c.day == bindparam("day"))
    .order_by(t.visit.c.number.desc())
    .limit(1)
)
_VISITS = (
    select(
        t.visit.c.id,
        t.player.c.id.label("player_id"),
        t.visit.c.day,
        *columns(t.visit, NOTED),
    )
    .select_from(t.visit.join(t.player))
    .order_by(t.visit.c.number.desc())
)


def visit_of_the_day(connection: Connection, player: int, at: datetime) -> str:
    """The id of a player's visit on the local day of a moment; made if it is the first.

    The bay is kept with it, where one is known: the last of a day that had several.
    """
    day, bay = at.date().isoformat(), connection.info.get(BAY)
    found = _TODAYS.row(connection, {"player": player, "day": day})
    if found is None:
        id = str(uuid.uuid4())
        connection.execute(insert(t.visit).values(id=id, player=player, day=day, bay=bay))
        return id
    id = str(found[0])
    if bay is not None and bay != found[1]:
        connection.execute(update(t.visit).where(t.visit.c.id == id).values(bay=bay))
    return id


class VisitStore(Opened):
    """Reads and notes the days."""

    def visits(self, player_id: str | None = None) -> tuple[VisitInfo, ...]:
        """Days at the range, newest first; everyone's unless a player is named."""
        query = _VISITS if player_id is None else _VISITS.where(IS_PLAYER)
        with self.database.reading() as connection:
            rows = connection.execute(query, {"player": player_id})
            return tuple(VisitInfo(*row) for row in rows)

    def change_visit(self, id: str, **fields: str | None) -> None:
        """Note something of a visit: place, surface, ball, wind, note."""
        for name, value in fields.items():
            if name not in NOTED:
                raise StoreError(f"a visit has no {name}: expected one of {', '.join(NOTED)}")
            if value is not None:
                prose(value, name)
        change = update(t.visit).where(t.visit.c.id == id).values(dict[str, Any](fields))
        with self.database.writing() as connection:
            if not connection.execute(change).rowcount:
                raise StoreError(f"no visit {id}")
