"""What is shown of a handicap index: where it stands, what it rests on, and what can become of it.

In `services` beside those who ask, because rolling the coming rounds needs the odds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from drillrunner.catalogue.courses import Course, Tee
from drillrunner.odds.words import uncertain
from drillrunner.practice.rounds.index import ListedScore, Record, needed_differential, needed_gross

EIGHTEEN = 18


@dataclass(frozen=True)
class IndexPage:
    """Everything of one look. needed: the highest differential that reaches the goal with the next
    round, `None` if none can. chance: to have been there within 1, 2 ... rounds."""

    index: Decimal | None
    low: Decimal | None
    scores: tuple[ListedScore, ...]
    needed: Decimal | None = None
    chance: tuple[float, ...] = ()

    def within(self, rounds: int) -> str:
        """The chance within so many rounds in words: rolled, it makes nothing certain. What the
        next round alone can't do is."""
        sure_not = rounds == 1 and self.needed is None
        return f"{'0' if sure_not else uncertain(self.chance[rounds - 1])} %"


def index_page(record: Record, goal: Decimal | None, rounds: int, today: date) -> IndexPage:
    """The page; without a goal nothing is needed and there is no chance to tell."""
    page = IndexPage(record.index, record.low, record.scores)
    if goal is None or not record.steps:
        return page
    from drillrunner.practice.rounds.outlook import chances

    return IndexPage(
        page.index,
        page.low,
        page.scores,
        needed_differential(record, goal, next_day(record, today)),
        chances(record, goal, rounds, today),
    )


def highest_gross(
    record: Record, goal: Decimal, course: Course, tee: Tee, today: date
) -> int | None:
    """The highest adjusted gross from a tee that reaches the goal; `None` if none can, and on nine
    holes, which make a score with nine others."""
    if len(course.holes) != EIGHTEEN or not record.steps:
        return None
    return needed_gross(record, goal, next_day(record, today), tee.rating, tee.slope)


def next_day(record: Record, today: date) -> date:
    """The next round is played today, and not before the last one."""
    return max([today, *(step.score.day for step in record.steps[-1:])])
