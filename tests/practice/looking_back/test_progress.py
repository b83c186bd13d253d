"""What a history says, without a screen: bests, typical scores, weeks, luck and its words."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal
from itertools import accumulate, permutations
from statistics import median_high, median_low

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.app.fields import bad_days, days_of
from drillrunner.app.looking_back import headline, verdict
from drillrunner.app.widgets.charts import steps
from drillrunner.odds.luck import best_by_luck
from drillrunner.practice.looking_back.progress import balls_of_days, trend_line, typical, weeks
from drillrunner.store.shapes import DayOfRuns

SCORES = st.lists(st.one_of(st.none(), st.integers(0, 40).map(Decimal)), min_size=1, max_size=30)


@given(st.lists(st.integers(0, 99), min_size=1, max_size=25))
def test_the_typical_score_is_the_median(scores: list[int]) -> None:
    """The standard library's median, of the two middle ones the better."""
    values = [Decimal(score) for score in scores]
    assert typical(values, "higher") == median_high(scores)
    assert typical(values, "lower") == median_low(scores)


def test_a_run_without_a_score_is_behind_every_other() -> None:
    assert typical([None, Decimal(7), Decimal(4)], "lower") == 7
    assert typical([None, None, Decimal(4)], "lower") is None
    assert typical([], "higher") is None


@pytest.mark.parametrize("better", ["higher", "lower"])
@pytest.mark.parametrize(
    "scores",
    [
        [3, 1, 4, 1, 5],
        [3, 1, 4, 6],
        [1, 2, 3, 4, 5, 6, 7, 8],
        [2, 2, 2],
        [9],
        [None, 3, None, 6, 2],
        [None, None],
    ],
)
def test_the_best_by_luck_is_the_middle_of_all_orders(
    scores: list[int | None], better: str
) -> None:
    """Every order written out: half of them have that best, or a better one, by run k."""
    sign = 1 if better == "higher" else -1
    worst = float("-inf")
    turned = [worst if score is None else float(sign * score) for score in scores]
    paths = [list(accumulate(order, max)) for order in permutations(turned)]
    values = [None if score is None else Decimal(score) for score in scores]
    found = best_by_luck(values, better)  # type: ignore[arg-type]
    for k, best in enumerate(found):
        expected = median_low([path[k] for path in paths])
        assert (worst if best is None else float(sign * best)) == expected


@given(SCORES)
def test_the_best_by_luck_never_falls_and_ends_at_the_best(scores: list[Decimal | None]) -> None:
    found = best_by_luck(scores, "higher")
    known = [score for score in scores if score is not None]
    assert len(found) == len(scores)
    assert found[-1] == max(known, default=None)
    told = [best for best in found if best is not None]
    assert told == sorted(told)


def test_the_headline_claims_no_more_than_the_scores_bear() -> None:
    rng = random.Random(3)
    rising = [Decimal(run + rng.randrange(4)) for run in range(24)]
    assert headline(None) == "…"
    assert headline(verdict(rising[:4], "higher")).startswith("● Too early to tell: 4 of the 10")
    assert headline(verdict(rising, "higher")).startswith("▲ Getting better: luck alone does that")
    assert headline(verdict(rising, "lower")).startswith("▼ Getting worse: luck alone does that")
    flat = [Decimal(score) for score in (5, 7) * 5]
    assert headline(verdict(flat, "higher")).startswith("● Too early to tell: luck")
    steady = [Decimal(100 + rng.randrange(20)) for _ in range(40)]
    assert headline(verdict(steady, "lower")).startswith("■ No change of more than ")
    days = [date(2024, 5, run // 4 + 1) for run in range(24)]
    assert headline(verdict(rising, "higher", days)).startswith("● Too early to tell: 6 of the 10")


def test_the_trend_line_goes_through_the_middle() -> None:
    line = trend_line([Decimal(2), None, Decimal(6)], 2.0)
    assert line == ((1, 2.0), (3, 6.0))
    assert trend_line([None], 1.0) == ()


def test_the_best_is_a_step_line() -> None:
    bests = [None, Decimal(3), Decimal(3), Decimal(5)]
    assert steps(bests) == ((2.0, 3.0), (4.0, 3.0), (4.0, 5.0))
    assert steps([*bests, Decimal(5), Decimal(5)])[-1] == (6.0, 5.0)
    assert steps([None]) == ()


def test_weeks_run_from_monday_and_leave_none_out() -> None:
    by_day = {date(2025, 4, 30): 40, date(2025, 5, 18): 12, date(2025, 5, 12): 30}
    found = weeks(by_day, date(2025, 5, 28))
    assert [str(week.monday) for week in found] == [
        "2025-05-26",
        "2025-05-19",
        "2025-05-12",
        "2025-05-05",
        "2025-04-28",
    ]
    assert [week.total for week in found] == [0, 0, 42, 0, 40]
    assert found[2].balls == (30, 0, 0, 0, 0, 0, 12)
    assert found[2].days == 2
    assert weeks({}, date(2025, 5, 28)) == ()


@given(
    st.dictionaries(st.dates(date(2020, 1, 1), date(2025, 1, 1)), st.integers(1, 300), max_size=20)
)
def test_every_ball_is_in_one_week(by_day: dict[date, int]) -> None:
    found = weeks(by_day, date(2024, 6, 1))
    assert sum(week.total for week in found) == sum(by_day.values())
    assert all(week.monday.weekday() == 0 for week in found)


def test_balls_of_a_session_outside_runs_count_too() -> None:
    days = [DayOfRuns("2025-05-01", 20, 2)]
    events = [
        ("2025-05-01", "ball", {}),
        ("2025-05-01", "ball", {"count": 1}),
        ("2025-05-01", "ball", {"count": -1}),
        ("2025-05-02", "carry", {"carry": "64"}),
        ("2025-05-02", "carry", {"carry": "61"}),
        ("2025-05-02", "correct", {"shot": 1, "carry": "65"}),
        ("2025-05-02", "correct", {"shot": 2, "carry": None}),
        ("2025-05-03", "ball", {"count": 1}),
        ("2025-05-03", "ball", {"count": -1}),
    ]
    assert balls_of_days(days, events) == {date(2025, 5, 1): 21, date(2025, 5, 2): 1}


@pytest.mark.parametrize(
    ("typed", "first", "last"),
    [
        ("", None, None),
        ("2025-04-01", date(2025, 4, 1), None),
        ("2025-04-01  2025-04-30", date(2025, 4, 1), date(2025, 4, 30)),
    ],
)
def test_days_as_typed(typed: str, first: date | None, last: date | None) -> None:
    assert bad_days(typed) is None
    assert days_of(typed) == (first, last)


@pytest.mark.parametrize("typed", ["x", "2025-13-01", "1 2 3", "2025-05-01 2025-04-01"])
def test_days_that_are_none(typed: str) -> None:
    assert bad_days(typed) is not None
