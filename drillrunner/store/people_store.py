"""What a store knows of people: players, whose records these are, clubs and days at the range."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

from drillrunner.rules.units import Unit
from drillrunner.store import giving, people, quick, visits
from drillrunner.store.database import Database
from drillrunner.store.errors import StoreError
from drillrunner.store.journal import player_number
from drillrunner.store.quick import HomeFacts
from drillrunner.store.records import asked
from drillrunner.store.shapes import ClubInfo, PlayerInfo, VisitInfo


class PeopleStore:
    """A part of `Store`, whose methods raise StoreError in one line."""

    database: Database
    clock: Callable[[], datetime]

    def home(self, name: str | None = None) -> HomeFacts:
        """What the first screen shows, of the player of that name or of the owner."""
        with self.database.reading() as connection:
            return quick.home_facts(lambda text, values: asked(connection, text, values), name)

    def players(self, hidden: bool = False) -> tuple[PlayerInfo, ...]:
        """Players in the order in which they came; the hidden ones only if asked for."""
        with self.database.reading() as connection:
            return people.players(connection, hidden)

    def player(self, name: str) -> PlayerInfo | None:
        """The player of that name; case and spaces around it make no difference."""
        with self.database.reading() as connection:
            return people.player(connection, name)

    def player_of(self, id: str) -> PlayerInfo:
        """The player of that id."""
        with self.database.reading() as connection:
            found = people.player(connection, id=id)
        if found is None:
            raise StoreError(f"no player {id}: it was taken away, or is in another database")
        return found

    def add_player(
        self, name: str, *, index: Decimal | None = None, unit: Unit = "yd"
    ) -> PlayerInfo:
        """A new player with the usual clubs. Raises Conflict if the name is taken."""
        with self.database.writing() as connection:
            id = people.add_player(connection, name, index, unit, self.clock())
        return self.player_of(id)

    def change_player(self, id: str, **fields: Any) -> PlayerInfo:
        """Change name, unit, hand, column, hidden, pace or index (which adds a dated row)."""
        with self.database.writing() as connection:
            people.change_player(connection, id, self.clock(), **fields)
        return self.player_of(id)

    def handicaps(self, player_id: str) -> tuple[tuple[datetime, Decimal | None], ...]:
        """Every handicap index that was typed of a player, and when, oldest first."""
        with self.database.reading() as connection:
            return people.handicaps(connection, player_id)

    def owner(self) -> PlayerInfo | None:
        """Whose records these are: the player first made, unless `set_owner` said otherwise."""
        with self.database.reading() as connection:
            number = giving.owner(connection)
            return None if number is None else people.player(connection, number=number)

    def set_owner(self, player_id: str) -> None:
        """These records are this player's from now on: a bare start is theirs."""
        with self.database.writing() as connection:
            giving.set_owner(connection, player_number(connection, player_id), self.clock())

    def clubs(self, player_id: str) -> tuple[ClubInfo, ...]:
        """A player's clubs in their order, the retired ones too."""
        with self.database.reading() as connection:
            return people.clubs(connection, player_id)

    def add_club(self, player_id: str, club_id: str, label: str) -> tuple[ClubInfo, ...]:
        """A club of the player's own, after the others; all clubs. Raises Conflict."""
        unit = self.player_of(player_id).unit
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            people.add_club(connection, number, club_id, label, unit)
        return self.clubs(player_id)

    def change_club(self, player_id: str, club_id: str, **fields: Any) -> tuple[ClubInfo, ...]:
        """Change label, order, usual_carry, unit or retired; all clubs.

        A carry is in the club's own unit, which is the player's if a carry comes without one.
        """
        if "usual_carry" in fields:
            fields = {"unit": self.player_of(player_id).unit, **fields}
        with self.database.writing() as connection:
            number = player_number(connection, player_id)
            people.change_club(connection, number, club_id, **fields)
        return self.clubs(player_id)

    def visits(self, player_id: str | None = None) -> tuple[VisitInfo, ...]:
        """Days at the range, newest first."""
        with self.database.reading() as connection:
            return visits.visits(connection, player_id)

    def change_visit(self, id: str, **fields: str | None) -> None:
        """Note the place, surface, ball, wind or a note of a visit."""
        with self.database.writing() as connection:
            visits.change_visit(connection, id, **fields)
