"""Whose it is: the owner of the records, and what was typed under another player than its own.

Giving is an entry of its own, which is kept and goes out with an export; records, patterns,
standings and bests follow it, because they are read by the player that a run now has.
"""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from sqlalchemy import Connection, Table, and_, delete, exists, func, insert, select, update

from drillrunner.store import tables as t
from drillrunner.store.errors import Conflict, StoreError
from drillrunner.store.opened import Opened, player_number
from drillrunner.store.people import player
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.stored import moment, stamp
from drillrunner.store.visits import NOTED, visit_of_the_day


class Giving(NamedTuple):
    """That something was given. kind: one of `GIFTS`; what: its id, or the match's for a seat."""

    kind: str
    what: str
    giver: str
    taker: str
    at: datetime


def owner(connection: Connection) -> int | None:
    """The number of the player whose records these are: the one first made, unless changed."""
    found = connection.execute(
        select(t.owner.c.player).order_by(t.owner.c.number.desc()).limit(1)
    ).scalar()
    return found or connection.execute(select(func.min(t.player.c.number))).scalar()


def _givings(connection: Connection, what: str | None = None) -> tuple[Giving, ...]:
    """What was given, oldest first: all, or of one run, session or match."""
    giver, taker = t.player.alias(), t.player.alias()
    g = t.given.c
    query = (
        select(g.kind, g.what, giver.c.name, taker.c.name, g.at, g.at_offset)
        .join_from(t.given, giver, giver.c.number == g.giver)
        .join(taker, taker.c.number == g.taker)
        .order_by(g.number)
    )
    if what is not None:
        query = query.where(g.what == what)
    return tuple(
        Giving(kind, what, giver, taker, moment(at, offset))
        for kind, what, giver, taker, at, offset in connection.execute(query)
    )


def whose(connection: Connection, kind: str, what: str, seat: int | None = None) -> int | None:
    """The number of the player who has it now; `None` if it is not there."""
    if kind == "seat":
        query = select(t.seat.c.player).join(t.match).where(t.match.c.id == what)
        query = query.where(t.seat.c.player == seat)
    else:
        table = _TABLES[kind]
        query = select(table.c.player).where(table.c.id == what)
    return connection.execute(query).scalar()


_TABLES: dict[str, Table] = {"run": t.run, "session": t.session, "round": t.round}


def move(connection: Connection, kind: str, what: str, giver: int, taker: int) -> None:
    """Make it the taker's, with all that hangs on it; nothing is kept of that here.

    Raises StoreError, Conflict where the taker has something there.
    """
    r = t.run.c
    if kind == "run":
        match = connection.execute(select(r.match_id).where(r.id == what)).scalar()
        if match is not None:
            raise StoreError("this run is part of a match: give the seat in the match")
        _runs(connection, r.id == what, giver, taker)
    elif kind == "session":
        _runs(connection, and_(r.session_id == what, r.match_id.is_(None)), giver, taker)
        table = t.stock.c
        mine = and_(table.session_id == what, table.player == giver)
        connection.execute(update(t.stock).where(mine).values(player=taker))
        _to_their_day(connection, t.session, t.session.c.id == what, taker)
        _leave_empty_days(connection, giver)
    elif kind == "round":
        connection.execute(update(t.round).where(t.round.c.id == what).values(player=taker))
    else:
        number = select(t.match.c.number).where(t.match.c.id == what).scalar_subquery()
        taken = select(t.seat.c.place).where(t.seat.c.match == number, t.seat.c.player == taker)
        if connection.execute(taken).first() is not None:
            raise Conflict("this player has a seat in the match already: choose another one")
        _runs(connection, r.match_id == what, giver, taker)
        connection.execute(
            update(t.seat)
            .where(t.seat.c.match == number, t.seat.c.player == giver)
            .values(player=taker)
        )


def _runs(connection: Connection, which: Any, giver: int, taker: int) -> None:
    """Runs of one player are another's, entry by entry."""
    mine = and_(which, t.run.c.player == giver)
    other = t.run.alias()
    clash = (
        select(t.drill_as_set.c.title)
        .join_from(t.run, t.drill_as_set)
        .where(
            mine,
            t.run.c.ended.is_(None),
            t.run.c.decider.is_(False),
            exists().where(
                other.c.player == taker,
                other.c.drill == t.run.c.drill,
                other.c.ended.is_(None),
                other.c.decider.is_(False),
            ),
        )
    )
    title = connection.execute(clash).scalar()
    if title is not None:
        raise Conflict(f"they have a run of {title} open: finish it or give it up first")
    numbers = [number for (number,) in connection.execute(select(t.run.c.number).where(mine))]
    for number in numbers:
        connection.execute(update(t.entry).where(t.entry.c.run == number).values(player=taker))
        _to_their_day(connection, t.run, t.run.c.number == number, taker)
    _leave_empty_days(connection, giver)


def _to_their_day(connection: Connection, table: Table, which: Any, taker: int) -> None:
    """A run or session becomes the taker's, in their own visit of that day."""
    query = select(table.c.started, table.c.started_offset).where(which)
    started, offset = connection.execute(query).one()
    visit = visit_of_the_day(connection, taker, moment(started, offset))
    connection.execute(update(table).where(which).values(player=taker, visit_id=visit))


def _leave_empty_days(connection: Connection, player: int) -> None:
    """A day on which nothing is left, and of which nothing was noted, was none."""
    v = t.visit.c
    connection.execute(
        delete(t.visit).where(
            v.player == player,
            *(v[name].is_(None) for name in NOTED),
            ~exists().where(t.run.c.visit_id == v.id),
            ~exists().where(t.session.c.visit_id == v.id),
        )
    )


class GiftStore(Opened):
    """Whose the records are, and what was given to another player."""

    def owner(self) -> PlayerInfo | None:
        """Whose records these are: the player first made, unless `set_owner` said otherwise."""
        with self.database.reading() as connection:
            number = owner(connection)
            return None if number is None else player(connection, number=number)

    def set_owner(self, player_id: str) -> None:
        """These records are this player's from now on: a bare start is theirs."""
        utc, offset = stamp(self.clock())
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            values = {"player": number, "at": utc, "at_offset": offset}
            connection.execute(insert(t.owner).values(values))

    def give(self, kind: str, what: str, player_id: str, giver_id: str | None = None) -> None:
        """Give a run, a session, a round, or a seat in a match to a player; that is kept.

        giver_id: whose seat it is. Raises StoreError, Conflict where the taker has something
        there.
        """
        with self.database.writing() as connection:
            taker = player_number(connection, player_id)
            seat = None if giver_id is None else player_number(connection, giver_id)
            now = whose(connection, kind, what, seat)
            if now is None:
                raise StoreError(f"no {kind} {what}: it was taken away")
            if now == taker:
                return
            # A clock that was put back must not make this the older word: an import goes by the
            # time.
            times = [one.at + timedelta(microseconds=1) for one in _givings(connection, what)]
            utc, offset = stamp(max([self.clock(), *times]))
            connection.execute(
                insert(t.given).values(
                    id=str(uuid.uuid4()),
                    kind=kind,
                    what=what,
                    giver=now,
                    taker=taker,
                    at=utc,
                    at_offset=offset,
                )
            )
            move(connection, kind, what, now, taker)

    def givings(self, what: str | None = None) -> tuple[Giving, ...]:
        """What was given to another player, oldest first: all, or of one run, session or match."""
        with self.database.reading() as connection:
            return _givings(connection, what)
