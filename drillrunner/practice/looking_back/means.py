"""Plain numbers beside the clever ones: the latest runs against the first, and the year."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from drillrunner.practice.looking_back.progress import Point
from drillrunner.rules.units import numbered, text

FIVE = 5
TENTH = Decimal("0.1")


def mean(points: Iterable[Point]) -> Decimal | None:
    """The mean of the scores there are, to a tenth; `None` without any."""
    scores = [point.run.score for point in points if point.run.score is not None]
    if not scores:
        return None
    return (sum(scores, Decimal(0)) / len(scores)).quantize(TENTH, ROUND_HALF_UP)


def means_line(points: Sequence[Point], today: date) -> str:
    """The mean of the last five runs with a score against the first five, and that of this year.

    points: of one drill as set, oldest first. The five are told once they do not overlap; empty
    where there are fewer than two scores.
    """
    scored = [point for point in points if point.run.score is not None]
    parts = []
    if len(scored) >= 2 * FIVE:
        parts.append(
            f"mean of the last five {_said(mean(scored[-FIVE:]))}, "
            f"of the first five {_said(mean(scored[:FIVE]))}"
        )
    year = [point for point in scored if point.run.started.year == today.year]
    if len(scored) > 1 and year:
        runs = numbered(len(year), "run")
        parts.append(f"{'' if parts else 'mean '}this year {_said(mean(year))} in {runs}")
    without = len(points) - len(scored)
    if parts and without:
        parts.append(f"{without} without a score left out")
    return "; ".join(parts)


def _said(value: Decimal | None) -> str:
    return "" if value is None else text(value)
