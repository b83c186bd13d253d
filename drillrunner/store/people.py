"""Players, their handicap indexes and their clubs."""

from __future__ import annotations

import uuid
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, bindparam, func, insert, select, update

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.units import Unit, convert, whole
from drillrunner.store import tables as t
from drillrunner.store.database import Prepared
from drillrunner.store.errors import Conflict, StoreError
from drillrunner.store.opened import Opened, player_number
from drillrunner.store.records import IS_PLAYER, columns
from drillrunner.store.shapes import PLAYER_COLUMNS, ClubInfo, PlayerInfo, player_info
from drillrunner.store.stored import (
    LONGEST_NAME,
    decimal,
    hundredths,
    line,
    moment,
    same_name,
    stamp,
)

CHOICES: dict[str, tuple[Any, ...]] = {
    "unit": t.UNITS,
    **{name: (None, *t.player.c[name].info["choices"]) for name in ("hand", "column")},
    "hidden": (False, True),
    "retired": (False, True),
}
LOWEST_INDEX, HIGHEST_INDEX = Decimal(-20), Decimal(54)
"""Handicap indexes: 54.0 is the most that the World Handicap System gives (from memory); better
than scratch is written with a minus here."""

LONGEST_PACE = 600

_INDEX = (
    select(t.handicap.c.value)
    .where(t.handicap.c.player == t.player.c.number)
    .order_by(t.handicap.c.number.desc())
    .limit(1)
    .scalar_subquery()
)
_PLAYERS = select(*columns(t.player, PLAYER_COLUMNS), _INDEX).order_by(t.player.c.number)
_PLAYER_BY = {
    by: Prepared(_PLAYERS.where(t.player.c[by] == bindparam("value")))
    for by in ("id", "number", "key")
}
_CLUBS = (
    select(*columns(t.club, ("id", "label", "position", "usual_carry", "unit", "retired")))
    .select_from(t.club.join(t.player))
    .where(IS_PLAYER)
    .order_by(t.club.c.position, t.club.c.id)
)


class PeopleStore(Opened):
    """Reads and changes players and their clubs."""

    def players(self, hidden: bool = False) -> tuple[PlayerInfo, ...]:
        """Players in the order in which they came; the hidden ones only if asked for."""
        query = _PLAYERS if hidden else _PLAYERS.where(t.player.c.hidden.is_(False))
        with self.database.reading() as connection:
            return tuple(player_info(row) for row in connection.execute(query))

    def player(self, name: str) -> PlayerInfo | None:
        """The player of that name; case and spaces around it make no difference."""
        with self.database.reading() as connection:
            return player(connection, name)

    def player_of(self, id: str) -> PlayerInfo:
        """The player of that id."""
        with self.database.reading() as connection:
            found = player(connection, id=id)
        if found is None:
            raise StoreError(f"no player {id}: it was taken away, or is in another database")
        return found

    def add_player(
        self, name: str, *, index: Decimal | None = None, unit: Unit = "yd"
    ) -> PlayerInfo:
        """A new player with the usual clubs. Raises Conflict if the name is taken."""
        with self.database.writing() as connection:
            id = added(connection, name, index, unit, self.clock())
        return self.player_of(id)

    def change_player(self, id: str, **fields: Any) -> PlayerInfo:
        """Change name, unit, hand, column, hidden, pace or index (which adds a dated row).

        Clubs keep the unit in which they were typed.
        """
        with self.database.writing() as connection:
            number = player_number(connection, id)
            allowed = (*PLAYER_COLUMNS[1:], "index")
            values = dict(_known(fields, allowed, "player"))
            if "index" in values:
                _add_index(connection, number, values.pop("index"), self.clock())
            if "name" in values:
                name = line(values["name"], "name", LONGEST_NAME)
                other = player(connection, name)
                if other is not None and other.id != id:
                    raise Conflict(f"there is a player {name} already: choose another name")
                values |= {"name": name, "key": same_name(name)}
            if values:
                connection.execute(
                    update(t.player).where(t.player.c.number == number).values(_checked(values))
                )
        return self.player_of(id)

    def handicaps(self, player_id: str) -> tuple[tuple[datetime, Decimal | None], ...]:
        """Every handicap index that was typed of a player, and when, oldest first."""
        h = t.handicap.c
        query = select(h.at, h.at_offset, h.value).select_from(t.handicap.join(t.player))
        with self.database.reading() as connection:
            rows = connection.execute(
                query.where(IS_PLAYER).order_by(h.number), {"player": player_id}
            )
            return tuple((moment(at, offset), decimal(value)) for at, offset, value in rows)

    def clubs(self, player_id: str) -> tuple[ClubInfo, ...]:
        """A player's clubs in their order, the retired ones too."""
        with self.database.reading() as connection:
            rows = connection.execute(_CLUBS, {"player": player_id})
            return tuple(
                ClubInfo(id, label, order, decimal(carry), unit, bool(retired))
                for id, label, order, carry, unit, retired in rows
            )

    def add_club(self, player_id: str, club_id: str, label: str) -> tuple[ClubInfo, ...]:
        """A club of the player's own, after the others; all clubs. Raises Conflict."""
        unit = self.player_of(player_id).unit
        id, label = line(club_id, "club", 60), line(label, "label", 40)
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            mine = t.club.c.player == number
            last = select(func.coalesce(func.max(t.club.c.position), 0)).where(mine)
            taken = select(t.club.c.id).where(mine, t.club.c.id == id)
            if connection.execute(taken).first() is not None:
                raise Conflict(f"there is a club {id} already: choose another name")
            connection.execute(
                insert(t.club).values(
                    player=number,
                    id=id,
                    label=label,
                    position=connection.execute(last).scalar_one() + 1,
                    unit=unit,
                    retired=False,
                )
            )
        return self.clubs(player_id)

    def change_club(self, player_id: str, club_id: str, **fields: Any) -> tuple[ClubInfo, ...]:
        """Change label, order, usual_carry, unit or retired; all clubs.

        A carry is in the club's own unit, which is the player's if a carry comes without one.
        """
        if "usual_carry" in fields:
            fields = {"unit": self.player_of(player_id).unit, **fields}
        allowed = ("label", "order", "usual_carry", "unit", "retired")
        values = _checked(_known(fields, allowed, "club"))
        if "order" in values:
            values["position"] = values.pop("order")
        if "label" in values:
            values["label"] = line(values["label"], "label", 40)
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            where = (t.club.c.player == number, t.club.c.id == club_id)
            if connection.execute(select(t.club.c.id).where(*where)).first() is None:
                raise StoreError(f"no club {club_id}")
            if values:
                connection.execute(update(t.club).where(*where).values(values))
        return self.clubs(player_id)


