"""What may be typed for a player's fields, and what it means. Reasons are one line."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import Literal

from drillrunner.store.stored import LONGEST_NAME, LONGEST_THOUGHT

INDEX = re.compile(r"\+?[0-9]{1,2}([.,][0-9])?")
HIGHEST_INDEX = Decimal(54)
"""The highest handicap index (World Handicap System, Rules of Handicapping, rule 5.3)."""
LONGEST_PACE = 600
COLUMN = re.compile(r"(m|men|w|women)$")
PACE = re.compile(r"[0-9]{1,3}")
DAY_AND_MONTH = re.compile(r"([0-9]{1,2})[.]([0-9]{1,2})[.]?")
SCORE = re.compile(r"[0-9]{1,5}([.,][0-9]{1,2})?")
CARRY = re.compile(r"[0-9]{1,3}([.,][0-9]{1,2})?")


def bad_name(text: str) -> str | None:
    """Why a text is no name."""
    if not text.strip():
        return "expected a name"
    if len(text.strip()) > LONGEST_NAME:
        return f"{len(text.strip())} characters: expected a name of at most {LONGEST_NAME}"
    return None if text.isprintable() else "expected a name that can be printed"


def bad_index(text: str) -> str | None:
    """Why a text is no handicap index; an empty one is none, which is fine."""
    typed = text.strip()
    if typed and (INDEX.fullmatch(typed) is None or (index_of(typed) or 0) > HIGHEST_INDEX):
        return f"{typed}: expected an index up to 54, as 18.4 or +1.2, or nothing"
    return None


def index_of(text: str) -> Decimal | None:
    """The index that a text means; a plus index is below nought. `None` for an empty text."""
    typed = text.strip().replace(",", ".")
    if not typed:
        return None
    return -Decimal(typed[1:]) if typed.startswith("+") else Decimal(typed)


def day_typed(text: str, today: date) -> date:
    """The day that a text means: written out, or a day and a month, which then come next.

    Raises ValueError.
    """
    typed = text.strip()
    found = DAY_AND_MONTH.fullmatch(typed)
    if found is None:
        return date.fromisoformat(typed)
    day, month = int(found[1]), int(found[2])
    this = date(today.year, month, day)
    return this if this >= today else date(today.year + 1, month, day)


def bad_day(text: str, today: date) -> str | None:
    """Why a text is no day; an empty one is none, which is fine."""
    if not text.strip():
        return None
    try:
        day_typed(text, today)
    except ValueError:
        return f"{text.strip()}: expected a day, as 1.9. for 1 September or 2026-09-01, or nothing"
    return None


def bad_days(typed: str) -> str | None:
    """Why a text is no pair of days, or `None`."""
    try:
        first, last = days_of(typed)
    except ValueError:
        return f"{typed}: expected one day or two, as 2025-04-01 or 2025-04-01 2025-04-30"
    return "the first day comes after the last" if first and last and first > last else None


def days_of(typed: str) -> tuple[date | None, date | None]:
    """The first and the last day in a text, each of which may be missing. Raises ValueError."""
    parts = typed.split()
    if len(parts) > 2:
        raise ValueError(typed)
    first, last = (*map(date.fromisoformat, parts), None, None)[:2]
    return first, last


def bad_about(text: str) -> str | None:
    """Why a text is no index and card; either may be left out."""
    words = text.split()
    columns = [word for word in words if COLUMN.match(word.casefold())]
    indices = [word for word in words if word not in columns]
    if len(columns) > 1 or len(indices) > 1:
        return f"{text.strip()}: expected an index and men or women, as 18.4 men, or nothing"
    return bad_index(indices[0]) if indices else None


def about_of(text: str) -> tuple[Decimal | None, Literal["men", "women"] | None]:
    """The index and the card that a text means; `None` for what is left out."""
    index: Decimal | None = None
    column: Literal["men", "women"] | None = None
    for word in text.split():
        if COLUMN.match(word.casefold()):
            column = "men" if word.casefold().startswith("m") else "women"
        else:
            index = index_of(word)
    return index, column


def bad_carry(text: str) -> str | None:
    """Why a text is no carry; an empty one is none, which is fine."""
    typed = text.strip()
    if typed and (CARRY.fullmatch(typed) is None or not 0 < (carry_of(typed) or 0) <= 400):
        return f"{typed}: expected a carry up to 400, or nothing"
    return None


def carry_of(text: str) -> Decimal | None:
    """The carry that a text means; `None` for an empty one."""
    typed = text.strip().replace(",", ".")
    return Decimal(typed) if typed else None


def bad_score(text: str) -> str | None:
    """Why a text is no score to beat."""
    if SCORE.fullmatch(text.strip()):
        return None
    return f"{text.strip() or 'nothing'}: expected a score, as 9 or 112.5"


def score_of(text: str) -> Decimal:
    """The score that a text means."""
    return Decimal(text.strip().replace(",", "."))


def bad_thought(text: str) -> str | None:
    """Why a text can't be what one works on; an empty one is nothing, which is fine."""
    typed = text.strip()
    if len(typed) > LONGEST_THOUGHT:
        return f"{len(typed)} characters: expected at most {LONGEST_THOUGHT}"
    return None if typed.isprintable() else "expected a line that can be printed"


def bad_pace(text: str) -> str | None:
    """Why a text is no number of seconds; an empty one is none, which is fine."""
    typed = text.strip()
    if typed and not (PACE.fullmatch(typed) and int(typed) <= LONGEST_PACE):
        return f"{typed}: expected whole seconds up to {LONGEST_PACE}, 0 for no word, or nothing"
    return None


def pace_of(text: str) -> int | None:
    """The seconds that a text means; `None` for an empty one."""
    return int(text) if text.strip() else None
