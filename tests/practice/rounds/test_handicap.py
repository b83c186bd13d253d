"""Differentials, course handicaps and hole limits, against worked examples and plain in_the_record.

Sources: Rules of Handicapping (The R&A and USGA), 2020 and 2024, by rule.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.practice.rounds.handicap import (
    BadScore,
    Options,
    adjusted_gross,
    course_handicap,
    differential,
    hole_limits,
    nearest_whole,
    nine_hole_course_handicap,
    nine_hole_differential,
    playing_handicap,
    strokes_received,
    tenth,
)

D = Decimal
ORDER = (7, 15, 3, 11, 1, 17, 5, 13, 9, 8, 16, 4, 12, 2, 18, 6, 14, 10)
PARS = (4, 3, 5, 4, 4, 3, 4, 5, 4, 4, 3, 5, 4, 4, 3, 4, 5, 4)


@pytest.mark.parametrize(
    ("value", "rounded"),
    [
        # A half goes upward, toward plus infinity; a binary float would make 22.0 of the third.
        ("-1.55", "-1.5"),
        ("-1.56", "-1.6"),
        ("22.05", "22.1"),
        ("22.0499", "22.0"),
        ("0", "0.0"),
        ("-0.04", "0.0"),
    ],
)
def test_a_half_goes_upward(value: str, rounded: str) -> None:
    assert tenth(D(value)) == D(rounded)
    assert str(tenth(D(value))) == rounded


def test_no_binary_float_comes_between() -> None:
    assert tenth((D("20.9") + D("23.2")) / 2) == D("22.1")
    assert tenth(D("6.5") + 3 + (D("11.6") - D("6.5") - 3) / 2) == D("10.6")


@pytest.mark.parametrize(
    ("gross", "rating", "slope", "rounded"),
    [
        # Rule 5.1a: (113 / slope) x (gross - rating - PCC). The third is 22.148: 22.2 is wrong.
        (94, "73.0", 125, "19.0"),
        (92, "71.7", 134, "17.1"),
        (96, "71.5", 125, "22.1"),
    ],
)
def test_differentials(gross: int, rating: str, slope: int, rounded: str) -> None:
    assert tenth(differential(gross, D(rating), slope)) == D(rounded)


def test_a_differential_is_not_rounded_before_it_must_be() -> None:
    assert differential(94, D("73.0"), 125) == Fraction(113 * 21, 125) == Fraction("18.984")
    assert differential(94, D("73.0"), 125, 1) == Fraction(113 * 20, 125)
    assert differential(70, D("73.0"), 113, -1) == -2


def test_two_nines_are_rounded_once() -> None:
    """Rule 5.1b of 2020: half the PCC each, and only the sum is rounded."""
    first = nine_hole_differential(47, D("36.1"), 125, 1)
    second = nine_hole_differential(45, D("35.8"), 121, 1)
    assert first == Fraction(113, 125) * Fraction("10.4")
    assert tenth(first + second) == D("17.5")
    assert tenth(first) + tenth(second) == D("17.5")
    third = nine_hole_differential(47, D("36.05"), 113)
    assert tenth(third + third) == D("21.9")
    assert tenth(third) * 2 == D("22.0"), "rounded one by one they would be a tenth more"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ((17, 72, 113, 0), "gross 17: expected at least 18"),
        ((80, 0, 113, 0), "course rating 0: expected more than 0"),
        ((80, 72, 54, 0), "slope 54: expected 55 to 155"),
        ((80, 72, 156, 0), "slope 156: expected 55 to 155"),
        ((80, 72, 113, -2), "playing conditions -2: expected -1 to"),
        ((80, 72, 113, 4), "playing conditions 4: expected -1 to"),
    ],
)
def test_what_cannot_be_is_one_line(wrong: tuple[int, int, int, int], said: str) -> None:
    with pytest.raises(BadScore, match=said):
        differential(*wrong)


def test_course_and_playing_handicap() -> None:
    """Rules 6.1a and 6.2a: unrounded between the two; the allowance is the competition's."""
    strokes = course_handicap(D("14.8"), D("71.5"), 125, 72)
    assert strokes == Fraction("14.8") * 125 / 113 - Fraction("0.5")
    assert nearest_whole(strokes) == 16
    assert playing_handicap(strokes) == 15
    assert playing_handicap(strokes, Options(allowance=D(1))) == 16
    assert course_handicap(D("14.8"), D("71.5"), 113, 72, Options(par_counts=False)) == D("14.8")
    assert nearest_whole(course_handicap(D("-1.5"), 72, 113, 72)) == -1, "a half goes upward"
    assert nine_hole_course_handicap(D("14.9"), D("35.5"), 113, 36) == Fraction("7.5") - Fraction(
        "0.5"
    )
    with pytest.raises(BadScore, match=r"index 54\.1: expected at most 54\.0"):
        course_handicap(D("54.1"), 72, 113, 72)


@pytest.mark.parametrize(
    ("strokes", "some"),
    [
        (0, {1: 0, 18: 0}),
        (1, {1: 1, 2: 0}),
        (18, {1: 1, 18: 1}),
        (20, {1: 2, 2: 2, 3: 1, 18: 1}),
        (54, {1: 3, 18: 3}),
        # Appendix C: a plus player gives back from stroke index 18 downward.
        (-1, {18: -1, 17: 0, 1: 0}),
        (-3, {18: -1, 17: -1, 16: -1, 15: 0, 1: 0}),
    ],
)
def test_strokes_received(strokes: int, some: dict[int, int]) -> None:
    received = dict(zip(ORDER, strokes_received(strokes, ORDER), strict=True))
    assert {hole: received[hole] for hole in some} == some


@given(st.integers(-18, 72), st.permutations(range(1, 19)), st.sampled_from([9, 18]))
def test_all_strokes_are_received_and_harder_holes_first(
    strokes: int, order: list[int], holes: int
) -> None:
    played = order[:holes]
    received = strokes_received(strokes, played)
    assert sum(received) == strokes
    assert max(received) - min(received) <= 1
    by_difficulty = [more for _, more in sorted(zip(played, received, strict=True))]
    assert by_difficulty == sorted(by_difficulty, reverse=True)


def test_net_double_bogey_and_par_and_five() -> None:
    """Rule 3.1: par + 2 + strokes received; par + 5 before there is an index."""
    limits = dict(zip(ORDER, hole_limits(PARS, ORDER, Fraction("15.5")), strict=True))
    par = dict(zip(ORDER, PARS, strict=True))
    assert limits[16] == par[16] + 3, "15.5 is rounded to 16 strokes"
    assert limits[17] == par[17] + 2
    assert hole_limits(PARS, ORDER, None) == tuple(p + 5 for p in PARS)
    scores = [12] * 18
    assert adjusted_gross(scores, hole_limits(PARS, ORDER, None)) == 72 + 90
    assert adjusted_gross(scores, hole_limits(PARS, ORDER, 0)) == 72 + 36
    assert adjusted_gross(PARS, hole_limits(PARS, ORDER, -3)) == 72
    with pytest.raises(BadScore, match="stroke indices"):
        strokes_received(3, [1, 1, 2])
    with pytest.raises(BadScore, match="17 scores for 18 holes"):
        adjusted_gross([4] * 17, hole_limits(PARS, ORDER, 0))
    with pytest.raises(BadScore, match="at least 1"):
        adjusted_gross([0] + [4] * 17, hole_limits(PARS, ORDER, 0))