def player(
    connection: Connection,
    name: str | None = None,
    id: str | None = None,
    number: int | None = None,
) -> PlayerInfo | None:
    """A player by name, whatever its case, by id or by number; `None` if there is none."""
    by, value = ("id", id) if number is None else ("number", number)
    if name is not None:
        by, value = "key", same_name(name)
    row = _PLAYER_BY[by].row(connection, {"value": value})
    return None if row is None else player_info(row)


def added(
    connection: Connection, name: str, index: Decimal | None, unit: Unit, at: datetime
) -> str:
    """A new player with the usual clubs; the id. Raises StoreError, Conflict for a taken name."""
    name = line(name, "name", LONGEST_NAME)
    utc, offset = stamp(at)
    values = {"name": name, "key": same_name(name), **_checked({"unit": unit})}
    if player(connection, name) is not None:
        raise Conflict(f"there is a player {name} already: choose another name")
    id = str(uuid.uuid4())
    number = connection.execute(
        insert(t.player)
        .values(id=id, hidden=False, at=utc, at_offset=offset, **values)
        .returning(t.player.c.number)
    ).scalar_one()
    if index is not None:
        _add_index(connection, number, index, at)
    connection.execute(
        insert(t.club),
        [
            {
                "player": number,
                "id": club.id,
                "label": club.label,
                "position": club.order,
                "usual_carry": _carry(club.usual_carry, unit),
                "unit": unit,
                "retired": False,
            }
            for club in CLUBS.values()
        ],
    )
    return id


def same_or_added(connection: Connection, info: PlayerInfo, at: datetime) -> int:
    """The number of this player here: by id, else by name, else as a new one."""
    found = player(connection, id=info.id) or player(connection, info.name)
    if found is None:
        id = added(connection, info.name, info.index, info.unit, at)
        connection.execute(update(t.player).where(t.player.c.id == id).values(id=info.id))
    id = info.id if found is None else found.id
    return int(
        connection.execute(select(t.player.c.number).where(t.player.c.id == id)).scalar_one()
    )


def _carry(yards: int | None, unit: Unit) -> int | None:
    """A usual carry in a unit, to its nearest whole, in hundredths."""
    return None if yards is None else hundredths(whole(convert(Decimal(yards), "yd", unit)))


def _add_index(connection: Connection, player: int, index: Decimal | None, at: datetime) -> None:
    if index is not None and not LOWEST_INDEX <= index <= HIGHEST_INDEX:
        raise StoreError(f"index {index}: expected {LOWEST_INDEX} to {HIGHEST_INDEX}")
    utc, offset = stamp(at)
    value = _number("index", index)
    connection.execute(
        insert(t.handicap).values(player=player, value=value, at=utc, at_offset=offset)
    )


def _known(fields: dict[str, Any], allowed: tuple[str, ...], what: str) -> dict[str, Any]:
    for name in fields:
        if name not in allowed:
            raise StoreError(f"a {what} has no {name}: expected one of {', '.join(allowed)}")
    return fields


def _checked(fields: dict[str, Any]) -> dict[str, Any]:
    """Fields as they are stored. Raises StoreError for a value that can't be."""
    checked = dict(fields)
    for name, value in fields.items():
        if name in CHOICES and value not in CHOICES[name]:
            choices = " or ".join(str(choice) for choice in CHOICES[name] if choice is not None)
            raise StoreError(f"{name} {value!r}: expected {choices}")
        if name == "pace" and value is not None and not 0 <= value <= LONGEST_PACE:
            raise StoreError(f"pace {value}: expected 0 to {LONGEST_PACE} seconds")
        if name == "usual_carry":
            if value is not None and not 0 < value <= 1000:
                raise StoreError(f"usual carry {value}: expected more than 0 and at most 1000")
            checked[name] = _number("usual carry", value)
    return checked


def _number(name: str, value: Decimal | None) -> int | None:
    try:
        return hundredths(value)
    except ValueError as error:
        raise StoreError(f"{name} {error}") from error
