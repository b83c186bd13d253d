"""How values lie in the database, and back: hundredths, moments and text.

Kept apart from the tables, so that the plain reader of the first screen shares it.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from decimal import Decimal
from functools import lru_cache

from drillrunner.store.errors import StoreError

LARGEST = 2**53
"""Beyond this many hundredths a number is refused: it is no distance and no score."""


def hundredths(value: Decimal | int | None) -> int | None:
    """A number as whole hundredths. Raises ValueError if it has more decimals, or is too large."""
    if value is None:
        return None
    scaled = Decimal(value) * 100
    if not scaled.is_finite() or abs(scaled) > LARGEST or scaled != scaled.to_integral_value():
        raise ValueError(f"{value} can't be kept: expected a number with at most two decimals")
    return int(scaled)


@lru_cache(maxsize=4096)
def exact(stored: int) -> Decimal:
    """The number that `hundredths` stored, without needless zeros."""
    for places in (2, 1):
        if stored % 10**places == 0:
            return Decimal(stored // 10**places).scaleb(places - 2)
    return Decimal(stored).scaleb(-2)


def decimal(stored: int | None) -> Decimal | None:
    """As `exact`, for a number that may be missing."""
    return None if stored is None else exact(stored)


def stamp(moment: datetime) -> tuple[str, int]:
    """A moment as UTC text that sorts, and the local offset in minutes.

    Raises ValueError for a moment without a time zone.
    """
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("expected a time with its zone")
    utc = moment.replace(tzinfo=None) - offset
    return utc.isoformat(timespec="microseconds"), round(offset.total_seconds() / 60)


@lru_cache(maxsize=64)
def _zone(minutes: int) -> timezone:
    return timezone(timedelta(minutes=minutes))


def moment(at: str, offset: int) -> datetime:
    """The moment that `stamp` stored, in the local time it was stored with."""
    return datetime.fromisoformat(f"{at}+00:00").astimezone(_zone(offset))


LONGEST_NAME = 40
LONGEST_THOUGHT = 200
"""Characters of a player's name."""


def line(text: str, what: str, longest: int = 60) -> str:
    """A short text as it is kept: trimmed, on one line. Raises StoreError if it can't be."""
    kept = " ".join(text.split())
    if not kept or not kept.isprintable() or len(kept) > longest:
        raise StoreError(f"{what} {text!r}: expected 1 to {longest} characters that can be printed")
    return kept


def prose(text: str, what: str) -> str:
    """A longer text as it is kept. Raises StoreError for characters that no file can hold."""
    try:
        text.encode()
    except UnicodeEncodeError:
        raise StoreError(f"{what}: expected text, and this has half a character in it") from None
    if "\0" in text:
        raise StoreError(f"{what}: expected text, and this has a NUL in it")
    return text


def same_name(name: str) -> str:
    """What makes two names the same: case and outer or repeated spaces do not."""
    return " ".join(name.split()).casefold()
