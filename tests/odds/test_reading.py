"""What a pattern is good for, against counts and laws worked out by another way."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import Band, Pattern
from drillrunner.odds.prior import guess
from drillrunner.odds.reading import (
    USEFUL,
    Counted,
    counted,
    more_balls,
    shape_words,
    where_to_aim,
    wilson,
)
from tests.odds.test_pattern import rounded

WIDE = Band(0.5, 0.0, 1.0)


def drawn(kind: str, count: int, seed: int = 1) -> np.ndarray:
    rng = np.random.default_rng(seed)
    if kind == "two-way":
        return np.where(rng.random(count) < 0.5, -20.0, 20.0) + 7.0 * rng.standard_normal(count)
    if kind == "leaning":
        return 8.0 * (rng.gamma(2.0, 1.0, count) - 2.0)
    return 9.0 + 9.0 * rng.standard_normal(count)


def test_raw_counts_are_those_of_the_readings() -> None:
    readings = [0, 5, -5, 10, -10, 15, 20, -25, 40, 0]
    balls = rounded(readings, 5.0)
    for width in (20, 30, 40):
        expected = sum(abs(reading) <= width / 2 for reading in readings)
        assert counted(balls, width, WIDE) == Counted(expected, len(readings), False)


def test_a_verdict_counts_where_it_tells() -> None:
    inside, right = Observation(((-20.0, 20.0),), 20.0), Observation(((20.0, math.inf),), 20.0)
    balls = [inside] * 3 + [right] * 2
    assert counted(balls, 40, WIDE)[:2] == (3, 5)
    assert counted(balls, 30, WIDE)[:2] == (0, 2)
    assert counted(balls, 60, WIDE)[:2] == (3, 3)


def test_a_pattern_that_the_counts_deny_is_flagged() -> None:
    balls = rounded([0.0] * 36 + [30.0] * 4, 5.0)
    assert not counted(balls, 40, Band(0.9, 0.85, 0.95)).off
    assert counted(balls, 40, Band(0.5, 0.45, 0.55)).off


# Wilson 1927, values from the published formula.
@pytest.mark.parametrize(
    ("inside", "of", "low", "high"), [(7, 10, 0.3968, 0.8922), (50, 100, 0.4038, 0.5962)]
)
def test_wilson(inside: int, of: int, low: float, high: float) -> None:
    assert wilson(inside, of) == pytest.approx((low, high), abs=1e-4)


def test_one_who_misses_right_is_told_to_aim_left() -> None:
    """Normal about 9 right with a spread of 9. What it holds is counted from the shots moved."""
    shots = drawn("right", 300)
    found = where_to_aim(Pattern.of(rounded(shots, 1.0), guess(200), None), 20)
    assert found is not None
    assert found.off == pytest.approx(-9, abs=2)
    assert found.holds == pytest.approx(np.mean(np.abs(shots + found.off) <= 10), abs=0.04)
    assert found.straight == pytest.approx(np.mean(np.abs(shots) <= 10), abs=0.04)


def test_one_who_misses_evenly_or_is_not_known_is_told_nothing() -> None:
    assert where_to_aim(Pattern.of([], guess(200)), 40) is None
    even = 9.0 * np.random.default_rng(2).standard_normal(200)
    assert where_to_aim(Pattern.of(rounded(even, 1.0), guess(200), None), 40) is None


def test_one_with_two_misses_is_told_to_give_up_one_of_them() -> None:
    """Aiming 20 off holds nearly a half of 20 yd; dead on holds a tenth."""
    found = where_to_aim(Pattern.of(rounded(drawn("two-way", 300), 1.0), guess(200), None), 20)
    assert found is not None
    assert abs(found.off) == pytest.approx(20, abs=4)
    assert found.holds > 3 * found.straight


@pytest.mark.parametrize("half_life", [None, 200.0])
def test_so_many_more_balls_make_it_useful(half_life: float | None) -> None:
    shots = rounded(drawn("right", 400, seed=4), 1.0)
    early = Pattern.of(shots[:10], guess(200), half_life)
    more = more_balls(early, 20)
    assert more is not None
    assert 10 < more < 100
    later = Pattern.of(shots[: 10 + more], guess(200), half_life).inside(20)
    assert (later.high - later.low) / 2 == pytest.approx(USEFUL, rel=0.35)
    assert more_balls(Pattern.of(shots, guess(200), half_life), 20) == 0


def test_who_forgets_too_fast_never_gets_there() -> None:
    shots = rounded(drawn("right", 400, seed=4), 1.0)
    assert more_balls(Pattern.of(shots, guess(200), 8.0), 20) is None


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("two-way", "two misses: left and right, little between"),
        ("leaning", "the bad ones go right"),
        ("right", None),
    ],
)
def test_the_shape_in_words(kind: str, said: str | None) -> None:
    """The leaning one is a gamma law, none of the pattern's own."""
    assert (
        shape_words(Pattern.of(rounded(drawn(kind, 400), 5.0), guess(200), None), "lateral") == said
    )
    assert shape_words(Pattern.of([], guess(200)), "lateral") is None
