"""The starting guess against the table that it comes from.

Course Rating System Manual (USGA / World Handicap System), section 4, accuracy pattern: width x
depth in yards holding two-thirds of the shots.
"""

from __future__ import annotations

import numpy as np
import pytest

from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import Column, _ability, _two_in_three, guess, table_half, tee_shot
from drillrunner.rules import Direction

TABLE = """
90   11x14 12x15 16x19 17x22
110  12x15 14x16 17x21 19x24
130  13x15 17x17 18x23 21x27
150  15x16 20x18 20x25 24x30
170  18x17 26x20 24x28
190  23x18 30x24 29x34
210  29x19 34x28
230  35x20
250  41x21
"""
COLUMNS: tuple[tuple[Column, int], ...] = (("men", 0), ("women", 0), ("men", 20), ("women", 24))


def test_every_cell() -> None:
    """Scratch men, scratch women, bogey men (20), bogey women (24); empty cells are at the end."""
    for row in TABLE.split("\n"):
        distance, *cells = row.split() or [""]
        for (column, index), cell in zip(COLUMNS, cells, strict=False):
            width, depth = (float(part) for part in cell.split("x"))
            found = [
                table_half(float(distance), direction, index, column) * 2
                for direction in ("lateral", "depth")
            ]
            assert found == pytest.approx([width, depth]), (distance, column, index)


@pytest.mark.parametrize(
    ("distance", "direction", "index", "column", "whole"),
    [
        (90, "lateral", 0, "men", 11),
        (250, "lateral", 0, "men", 41),
        (250, "depth", 0, "men", 21),
        (150, "lateral", 0, "women", 20),
        (150, "depth", 20, "men", 25),
        (190, "lateral", 20, "men", 29),
        (110, "lateral", 24, "women", 19),
        (150, "depth", 24, "women", 30),
        (140, "lateral", 0, "men", 14),
        # Index 10 has over half of what lies between scratch and bogey: 10.8 of 19.5 in ability.
        (170, "lateral", 10, "men", 21.3),
        (40, "lateral", 0, "men", 11),
        # Beyond the last row of a column its angle goes on: 29 x 210 / 190.
        (210, "lateral", 20, "men", 32.05),
        (300, "lateral", 0, "men", 49.2),
    ],
)
def test_the_table(
    distance: float, direction: Direction, index: float, column: Column, whole: float
) -> None:
    assert table_half(distance, direction, index, column) == pytest.approx(whole / 2, rel=0.01)


def test_both_columns_unless_one_is_chosen_and_twenty_unless_an_index_is_given() -> None:
    men, women = guess(150, column="men", index=20), guess(150, column="women", index=20)
    assert guess(150).half_width == (men.half_width + women.half_width) / 2
    assert men.half_width < women.half_width


def test_bad_shots_widen_what_holds_two_in_three() -> None:
    """Within a sixth of the table for its own golfers, and wider than it for a beginner."""
    for column, index, distances in (("men", 0, (90, 150, 250)), ("men", 20, (90, 150, 190))):
        for distance in distances:
            ratio = guess(distance, index=index, column="men").half_width / table_half(
                distance, "lateral", index, "men"
            )
            assert 0.90 < ratio < 7 / 6, (column, index, distance)
    assert guess(150, index=54).half_width > 1.2 * table_half(150, "lateral", 54, None)
    # Solved by hand: 0.89 (2 Phi(m) - 1) + 0.11 (2 Phi(m / 3) - 1) = 2/3 at m = 1.0631.
    rng = np.random.default_rng(1)
    shots = rng.standard_normal(400_000) * np.where(rng.random(400_000) < 0.11, 3.0, 1.0)
    assert np.quantile(np.abs(shots), 2 / 3) == pytest.approx(_two_in_three(0.11, 3.0), rel=0.01)


def test_lengths_by_ability() -> None:
    """The rating model's tee shots; the ability of index 18 is 18, that of 21.7 is 21."""
    assert tee_shot(0, "men") == pytest.approx(250)
    assert tee_shot(20, "men") == pytest.approx(200)
    assert tee_shot(0, "women") == pytest.approx(210)
    assert tee_shot(24, "women") == pytest.approx(150)
    assert tee_shot(54, "men") < 150
    assert (_ability(18), _ability(21.7)) == (18, 21)
    assert _ability(54) == pytest.approx(33 + 3 * 14.4 / 5)


def test_a_driver_knows_skill() -> None:
    """At one distance a beginner holds far fewer drives inside 40 yd than a scratch golfer."""
    inside = [
        Pattern.of([], guess(220, index=index, column="men")).held(40) for index in (0, 20, 54)
    ]
    assert inside[0] - inside[1] > 0.04
    assert inside[1] - inside[2] > 0.1


def test_wide_enough_to_be_overruled() -> None:
    assert guess(225).log_sd >= 0.45
    assert guess(225).bias_sd >= guess(225).half_width


# A fairway of 32 yd lets a scratch golfer, one of 40 yd a 20-handicap, hit two thirds of them:
# rating charts as J. Brauer quotes them in a column of a trade magazine, Golf Course Industry; its
# title is not known here, so take it as from memory. Model tee shots of 250 and 200 yd.
# The table and these widths differ by up to 1.75 in spread.
@pytest.mark.parametrize(("distance", "index", "fairway"), [(250, 0, 32), (200, 20, 40)])
def test_near_the_fairways(distance: float, index: float, fairway: float) -> None:
    half = guess(distance, index=index, column="men").half_width
    assert 1 / 1.75 < half / (fairway / 2) < 1.75


@pytest.mark.parametrize("index", [-10.0, -30.0, 54.0, 90.0])
@pytest.mark.parametrize("distance", [1.0, 90.0, 400.0])
def test_any_index_and_distance_gives_a_width(distance: float, index: float) -> None:
    for direction in ("lateral", "depth"):
        assert 4.0 < guess(distance, direction, index).half_width < 150.0
