"""Luck or progress, against published numbers and SciPy's tests."""

from __future__ import annotations

import random
from decimal import Decimal

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.luck import FEWEST, TOO_EARLY, judged, often, records


# Renyi 1962; Glick 1978, Am. Math. Monthly 85:2-26: an unchanging player sets H_n records in n
# scores that never tie, the first included, with variance H_n - sum 1/k^2.
@pytest.mark.parametrize(
    ("runs", "expected"), [(5, 2.283333), (10, 2.928968), (20, 3.597740), (50, 4.499205)]
)
def test_records_by_luck_are_the_harmonic_numbers(runs: int, expected: float) -> None:
    scores = [Decimal(k) for k in range(runs)]
    random.Random(runs).shuffle(scores)
    found = judged(scores, "higher")
    variance = expected - sum(1 / k**2 for k in range(1, runs + 1))
    assert found.by_luck.mean == pytest.approx(expected, abs=4.5 * (variance / 4000) ** 0.5)
    assert found.by_luck.low <= expected <= found.by_luck.high


def test_ties_make_strict_records_rarer() -> None:
    scores = [random.Random(3).choice((4, 5, 6)) for _ in range(20)]
    found = judged(scores, "higher")
    assert found.by_luck.mean < 2.2 < 3.597740
    assert judged([7] * 12, "higher").by_luck.mean == 1.0


def test_records_are_strict_and_no_score_sets_none() -> None:
    assert judged([3, 3, 5, 4, 6], "higher").records == 3
    assert judged([9, 9, 8, 10, None, 7], "lower").records == 3
    assert judged([None, None, 7, 9], "lower").records == 1
    assert judged([None] * 4, "lower").records == 0
    assert records(np.array([[1.0, 2.0, 2.0, 3.0]])).tolist() == [3.0]


@pytest.mark.parametrize("seed", range(6))
def test_the_trend_is_least_squares_with_its_interval(seed: int) -> None:
    """Against SciPy's regression and the t interval for normal errors."""
    rng = np.random.default_rng(seed)
    scores = 20 + 0.3 * np.arange(30) + rng.normal(0, 4, 30)
    found = judged([Decimal(str(round(s, 2))) for s in scores.tolist()], "lower").trend
    expected = stats.linregress(np.arange(30), np.round(scores, 2))
    assert found is not None
    assert found.slope == pytest.approx(expected.slope, abs=1e-9)
    reach = stats.t(28).ppf(0.9) * expected.stderr
    assert found.high - found.slope == pytest.approx(reach, rel=0.12)
    assert found.slope - found.low == pytest.approx(reach, rel=0.12)


def test_the_line_in_plain_words() -> None:
    assert judged([], "higher").line == TOO_EARLY
    assert judged([5], "higher").line == TOO_EARLY
    assert judged([1, 2, 3, 4, 5, 6], "higher").line == TOO_EARLY
    rising = list(range(20))
    better, worse = "your later runs are better", "your later runs are worse"
    assert judged(rising, "higher").line.startswith(better)
    assert judged(rising, "lower").line.startswith(worse)
    assert judged(rising[::-1], "lower").line.startswith(better)
    assert "less than once in 1000" in judged(rising, "higher").line
    never_to_always = [None] * 12 + [9] * 12
    assert judged(never_to_always, "lower").line.startswith(better)


def test_the_same_history_gives_the_same_words() -> None:
    scores = [random.Random(5).randrange(30) for _ in range(40)]
    assert judged(scores, "higher") == judged(scores, "higher")


def test_a_long_history_takes_no_more_memory() -> None:
    scores = [random.Random(6).randrange(200) for _ in range(20_000)]
    assert judged(scores, "higher").runs == 20_000


def test_how_often_luck_does_it_reads_as_a_person_says_it() -> None:
    said = [often(chance) for chance in (0.0004, 0.02, 0.34, 0.5, 0.9, 1.0)]
    assert said == [
        "less than once in 1000",
        "at most once in 50",
        "at most once in 2",
        "at most once in 2",
        "as often as not",
        "as often as not",
    ]


def test_a_few_scores_draw_no_trend() -> None:
    """Three equal scores would seem to prove that nothing ever changes."""
    assert judged([7, 7, 7], "higher").trend is None
    assert judged([1, None, 2, 3, None, 4], "lower").trend is None


def test_the_interval_of_a_short_trend_holds_as_stated() -> None:
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(300):
        scores = 20 + 0.5 * np.arange(FEWEST) + rng.normal(0.0, 3.0, FEWEST)
        found = judged([Decimal(str(round(s, 2))) for s in scores.tolist()], "higher").trend
        assert found is not None
        held += found.low <= 0.5 <= found.high
    assert 0.70 < held / 300 < 0.88
