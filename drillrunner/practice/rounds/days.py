"""On which day a round can have been played."""

from __future__ import annotations

from datetime import date, timedelta

AHEAD = timedelta(days=1)
"""How far the day may run ahead of the computer's: it is tomorrow already elsewhere."""


def not_yet(day: date, today: date) -> str | None:
    """Why no round can have been played on that day; `None` if one can."""
    return f"expected a day that has come, not {day}" if day > today + AHEAD else None
