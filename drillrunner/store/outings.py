"""Sessions, stock carries and matches: kept as given; what they mean is for `practice` to say."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from drillrunner.rules.units import Unit
from drillrunner.store import tables as t
from drillrunner.store.errors import PlayedElsewhere, StoreError
from drillrunner.store.shapes import (
    MatchInfo,
    MatchPlayer,
    SessionEvent,
    SessionInfo,
    StockCarry,
    parsed,
)
from drillrunner.store.sound import sound
from drillrunner.store.stored import exact, hundredths, moment, stamp
from drillrunner.store.visits import visit_of_the_day

Data = Mapping[str, Any]
"""Anything that JSON can hold."""


def as_text(data: Data) -> str:
    """JSON as it is kept."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def _ended(at: str | None, offset: int | None) -> datetime | None:
    return None if at is None or offset is None else moment(at, offset)


def add_session(
    connection: Connection, player: int, plan: Data, at: datetime, id: str | None = None
) -> str:
    """A new session in the player's visit of that day; its id, which is a new one unless given."""
    id, (started, offset) = id or str(uuid.uuid4()), stamp(at)
    connection.execute(
        insert(t.session).values(
            id=id,
            player=player,
            visit_id=visit_of_the_day(connection, player, at),
            plan=as_text(plan),
            started=started,
            started_offset=offset,
        )
    )
    return id


def append_event(
    connection: Connection, session: str, seq: int, kind: str, data: Data, at: datetime, ends: bool
) -> None:
    """Add an event to a session; `ends` closes it. Raises Conflict if `seq` is taken."""
    number = connection.execute(
        select(t.session.c.number).where(t.session.c.id == session)
    ).scalar()
    if number is None:
        raise StoreError(f"no session {session}")
    utc, offset = stamp(at)
    connection.execute(
        insert(t.event).values(
            session=number, seq=seq, at=utc, at_offset=offset, kind=kind, data=as_text(data)
        )
    )
    if ends:
        connection.execute(
            update(t.session)
            .where(t.session.c.number == number)
            .values(ended_at=utc, ended_offset=offset)
        )


def player_of_session(connection: Connection, session: str) -> int:
    """The number of the player who began a session."""
    found = connection.execute(select(t.session.c.player).where(t.session.c.id == session))
    return int(found.scalar_one())


def sessions(
    connection: Connection,
    id: str | None = None,
    player: str | None = None,
    is_open: bool = False,
    limit: int | None = None,
) -> tuple[SessionInfo, ...]:
    """Sessions with their events, newest first."""
    s = t.session.c
    query = (
        select(
            s.id,
            s.number,
            t.player.c.id.label("player_id"),
            t.player.c.name,
            s.started,
            s.started_offset,
            s.ended_at,
            s.ended_offset,
            s.visit_id,
            s.plan,
        )
        .select_from(t.session.join(t.player))
        .order_by(s.number.desc())
        .limit(limit)
    )
    if id is not None:
        query = query.where(s.id == id)
    if player is not None:
        query = query.where(t.player.c.id == player)
    if is_open:
        query = query.where(s.ended_at.is_(None))

    def made(row: Any) -> SessionInfo:
        id, number, player_id, name, started, started_offset, ended, offset, visit, plan = row
        return SessionInfo(
            id,
            player_id,
            name,
            moment(started, started_offset),
            _ended(ended, offset),
            visit,
            parsed(plan),
            _events(connection, number),
        )

    return tuple(sound(connection, "session", connection.execute(query).fetchall(), made))


def _events(connection: Connection, session: int) -> tuple[SessionEvent, ...]:
    e = t.event.c
    columns = (e.number, e.seq, e.at, e.at_offset, e.kind, e.data)
    rows = connection.execute(select(*columns).where(e.session == session).order_by(e.seq))

    def made(row: Any) -> SessionEvent:
        _, seq, at, offset, kind, data = row
        return SessionEvent(seq, moment(at, offset), kind, parsed(data))

    return tuple(sound(connection, "event of a session", rows, made))


def events_by_day(
    connection: Connection, kinds: Sequence[str], player: str | None = None
) -> tuple[tuple[str, str, Data], ...]:
    """Local day, kind and data of all session events of these kinds, in order."""
    s, e = t.session.c, t.event.c
    query = (
        select(func.coalesce(t.visit.c.day, func.substr(s.started, 1, 10)), e.kind, e.data)
        .select_from(
            t.session.join(t.event, e.session == s.number)
            .join(t.player, t.player.c.number == s.player)
            .outerjoin(t.visit, t.visit.c.id == s.visit_id)
        )
        .where(e.kind.in_(kinds))
        .order_by(e.number)
    )
    if player is not None:
        query = query.where(t.player.c.id == player)
    rows = connection.execute(query)
    return tuple(
        sound(connection, "event on", rows, lambda row: (str(row[0]), row[1], parsed(row[2])))
    )


