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
from drillrunner.store.errors import Conflict, StoreError
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
LOWEST, HIGHEST_INDEX = Decimal(-20), Decimal(54)
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
_CLUBS = (
    select(*columns(t.club, ("id", "label", "position", "usual_carry", "unit", "retired")))
    .select_from(t.club.join(t.player))
    .where(IS_PLAYER)
    .order_by(t.club.c.position, t.club.c.id)
)


def players(connection: Connection, hidden: bool) -> tuple[PlayerInfo, ...]:
    """Players in the order in which they came; the hidden ones only if asked for."""
    query = _PLAYERS if hidden else _PLAYERS.where(t.player.c.hidden.is_(False))
    return tuple(player_info(row) for row in connection.execute(query))


def player(
    connection: Connection,
    name: str | None = None,
    id: str | None = None,
    number: int | None = None,
) -> PlayerInfo | None:
    """A player by name, whatever its case, by id or by number; `None` if there is none."""
    query = _PLAYERS.where(t.player.c.id == id)
    if number is not None:
        query = _PLAYERS.where(t.player.c.number == number)
    if name is not None:
        query = _PLAYERS.where(t.player.c.key == same_name(name))
    row = connection.execute(query).first()
    return None if row is None else player_info(row)


def add_player(
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


def handicaps(connection: Connection, player: str) -> tuple[tuple[datetime, Decimal | None], ...]:
    """Every handicap index that was typed of a player, and when, oldest first."""
    h = t.handicap.c
    query = select(h.at, h.at_offset, h.value).select_from(t.handicap.join(t.player))
    rows = connection.execute(query.where(IS_PLAYER).order_by(h.number), {"player": player})
    return tuple((moment(at, offset), decimal(value)) for at, offset, value in rows)


def same_or_added(connection: Connection, info: PlayerInfo, at: datetime) -> int:
    """The number of this player here: by id, else by name, else as a new one."""
    found = player(connection, id=info.id) or player(connection, info.name)
    if found is None:
        id = add_player(connection, info.name, info.index, info.unit, at)
        connection.execute(update(t.player).where(t.player.c.id == id).values(id=info.id))
    id = info.id if found is None else found.id
    return int(
        connection.execute(select(t.player.c.number).where(t.player.c.id == id)).scalar_one()
    )


def change_player(connection: Connection, id: str, at: datetime, **fields: Any) -> None:
    """Change name, unit, hand, column, hidden, pace or index; the last adds a dated row.

    Clubs keep the unit in which they were typed. Raises StoreError.
    """
    number = connection.execute(select(t.player.c.number).where(t.player.c.id == id)).scalar()
    if number is None:
        raise StoreError(f"no player {id}")
    allowed = (*PLAYER_COLUMNS[1:], "index")
    values = dict(_known(fields, allowed, "player"))
    if "index" in values:
        _add_index(connection, number, values.pop("index"), at)
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


def clubs(connection: Connection, player: str) -> tuple[ClubInfo, ...]:
    """A player's clubs in their order, the retired ones too."""
    rows = connection.execute(_CLUBS, {"player": player})
    return tuple(
        ClubInfo(id, label, order, decimal(carry), unit, bool(retired))
        for id, label, order, carry, unit, retired in rows
    )


def add_club(connection: Connection, player: int, id: str, label: str, unit: Unit) -> None:
    """A club of a player's own, after the others. Raises StoreError, Conflict for a taken id."""
    id = line(id, "club", 60)
    last = select(func.coalesce(func.max(t.club.c.position), 0)).where(t.club.c.player == player)
    taken = select(t.club.c.id).where(t.club.c.player == player, t.club.c.id == id)
    if connection.execute(taken).first() is not None:
        raise Conflict(f"there is a club {id} already: choose another name")
    connection.execute(
        insert(t.club).values(
            player=player,
            id=id,
            label=line(label, "label", 40),
            position=connection.execute(last).scalar_one() + 1,
            unit=unit,
            retired=False,
        )
    )


def change_club(connection: Connection, player: int, club: str, **fields: Any) -> None:
    """Change label, order, usual_carry, unit or retired of a club. Raises StoreError."""
    allowed = ("label", "order", "usual_carry", "unit", "retired")
    values = _checked(_known(fields, allowed, "club"))
    if "order" in values:
        values["position"] = values.pop("order")
    if "label" in values:
        values["label"] = line(values["label"], "label", 40)
    where = (t.club.c.player == player, t.club.c.id == bindparam("club_id"))
    found = select(t.club.c.id).where(*where)
    if connection.execute(found, {"club_id": club}).first() is None:
        raise StoreError(f"no club {club}")
    if values:
        connection.execute(update(t.club).where(*where).values(values), {"club_id": club})


def _carry(yards: int | None, unit: Unit) -> int | None:
    """A usual carry in a unit, to its nearest whole, in hundredths."""
    return None if yards is None else hundredths(whole(convert(Decimal(yards), "yd", unit)))


def _add_index(connection: Connection, player: int, index: Decimal | None, at: datetime) -> None:
    if index is not None and not LOWEST <= index <= HIGHEST_INDEX:
        raise StoreError(f"index {index}: expected {LOWEST} to {HIGHEST_INDEX}")
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
