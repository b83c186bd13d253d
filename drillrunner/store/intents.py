"""What a player means to do: goals by a day, and the one thought of their technique."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import func, insert, select

from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.opened import player_number
from drillrunner.store.shapes import GoalInfo, ThoughtInfo
from drillrunner.store.sound import sound
from drillrunner.store.stored import LONGEST_THOUGHT, exact, hundredths, line, moment, stamp


class Intents:
    """Goals and thoughts of a store. Every method raises StoreError in one line."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database = database
        self._clock = clock

    def set_goal(
        self,
        player_id: str,
        value: Decimal | None,
        by: date | None,
        drill: str | None = None,
    ) -> None:
        """From now on this is the goal: an index, or a score on a drill; `None` takes it back."""
        kind = "index" if drill is None else "score"
        try:
            kept = hundredths(value)
        except ValueError as error:
            raise StoreError(f"goal {error}") from error
        utc, offset = stamp(self._clock())
        with self._database.writing() as connection:
            connection.execute(
                insert(t.goal).values(
                    player=player_number(connection, player_id),
                    kind=kind,
                    drill=drill,
                    value=kept,
                    day=None if by is None else by.isoformat(),
                    at=utc,
                    at_offset=offset,
                )
            )

    def goals(self, player_id: str) -> tuple[GoalInfo, ...]:
        """The goals in force, the index first, then by their day."""
        g = t.goal.c
        newest = select(func.max(g.number)).group_by(g.player, g.kind, g.drill)
        query = (
            select(g.number, g.kind, g.drill, g.value, g.day, g.at, g.at_offset)
            .select_from(t.goal.join(t.player))
            .where(t.player.c.id == player_id, g.number.in_(newest), g.value.is_not(None))
        )

        def made(row: Any) -> GoalInfo:
            _, kind, drill, value, day, at, offset = row
            by = None if day is None else date.fromisoformat(day)
            return GoalInfo(kind, drill, exact(value), by, moment(at, offset))

        with self._database.reading() as connection:
            found = sound(connection, "goal", connection.execute(query), made)
            return tuple(
                sorted(found, key=lambda goal: (goal.kind != "index", goal.by or date.max))
            )

    def set_thought(self, player_id: str, words: str | None) -> None:
        """From now on this is what the player works on; an empty text takes it back."""
        kept = line(words, "thought", LONGEST_THOUGHT) if words and words.strip() else None
        utc, offset = stamp(self._clock())
        with self._database.writing() as connection:
            number = player_number(connection, player_id)
            connection.execute(
                insert(t.thought).values(player=number, words=kept, at=utc, at_offset=offset)
            )

    def thought(self, player_id: str) -> ThoughtInfo | None:
        """What the player works on now."""
        newest = self.thoughts(player_id, 1)
        return newest[0] if newest and newest[0].words is not None else None

    def thoughts(self, player_id: str, limit: int | None = None) -> tuple[ThoughtInfo, ...]:
        """All that the player worked on, newest first; without words where it was taken back."""
        h = t.thought.c
        query = (
            select(h.number, h.words, h.at, h.at_offset)
            .select_from(t.thought.join(t.player))
            .where(t.player.c.id == player_id)
            .order_by(h.number.desc())
            .limit(limit)
        )

        def made(row: Any) -> ThoughtInfo:
            return ThoughtInfo(row[1], moment(row[2], row[3]))

        with self._database.reading() as connection:
            return tuple(sound(connection, "thought", connection.execute(query), made))
