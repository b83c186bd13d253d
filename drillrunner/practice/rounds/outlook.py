"""How likely a goal index is within the next rounds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.practice.rounds.index import (
    EXCEPTIONAL,
    HARD,
    LATEST,
    MOST,
    SOFT,
    TABLE,
    YEAR,
    Record,
)

if TYPE_CHECKING:
    from drillrunner.odds.goal import Rules, Season

APART = 7
"""Days between rounds that are not played yet. Our choice, no source."""


def chances(
    record: Record, goal: Decimal, rounds: int, today: date, seed: int = 0, rolls: int = 4000
) -> tuple[float, ...]:
    """The chance to have been at the goal within 1, 2 ... `rounds` rounds, from seeded rolling.

    The next is played today and each after it `APART` days later. Raises ValueError without any
    score.
    """
    from drillrunner.odds.goal import form, within

    index = None if record.index is None else float(record.index)
    mean, spread = form([float(step.score.differential) for step in record.latest], index)
    days = [max(today, record.steps[-1].score.day) + timedelta(APART * at) for at in range(rounds)]
    return within(season(record, days), rules(record), int(goal * 10), mean, spread, seed, rolls)


def season(record: Record, days: Sequence[date]) -> Season:
    """Where the record stands, and what is known of the year before each coming day."""
    from drillrunner.odds.goal import Season

    known = [
        (step.score.day, step.index)
        for number, step in enumerate(record.steps, 1)
        if step.index is not None and number >= record.options.low_from
    ]
    last = record.steps[-1] if record.steps else None
    return Season(
        latest=tuple(step.tenths for step in record.latest),
        count=len(record.steps),
        index=None if last is None else last.index,
        lows=tuple(
            min((index for at, index in known if at >= day - YEAR), default=None) for day in days
        ),
        years=tuple(
            next(at for at, earlier in enumerate(days) if earlier >= day - YEAR) for day in days
        ),
    )


def rules(record: Record) -> Rules:
    """The rules of the index as rolling takes them."""
    from drillrunner.odds.goal import Rules

    early = {count: (1, int(added * 10)) for count, added in record.options.early.items()}
    return Rules(
        use={**early, **TABLE},
        latest=LATEST,
        soft=SOFT,
        hard=HARD,
        most=MOST,
        exceptional=EXCEPTIONAL,
        rounded=record.options.exceptional == "rounded",
        low_from=record.options.low_from,
    )