def save_stock_carry(
    connection: Connection,
    player: int,
    club: str,
    swing: str,
    carry: Decimal,
    low: Decimal,
    high: Decimal,
    spread: Decimal,
    unit: Unit,
    at: datetime,
    session: str | None,
    data: Data,
) -> None:
    """Keep a stock carry as found. Raises ValueError for more than two decimals."""
    utc, offset = stamp(at)
    connection.execute(
        insert(t.stock).values(
            player=player,
            club=club,
            swing=swing,
            carry=hundredths(carry),
            low=hundredths(low),
            high=hundredths(high),
            spread=hundredths(spread),
            unit=unit,
            at=utc,
            at_offset=offset,
            session_id=session,
            data=as_text(data),
        )
    )


def stock_carries(
    connection: Connection, player: str, every: bool = False
) -> tuple[StockCarry, ...]:
    """A player's stock carries, newest first: the one in force for each club and swing, or all."""
    s = t.stock.c
    query = (
        select(
            s.club,
            s.swing,
            s.carry,
            s.low,
            s.high,
            s.spread,
            s.unit,
            s.at,
            s.at_offset,
            s.session_id,
            s.data,
        )
        .select_from(t.stock.join(t.player))
        .where(t.player.c.id == player)
        .order_by(s.number.desc())
    )
    if not every:
        newest = select(func.max(s.number)).group_by(s.player, s.club, s.swing)
        query = query.where(s.number.in_(newest))

    def made(row: Any) -> StockCarry:
        club, swing, *lengths, unit, at, offset, session, data = row
        carry, low, high, spread = map(exact, lengths)
        at = moment(at, offset)
        return StockCarry(
            player, club, swing, carry, low, high, spread, unit, at, session, parsed(data)
        )

    return tuple(sound(connection, "stock carry of", connection.execute(query), made))


def add_match(
    connection: Connection,
    drill: str,
    players: Sequence[tuple[int, Data]],
    data: Data,
    at: datetime,
) -> tuple[int, str]:
    """A new match with its players in their order; its number and its id."""
    id, (started, offset) = str(uuid.uuid4()), stamp(at)
    number = connection.execute(
        insert(t.match)
        .values(id=id, drill=drill, data=as_text(data), started=started, started_offset=offset)
        .returning(t.match.c.number)
    ).scalar_one()
    for player, own in players:
        _seat(connection, number, player, own)
    return number, id


def _seat(connection: Connection, match: int, player: int, data: Data) -> None:
    last = select(func.coalesce(func.max(t.seat.c.place), 0)).where(t.seat.c.match == match)
    place = connection.execute(last).scalar_one() + 1
    connection.execute(
        insert(t.seat).values(match=match, player=player, place=place, data=as_text(data))
    )


def change_match(
    connection: Connection,
    id: str,
    data: Data | None,
    at: datetime,
    ends: bool | None,
    known: Data | None = None,
) -> None:
    """Replace a match's data, end it (`ends`) or open it again (`ends` is false).

    known: the data as last read. Raises PlayedElsewhere if it is another by now.
    """
    values: dict[str, Any] = {} if data is None else {"data": as_text(data)}
    if ends is not None:
        ended = stamp(at) if ends else (None, None)
        values |= dict(zip(("ended_at", "ended_offset"), ended, strict=True))
    if not values:
        return
    change = update(t.match).where(t.match.c.number == _match(connection, id)).values(values)
    if known is not None:
        change = change.where(t.match.c.data == as_text(known))
    if not connection.execute(change).rowcount:
        raise PlayedElsewhere("this match is being played elsewhere: look at it before you go on")


def change_seat(connection: Connection, match: str, player: int, data: Data) -> None:
    """Replace what is kept of one player in a match; a new player gets the next place."""
    number = _match(connection, match)
    changed = connection.execute(
        update(t.seat)
        .where(t.seat.c.match == number, t.seat.c.player == player)
        .values(data=as_text(data))
    )
    if not changed.rowcount:
        _seat(connection, number, player, data)


def _match(connection: Connection, id: str) -> int:
    number = connection.execute(select(t.match.c.number).where(t.match.c.id == id)).scalar()
    if number is None:
        raise StoreError(f"no match {id}")
    return int(number)


def matches(
    connection: Connection, id: str | None = None, is_open: bool = False, limit: int | None = None
) -> tuple[MatchInfo, ...]:
    """Matches with their players, newest first."""
    m = t.match.c
    query = select(t.match).order_by(m.number.desc()).limit(limit)
    if id is not None:
        query = query.where(m.id == id)
    if is_open:
        query = query.where(m.ended_at.is_(None))

    def made(row: Any) -> MatchInfo:
        return MatchInfo(
            row.id,
            row.drill,
            moment(row.started, row.started_offset),
            _ended(row.ended_at, row.ended_offset),
            parsed(row.data),
            _seats(connection, row.number),
        )

    return tuple(sound(connection, "match", connection.execute(query).fetchall(), made))


def _seats(connection: Connection, match: int) -> tuple[MatchPlayer, ...]:
    rows = connection.execute(
        select(t.player.c.id, t.player.c.name, t.seat.c.place, t.seat.c.data)
        .select_from(t.seat.join(t.player))
        .where(t.seat.c.match == match)
        .order_by(t.seat.c.place)
    )
    return tuple(MatchPlayer(id, name, place, parsed(data)) for id, name, place, data in rows)
