"""The phones that came in, each known by a random cookie, and the players' own PINs, as hashes."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, delete, insert, select, update

from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.opened import player_number
from drillrunner.store.stored import line

LAST = 400 * 24 * 3600
"""Seconds that a phone which never came back is kept (browsers keep no cookie longer)."""
SEEN_AGAIN = 60
"""Seconds after which it is written down again that a phone is here."""
LONGEST_ABOUT = 60
LONGEST_BAY = 20


class Phone(NamedTuple):
    """hash: SHA-256 of its cookie, in hex. player: an id. came, seen: seconds since 1970. about:
    what it said of itself. bay: the one that its link named."""

    hash: str
    player: str | None
    came: int
    seen: int
    about: str = ""
    bay: str | None = None

    @property
    def name(self) -> str:
        """What a person calls it by: enough of the hash to tell phones apart."""
        return self.hash[:6]


def hash_of(cookie: str) -> str:
    """What is kept of a cookie. It is random, so that a fast hash is enough."""
    return hashlib.sha256(cookie.encode()).hexdigest()


def bay_of(text: str) -> str | None:
    """The name of a bay as it is kept; `None` for none. Raises StoreError for what is no name."""
    return line(text, "bay", LONGEST_BAY) if text.strip() else None


_PHONES = select(
    t.phones.c.hash,
    t.player.c.id,
    t.phones.c.came,
    t.phones.c.seen,
    t.phones.c.about,
    t.phones.c.bay,
).select_from(t.phones.outerjoin(t.player))


class PhoneBook:
    """Phones and PINs of a database. Every method raises StoreError in one line."""

    def __init__(self, database: Database, clock: Callable[[], datetime]) -> None:
        self._database = database
        self._clock = clock

    def _now(self) -> int:
        return int(self._clock().timestamp())

    def new(self, about: str) -> tuple[str, Phone]:
        """A new phone: its cookie, which is told once, and what is kept of it."""
        cookie, now = secrets.token_urlsafe(32), self._now()
        phone = Phone(hash_of(cookie), None, now, now, about[:LONGEST_ABOUT])
        with self._database.writing() as connection:
            connection.execute(delete(t.phones).where(t.phones.c.seen <= now - LAST))
            connection.execute(
                insert(t.phones).values(
                    hash=phone.hash, came=now, seen=now, about=phone.about, signed_out=False
                )
            )
        return cookie, phone

    def find(self, hash: str) -> Phone | None:
        """The phone whose cookie has this hash, unless it was signed out."""
        found = self._phones(t.phones.c.hash == hash)
        return found[0] if found else None

    def all(self) -> Sequence[Phone]:
        """Every phone that may come in, the one seen last first."""
        return self._phones()

    def _phones(self, *ways: Any) -> Sequence[Phone]:
        query = _PHONES.where(t.phones.c.signed_out.is_(False), *ways)
        with self._database.reading() as connection:
            rows = connection.execute(query.order_by(t.phones.c.seen.desc(), t.phones.c.hash))
            return [Phone(*row) for row in rows]

    def belongs(self, hash: str, player: str | None) -> None:
        """A phone is this player's from now on."""
        with self._database.writing() as connection:
            number = None if player is None else player_number(connection, player)
            _change(connection, hash, player=number)

    def name_of(self, player: str) -> str | None:
        """The name of a player by id; `None` where there is none any more."""
        with self._database.reading() as connection:
            query = select(t.player.c.name).where(t.player.c.id == player)
            name = connection.execute(query).scalar()
        return None if name is None else str(name)

    def here(self, hash: str, bay: str | None = None) -> None:
        """A phone is here now; bay: where, if its link said so."""
        phone, now = self.find(hash), self._now()
        if phone is None:
            return
        moved = {} if bay is None or bay == phone.bay else {"bay": bay}
        if moved or now - phone.seen >= SEEN_AGAIN:
            with self._database.writing() as connection:
                _change(connection, hash, seen=now, **moved)

    def sign_out(self, hash: str) -> None:
        """A phone has to come in anew."""
        with self._database.writing() as connection:
            _change(connection, hash, signed_out=True)

    def pin_of(self, player: str) -> str | None:
        """The hash of a player's own PIN."""
        query = select(t.pin.c.kept).join(t.player).where(t.player.c.id == player)
        with self._database.reading() as connection:
            kept = connection.execute(query).scalar()
        return None if kept is None else str(kept)

    def set_pin(self, player: str, kept: str | None) -> None:
        """Keep the hash of a player's own PIN, or none."""
        with self._database.writing() as connection:
            number = player_number(connection, player)
            connection.execute(delete(t.pin).where(t.pin.c.player == number))
            if kept is not None:
                connection.execute(insert(t.pin).values(player=number, kept=kept))


def _change(connection: Connection, hash: str, **values: Any) -> None:
    connection.execute(update(t.phones).where(t.phones.c.hash == hash).values(values))
