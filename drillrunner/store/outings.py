"""Sessions and stock carries: kept as given; what they mean is for `practice` to say."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, bindparam, func, insert, select, update

from drillrunner.rules.units import Unit
from drillrunner.store import tables as t
from drillrunner.store.database import Prepared
from drillrunner.store.entry_rows import all_but_number
from drillrunner.store.errors import Conflict, PlayedElsewhere, StoreError
from drillrunner.store.opened import Opened, player_number
from drillrunner.store.people import same_or_added
from drillrunner.store.schema import open_anew
from drillrunner.store.shapes import (
    PlayerInfo,
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


def ended(at: str | None, offset: int | None) -> datetime | None:
    return None if at is None or offset is None else moment(at, offset)


def _begin(connection: Connection, player: int, plan: Data, at: datetime, id: str) -> None:
    """A new session in the player's visit of that day."""
    started, offset = stamp(at)
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


_NUMBER = Prepared(select(t.session.c.number).where(t.session.c.id == bindparam("session")))
_ADD_EVENT = Prepared(insert(t.event), all_but_number(t.event))


def _keep(connection: Connection, session: str, event: SessionEvent, ends: bool) -> None:
    """Add an event to a session; `ends` closes it. Raises Conflict if its place is taken."""
    number = _NUMBER.value(connection, {"session": session})
    if number is None:
        raise StoreError(f"no session {session}")
    values = _row(event)
    _ADD_EVENT.do(connection, {"session": number, **values})
    if ends:
        connection.execute(
            update(t.session)
            .where(t.session.c.number == number)
            .values(ended_at=values["at"], ended_offset=values["at_offset"])
        )


def _has(connection: Connection, session: str, event: SessionEvent) -> bool:
    """Whether exactly this event is in a session."""
    ways = [t.event.c[name] == value for name, value in _row(event).items()]
    query = select(t.event.c.number).join(t.session).where(t.session.c.id == session, *ways)
    return connection.execute(query).first() is not None


def _row(event: SessionEvent) -> dict[str, Any]:
    at, offset = stamp(event.at)
    data = as_text(event.data)
    return {"seq": event.seq, "at": at, "at_offset": offset, "kind": event.kind, "data": data}


def _player_of(connection: Connection, session: str) -> int:
    """The number of the player who began a session."""
    found = connection.execute(select(t.session.c.player).where(t.session.c.id == session))
    return int(found.scalar_one())


def _sessions(
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
        id, number, player_id, name, started, started_offset, ended_at, offset, visit, plan = row
        return SessionInfo(
            id,
            player_id,
            name,
            moment(started, started_offset),
            ended(ended_at, offset),
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


def _keep_carry(
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


class OutingStore(Opened):
    """Reads and keeps sessions and stock carries."""

    def add_session(
        self,
        player_id: str,
        plan: Data,
        first: SessionEvent | None = None,
        id: str | None = None,
    ) -> SessionInfo:
        """A new session, open, in today's visit; with its first event or not at all.

        id: of the session, for who may have to try again: one that is there is given as it is.
        """
        id = id or str(uuid.uuid4())
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            if not connection.execute(select(t.session.c.id).where(t.session.c.id == id)).first():
                _begin(connection, number, plan, self.clock(), id)
                if first is not None:
                    _keep(connection, id, first, ends=False)
        return self.session(id)

    def append_event(
        self,
        session_id: str,
        seq: int,
        kind: str,
        data: Data,
        *,
        at: datetime | None = None,
        ends: bool = False,
        found: Data | None = None,
    ) -> SessionEvent:
        """Add an event, on disk when this returns; `ends` closes the session.

        seq: one more than the last event's; raises PlayedElsewhere if that is taken. found: a stock
        carry that is kept with it or not at all, as `save_stock_carry` takes it.
        """
        event = SessionEvent(seq, at or self.clock(), kind, data)

        def put(connection: Connection) -> SessionEvent:
            _keep(connection, session_id, event, ends)
            if found is not None:
                _keep_carry(
                    connection,
                    _player_of(connection, session_id),
                    at=event.at,
                    session=session_id,
                    **{"data": {}, **found},
                )
            return event

        def there(connection: Connection) -> SessionEvent | None:
            return event if _has(connection, session_id, event) else None

        try:
            return self.once.write(session_id, put, there)
        except Conflict as error:
            raise PlayedElsewhere("this session is being played elsewhere") from error

    def session(self, session_id: str) -> SessionInfo:
        """A session with its events."""
        with self.database.reading() as connection:
            found = _sessions(connection, session_id)
        if not found:
            raise StoreError(f"no session {session_id}")
        return found[0]

    def sessions(
        self, player_id: str | None = None, limit: int | None = None
    ) -> tuple[SessionInfo, ...]:
        """Sessions with their events, newest first, the open ones too."""
        with self.database.reading() as connection:
            return _sessions(connection, player=player_id, limit=limit)

    def events_by_day(
        self, kinds: Sequence[str], player_id: str | None = None
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
        if player_id is not None:
            query = query.where(t.player.c.id == player_id)
        with self.database.reading() as connection:
            rows = connection.execute(query)
            return tuple(
                sound(
                    connection, "event on", rows, lambda row: (str(row[0]), row[1], parsed(row[2]))
                )
            )

    def open_sessions(self, player_id: str | None = None) -> tuple[SessionInfo, ...]:
        """Sessions that have not ended, newest first."""
        with self.database.reading() as connection:
            return _sessions(connection, player=player_id, is_open=True)

    def write_session_anew(self, player: PlayerInfo, info: SessionInfo) -> None:
        """As `write_anew`, for a session: all that is known of it, with the events that lie there
        already left as they are.

        Raises PlayedElsewhere if it went on differently there; StoreError if it could not be
        written.
        """
        open_anew(self.database)
        with self.database.writing() as connection:
            number = same_or_added(connection, player, info.started)
            there = _sessions(connection, info.id)
            have = there[0].events if there else ()
            if have != info.events[: len(have)]:
                raise PlayedElsewhere("this session went on differently there: look at it first")
            if not there:
                _begin(connection, number, info.plan, info.started, info.id)
            for event in info.events[len(have) :]:
                _keep(connection, info.id, event, ends=event.kind == "stop")

    def save_stock_carry(
        self,
        player_id: str,
        club: str,
        swing: str,
        *,
        carry: Decimal,
        low: Decimal,
        high: Decimal,
        spread: Decimal,
        unit: Unit,
        session_id: str | None = None,
        data: Data | None = None,
    ) -> None:
        """Keep a stock carry, in force from now on. Numbers have at most two decimals."""
        with self.database.writing() as connection:
            _keep_carry(
                connection,
                player_number(connection, player_id),
                club,
                swing,
                carry,
                low,
                high,
                spread,
                unit,
                self.clock(),
                session_id,
                data or {},
            )

    def stock_carries(self, player_id: str, every: bool = False) -> tuple[StockCarry, ...]:
        """Stock carries, newest first: the one in force for each club and swing, or every one."""
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
            .where(t.player.c.id == player_id)
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
                player_id, club, swing, carry, low, high, spread, unit, at, session, parsed(data)
            )

        with self.database.reading_of(player_id) as connection:
            return tuple(sound(connection, "stock carry of", connection.execute(query), made))
