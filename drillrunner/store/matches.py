"""Matches: kept as given; what they mean is for `practice` to say."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from drillrunner.rules.run import Entry, Run
from drillrunner.store import gatherings
from drillrunner.store import tables as t
from drillrunner.store.errors import PlayedElsewhere, StoreError
from drillrunner.store.journal import Playing
from drillrunner.store.opened import Opened, player_number
from drillrunner.store.outings import Data, as_text, ended
from drillrunner.store.people import same_or_added
from drillrunner.store.schema import open_anew
from drillrunner.store.shapes import MatchInfo, MatchPlayer, PlayerInfo, parsed
from drillrunner.store.sound import sound
from drillrunner.store.stored import moment, stamp


def _begin(
    connection: Connection,
    drill: str,
    players: Sequence[tuple[int, Data]],
    data: Data,
    at: datetime,
    id: str | None = None,
) -> tuple[int, str]:
    """A new match with its players in their order; its number and its id (else a new one)."""
    id, (started, offset) = id or str(uuid.uuid4()), stamp(at)
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


def _change_seat(connection: Connection, match: str, player: int, data: Data) -> None:
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


def _matches(
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
            ended(row.ended_at, row.ended_offset),
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


class MatchStore(Opened):
    """Reads and keeps matches."""

    def add_match(
        self,
        drill_id: str,
        players: Sequence[tuple[str, Data]],
        data: Data,
        gathering: int | None = None,
    ) -> MatchInfo:
        """A new match: who plays, in their order, and what `practice` keeps of each and of all.

        gathering: the one between bays that begins as this match.
        """
        with self.database.writing() as connection:
            seats = [(player_number(connection, id), own) for id, own in players]
            number, id = _begin(connection, drill_id, seats, data, self.clock())
            if gathering is not None:
                gatherings.begin(connection, gathering, number)
        return self.match(id)

    def change_match(
        self,
        match_id: str,
        data: Data | None = None,
        *,
        ends: bool | None = None,
        known: Data | None = None,
    ) -> MatchInfo:
        """Replace a match's data; `ends` closes it (true) or opens it again (false).

        known: the data as last read. Raises PlayedElsewhere if it is another by now.
        """

        def put(connection: Connection) -> bool:
            change_match(connection, match_id, data, self.clock(), ends, known)
            return True

        def there(connection: Connection) -> bool | None:
            if known is None:
                return None  # Written once more it is the same.
            m = t.match.c
            ways = [m.id == match_id, m.data == as_text(known if data is None else data)]
            if ends is not None:
                ways.append(m.ended_at.is_not(None) if ends else m.ended_at.is_(None))
            return True if connection.execute(select(m.id).where(*ways)).first() else None

        self.once.write(match_id, put, there)
        return self.match(match_id)

    def append_in_match(
        self,
        playing: Playing,
        entry: Entry,
        known: MatchInfo,
        data: Data,
        *,
        ends: bool,
        at: datetime | None = None,
    ) -> Run:
        """Take an entry of a run in a match, and what follows for the match, in one transaction.

        known: the match as last read. at: when it was typed. Raises as `Playing.append`, and
        PlayedElsewhere if the match was played on since.
        """
        at = at or self.clock()
        return playing.append(
            entry,
            lambda connection: change_match(connection, known.id, data, at, ends, known.data),
            at,
        )

    def write_match_anew(
        self,
        known: MatchInfo,
        people: Sequence[PlayerInfo],
        runs: Sequence[tuple[Playing, Sequence[int]]],
    ) -> None:
        """As the store's `write_anew`, for a match: all that is known of it, with its runs.

        known: the match as last read or written. people: who has a place in it, in that order.
        runs: each with the places of its entries in the match. Raises PlayedElsewhere if it went
        on differently there; StoreError if it could not be written.
        """
        open_anew(self.database)
        with self.database.writing() as connection:
            there = _matches(connection, known.id)
            numbers = [same_or_added(connection, one, known.started) for one in people]
            if not there:
                _begin(connection, known.drill, (), known.data, known.started, known.id)
            seated = len(there[0].players) if there else 0
            for number, seat in list(zip(numbers, known.players, strict=True))[seated:]:
                _seat(connection, _match(connection, known.id), number, seat.data)
        for playing, places in runs:
            playing.write_anew(places)
        ends = known.ended_at is not None
        self.change_match(known.id, known.data, ends=ends)

    def change_match_player(self, match_id: str, player_id: str, data: Data) -> MatchInfo:
        """Replace what is kept of one player in a match; a new player comes last."""
        with self.database.writing() as connection:
            _change_seat(connection, match_id, player_number(connection, player_id), data)
        return self.match(match_id)

    def match(self, match_id: str) -> MatchInfo:
        """A match with its players."""
        with self.database.reading() as connection:
            found = _matches(connection, match_id)
        if not found:
            raise StoreError(f"no match {match_id}")
        return found[0]

    def matches(self, limit: int | None = None) -> tuple[MatchInfo, ...]:
        """Matches with their players, newest first, the open ones too."""
        with self.database.reading() as connection:
            return _matches(connection, limit=limit)

    def open_matches(self) -> tuple[MatchInfo, ...]:
        """Matches that have not ended, newest first."""
        with self.database.reading() as connection:
            return _matches(connection, is_open=True)
