"""Exact numbers: the two units, the step a number was read on, and how numbers are written."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.rules.units import convert, grid_of, plain, spoken, text, whole

D = Decimal
hundredths = st.integers(0, 99999).map(lambda n: D(n) / 100)


def test_a_yard_is_exactly_0_9144_metres() -> None:
    # International yard, 1959; NIST SP 811, appendix B: "yard (yd) to meter (m): 9.144 E-01".
    assert convert(D(1), "yd", "m") == D("0.9144")
    assert convert(D(100), "yd", "m") == D("91.44")
    assert convert(D("0.9144"), "m", "yd") == 1
    # 1 mile = 1760 yd = 1609.344 m, in the same table.
    assert convert(D(1760), "yd", "m") == D("1609.344")


@given(hundredths)
def test_there_and_back_is_the_same_distance(yards: Decimal) -> None:
    assert round(convert(convert(yards, "yd", "m"), "m", "yd"), 20) == yards
    assert convert(yards, "yd", "yd") == yards


@pytest.mark.parametrize(
    ("yards", "metres"), [("40", 37), ("45", 41), ("32", 29), ("20", 18), ("225", 206)]
)
def test_a_metre_player_gets_the_nearest_whole_metre(yards: str, metres: int) -> None:
    assert whole(convert(D(yards), "yd", "m")) == metres


def test_halves_round_away_from_zero() -> None:
    assert [whole(D(x)) for x in ("2.5", "3.5", "-2.5", "-3.5", "2.49")] == [3, 4, -3, -4, 2]


@pytest.mark.parametrize(
    ("typed", "drill", "grid"),
    [
        ("15", "5", "5"),  # a multiple of the drill's step
        ("0", "5", "5"),
        ("15.0", "5", "5"),
        ("12", "5", "1"),  # not a multiple: whole yards
        ("12.5", "5", "0.1"),  # its last decimal
        ("12,5", "5", "0.1"),
        ("12.25", "5", "0.01"),
        ("12.50", "5", "0.01"),
        ("12.5", "2.5", "2.5"),
        ("64", "1", "1"),
        ("64.5", "1", "0.1"),
        ("64.5", "0.5", "0.5"),
        ("15", "10", "1"),
    ],
)
def test_the_step_on_which_a_number_was_read(typed: str, drill: str, grid: str) -> None:
    assert grid_of(typed, D(drill)) == D(grid)


@given(hundredths)
def test_numbers_for_json_are_never_rounded(value: Decimal) -> None:
    number = plain(value)
    assert D(str(number)) == value
    assert isinstance(number, int) == (value == int(value))


@pytest.mark.parametrize(
    ("value", "words"),
    [(D("64.50"), "64.5"), (D("1E+2"), "100"), (D("0.07"), "0.07"), (7, "7"), (2.0, "2")],
)
def test_numbers_as_a_person_writes_them(value: Decimal | int | float, words: str) -> None:
    assert text(value) == words


def test_units_in_a_sentence() -> None:
    assert (spoken("yd"), spoken("m")) == ("yards", "metres")
