"""The phones that came in: each known by a random cookie, of which only the hash is kept."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import stat
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Protocol

from drillrunner.catalogue.files import write_whole

LAST = 400 * 24 * 3600
"""Seconds that a phone which never came back is kept (browsers keep no cookie longer)."""
SEEN_AGAIN = 60
"""Seconds after which it is written down again that a phone is here."""


class Untrusted(Exception):
    """The list of phones can't be used; one line says why."""


@dataclass(frozen=True, slots=True)
class Phone:
    """hash: SHA-256 of its cookie, in hex. player: an id. came, seen: seconds since 1970. about:
    what it said of itself. signed_out: it has to come in anew."""

    hash: str
    player: str | None
    came: int
    seen: int
    about: str = ""
    signed_out: bool = False

    @property
    def name(self) -> str:
        """What a person calls it by: enough of the hash to tell phones apart."""
        return self.hash[:6]


def hash_of(cookie: str) -> str:
    """What is kept of a cookie. It is random, so that a fast hash is enough."""
    return hashlib.sha256(cookie.encode()).hexdigest()


class Phones(Protocol):
    """Where phones and their players' PINs are kept."""

    def new(self, about: str) -> tuple[str, Phone]:
        """A new phone: its cookie, which is told once, and what is kept of it."""

    def find(self, hash: str) -> Phone | None:
        """The phone whose cookie has this hash, unless it was signed out."""

    def all(self) -> Sequence[Phone]:
        """Every phone that may come in, the one seen last first."""

    def belongs(self, hash: str, player: str | None) -> None:
        """A phone is this player's from now on."""

    def here(self, hash: str) -> None:
        """A phone is here now."""

    def sign_out(self, hash: str) -> None:
        """A phone has to come in anew."""

    def pin_of(self, player: str) -> str | None:
        """The hash of a player's own PIN."""

    def set_pin(self, player: str, kept: str | None) -> None:
        """Keep the hash of a player's own PIN, or none."""


class PhonesFile:
    """Phones in a file of their owner's alone. clock: seconds since 1970."""

    def __init__(self, path: Path, clock: Callable[[], float]) -> None:
        self._path = path
        self._clock = clock

    def new(self, about: str) -> tuple[str, Phone]:
        cookie = secrets.token_urlsafe(32)
        now = int(self._clock())
        phone = Phone(hash_of(cookie), None, now, now, about[:60])
        phones, pins = self._read()
        self._write({**phones, phone.hash: phone}, pins)
        return cookie, phone

    def find(self, hash: str) -> Phone | None:
        phone = self._read()[0].get(hash)
        return None if phone is None or phone.signed_out else phone

    def all(self) -> Sequence[Phone]:
        phones = [phone for phone in self._read()[0].values() if not phone.signed_out]
        return sorted(phones, key=lambda phone: -phone.seen)

    def belongs(self, hash: str, player: str | None) -> None:
        self._change(hash, player=player)

    def here(self, hash: str) -> None:
        phone, now = self.find(hash), int(self._clock())
        if phone is not None and now - phone.seen >= SEEN_AGAIN:
            self._change(hash, seen=now)

    def sign_out(self, hash: str) -> None:
        self._change(hash, signed_out=True)

    def pin_of(self, player: str) -> str | None:
        return self._read()[1].get(player)

    def set_pin(self, player: str, kept: str | None) -> None:
        phones, pins = self._read()
        pins = {key: value for key, value in pins.items() if key != player}
        self._write(phones, pins if kept is None else {**pins, player: kept})

    def _change(self, hash: str, **fields: object) -> None:
        phones, pins = self._read()
        if hash in phones:
            self._write({**phones, hash: replace(phones[hash], **fields)}, pins)  # type: ignore[arg-type]

    def _read(self) -> tuple[dict[str, Phone], dict[str, str]]:
        try:
            about = os.stat(self._path)
            if os.name == "posix" and stat.S_IMODE(about.st_mode) & 0o077:
                raise Untrusted(f"{self._path} is open to others: expected mode 600")
            kept = json.loads(self._path.read_text("utf-8"))
            phones = [Phone(**phone) for phone in kept["phones"]]
            return {phone.hash: phone for phone in phones}, dict(kept["pins"])
        except FileNotFoundError:
            return {}, {}
        except (ValueError, KeyError, TypeError) as error:
            why = f"{self._path} is damaged: remove it, and every phone comes in anew"
            raise Untrusted(why) from error

    def _write(self, phones: dict[str, Phone], pins: dict[str, str]) -> None:
        oldest = self._clock() - LAST
        kept = [asdict(phone) for phone in phones.values() if phone.seen > oldest]
        self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        text = json.dumps({"phones": kept, "pins": pins}, indent=1)
        write_whole(self._path, [text + "\n"], over=True)
