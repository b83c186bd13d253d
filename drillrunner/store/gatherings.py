"""Matches between bays: the number to join one by, who is in it, and whether they are there."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, and_, delete, exists, func, insert, or_, select, update

from drillrunner.rules.run import Refused
from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.errors import Conflict, StoreError
from drillrunner.store.opened import player_number
from drillrunner.store.outings import Data, as_text
from drillrunner.store.shapes import parsed
from drillrunner.store.stored import stamp

DIGITS = 4
OLD = timedelta(hours=12)
"""After this nobody can join any more, whether it began or not."""


class Here(NamedTuple):
    """A player in it. beats: counted up while their screen is there; `None` once it went."""

    id: str
    name: str
    beats: int | None


class Gathering(NamedTuple):
    """A match between bays. data: what is played, and how. match: its id, once it has begun.

    players: in the order in which they came; the first one opened it. version: another one
    whenever something was played, or somebody came, left or took back.
    """

    number: int
    code: str | None
    data: Data
    match: str | None
    players: tuple[Here, ...]
    version: str


_BEGUN = exists().where(t.run.c.match_id == t.match.c.id)


def _over(before: str) -> Any:
    """Gatherings that nobody can join any more."""
    ended = exists().where(
        t.match.c.number == t.gathering.c.match, or_(_BEGUN, t.match.c.ended_at.is_not(None))
    )
    return or_(t.gathering.c.at < before, ended)


class Gatherings:
    """Those of a database. Every method raises StoreError in one line."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database = database
        self._clock = clock

    def _before(self) -> str:
        return stamp(self._clock() - OLD)[0]

    def open(self, player_id: str, data: Data) -> Gathering:
        """Open a match that others can join, by a number that no other one has."""
        at, offset = stamp(self._clock())
        with self._database.writing() as connection:
            player = player_number(connection, player_id)
            connection.execute(update(t.gathering).where(_over(self._before())).values(code=None))
            taken = set(connection.execute(select(t.gathering.c.code)).scalars())
            free = [c for c in (f"{n:0{DIGITS}}" for n in range(10**DIGITS)) if c not in taken]
            if not free:
                raise StoreError("all numbers are taken: try again once a match has begun")
            values = {"code": secrets.choice(free), "data": as_text(data)}
            number = connection.execute(
                insert(t.gathering)
                .values(**values, at=at, at_offset=offset)
                .returning(t.gathering.c.number)
            ).scalar_one()
            _sit(connection, number, player)
        return self.look(number)

    def join(self, code: str, player_id: str, most: int) -> Gathering:
        """Join the match of a number, or come back to it. Raises Refused if that can't be."""
        g = t.gathering.c
        with self._database.writing() as connection:
            player = player_number(connection, player_id)
            found = connection.execute(
                select(g.number, _over(self._before()).label("over")).where(g.code == code)
            ).first()
            if found is None:
                raise Refused(f"no match waits by the number {code}")
            if found.over:
                raise Refused(f"the match of the number {code} has had its first ball")
            count = select(func.count()).where(t.gathered.c.gathering == found.number)
            known = connection.execute(count.where(t.gathered.c.player == player)).scalar()
            if not known:
                if (connection.execute(count).scalar() or 0) >= most:
                    raise Refused(f"the match is full: it takes {most} players")
                _sit(connection, found.number, player)
        return self.look(found.number)

    def leave(self, number: int, player_id: str) -> None:
        """A player is not in it any more; without any it is gone.

        Who has a seat in the match that it has begun as stays: that is left in the match itself.
        """
        mine = t.gathered.c.gathering == number
        seated = exists().where(
            t.gathering.c.number == number,
            t.seat.c.match == t.gathering.c.match,
            t.seat.c.player == t.gathered.c.player,
        )
        with self._database.writing() as connection:
            player = player_number(connection, player_id)
            here = mine & (t.gathered.c.player == player)
            connection.execute(delete(t.gathered).where(here, ~seated))
            if connection.execute(select(t.gathered.c.player).where(mine)).first() is None:
                connection.execute(delete(t.gathering).where(t.gathering.c.number == number))

    def beat(self, number: int, player_id: str, here: bool = True) -> None:
        """A player's screen is there, or is going."""
        beats = func.coalesce(t.gathered.c.beats, 0) + 1 if here else None
        with self._database.writing() as connection:
            player = player_number(connection, player_id)
            connection.execute(
                update(t.gathered)
                .where(t.gathered.c.gathering == number, t.gathered.c.player == player)
                .values(beats=beats)
            )

    def look(self, number: int) -> Gathering:
        """How it stands now."""
        with self._database.reading() as connection:
            found = _found(connection, _GATHERINGS.where(t.gathering.c.number == number))
        if found is None:
            raise StoreError("this match between bays is not open any more")
        return found

    def of_match(self, match_id: str) -> Gathering | None:
        """That of a match; `None` for a match on one screen."""
        with self._database.reading() as connection:
            return _found(connection, _GATHERINGS.where(t.match.c.id == match_id))

    def others(self, player_id: str) -> frozenset[str]:
        """Open matches between bays that a player is not in, by id."""
        mine = select(t.gathered.c.gathering).join(t.player).where(t.player.c.id == player_id)
        query = (
            select(t.match.c.id)
            .join(t.gathering, t.gathering.c.match == t.match.c.number)
            .where(t.match.c.ended_at.is_(None), t.gathering.c.number.not_in(mine))
        )
        with self._database.reading() as connection:
            return frozenset(connection.execute(query).scalars())


_GATHERINGS = select(
    t.gathering.c.number,
    t.gathering.c.code,
    t.gathering.c.data,
    t.match.c.id,
    t.match.c.data.label("kept"),
    t.match.c.ended_at,
).select_from(t.gathering.outerjoin(t.match))


def begin(connection: Connection, number: int, match: int) -> None:
    """It has begun as this match. Raises Conflict if it has begun before."""
    g = t.gathering.c
    begun = update(t.gathering).where(and_(g.number == number, g.match.is_(None)))
    if not connection.execute(begun.values(match=match)).rowcount:
        raise Conflict("this match has begun already")


def _sit(connection: Connection, number: int, player: int) -> None:
    of = t.gathered.c
    last = select(func.coalesce(func.max(of.place), 0)).where(of.gathering == number)
    place = connection.execute(last).scalar_one() + 1
    connection.execute(
        insert(t.gathered).values(gathering=number, player=player, place=place, beats=1)
    )


def _found(connection: Connection, query: Select[Any]) -> Gathering | None:
    row = connection.execute(query).first()
    if row is None:
        return None
    of = t.gathered.c
    people = connection.execute(
        select(t.player.c.id, t.player.c.name, of.beats)
        .select_from(t.gathered.join(t.player))
        .where(of.gathering == row.number)
        .order_by(of.place)
    )
    players = tuple(Here(*one) for one in people)
    version = f"{row.ended_at} {row.kept}"
    return Gathering(row.number, row.code, parsed(row.data), row.id, players, version)
