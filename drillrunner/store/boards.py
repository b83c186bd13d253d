"""Boards that everyone may see: on them stand only players who said that they want to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from sqlalchemy import insert, select

from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.opened import player_number
from drillrunner.store.stored import exact, moment, stamp


class Leader(NamedTuple):
    """A player's best on a drill as set. place: equal scores share one. at: when it ended."""

    place: int
    player: str
    score: Decimal
    at: datetime
    run: str


_WORD = (
    select(t.sharing.c.yes)
    .where(t.sharing.c.player == t.player.c.number)
    .order_by(t.sharing.c.number.desc())
    .limit(1)
    .scalar_subquery()
)
"""What a player said last; null before the first word, which is no."""


class Boards:
    """Who agreed to stand on boards, and what stands there. Methods raise StoreError."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database = database
        self._clock = clock

    def shares(self, player_id: str) -> bool:
        """Whether a player stands on boards that all can see."""
        query = select(_WORD).where(t.player.c.id == player_id)
        with self._database.reading() as connection:
            return bool(connection.execute(query).scalar())

    def share(self, player_id: str, yes: bool) -> None:
        """From now on a player stands on such boards, or not any more."""
        at, offset = stamp(self._clock())
        with self._database.writing() as connection:
            number = player_number(connection, player_id)
            connection.execute(
                insert(t.sharing).values(player=number, yes=yes, at=at, at_offset=offset)
            )

    def leaders(
        self,
        fingerprint: str,
        since: datetime | None = None,
        limit: int | None = None,
    ) -> Sequence[Leader]:
        """The bests of those who agreed, on a drill as set: the best first, of equals the earlier.

        since: only runs that ended from then on. Raises ValueError for a time without its zone.
        """
        r = t.run.alias().c
        ways = [r.player == t.player.c.number, r.fingerprint == fingerprint, r.rank.is_not(None)]
        if since is not None:
            ways.append(r.ended_at >= stamp(since)[0])
        best = select(r.number).where(*ways).order_by(r.rank, r.ended_by).limit(1)
        of = t.run.c
        query = (
            select(t.player.c.name, of.score, of.ended_at, of.ended_offset, of.id)
            .select_from(t.player.join(t.run, of.number == best.scalar_subquery()))
            .where(t.player.c.hidden.is_(False), _WORD.is_(True))
            .order_by(of.rank, of.ended_by)
            .limit(limit)
        )
        found: list[Leader] = []
        with self._database.reading_all() as connection:
            for name, stored, at, offset, run in connection.execute(query):
                score, last = exact(stored), found[-1] if found else None
                place = last.place if last and last.score == score else len(found) + 1
                found.append(Leader(place, name, score, moment(at, offset), run))
        return found
