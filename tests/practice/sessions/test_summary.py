"""What a session says of a pattern: no more than it could have seen."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drillrunner.odds.desk import Picture, player_for
from drillrunner.odds.pattern import Band
from drillrunner.practice.sessions.summary import PatternChange
from drillrunner.rules import Aim
from tests.odds.balls import typed
from tests.rules.bundled import make


def band(middle: float, factor: float) -> Band:
    return Band(middle, middle / factor, middle * factor)


def change(before: Band, today: Band, shots: int = 50) -> PatternChange:
    return PatternChange("lob-wedge", "full", "lateral", before, today, shots)


def test_bands_that_meet_say_what_they_could_have_shown() -> None:
    said = change(band(14, 1.2), band(12, 1.4)).said
    assert said == (
        "Lob wedge, left and right: two in three within 14 yd before, 12 today: too early to "
        "tell them apart; 50 balls show a change of half, not of a third"
    )
    assert change(band(14, 1.02), band(10, 1.03)).said.endswith("14 yd before, 10 today")
    assert change(band(14, 2), band(12, 3), 1).could_show == (
        "1 ball shows no change of less than two thirds"
    )
    assert change(band(14, 1.01), band(14, 1.02)).could_show == "50 balls show a change of a tenth"


@pytest.mark.parametrize("factor", [1.1, 1.3])
def test_the_least_is_where_the_bands_come_apart(factor: float) -> None:
    before = band(20, factor)
    least = change(before, band(20, factor)).least
    assert least == pytest.approx(1 - math.exp(-2 * math.log(factor)))
    under = change(before, band(20 * (1 - least) * 0.99, factor))
    over = change(before, band(20 * (1 - least) * 1.01, factor))
    assert "too early" not in under.said
    assert "too early" in over.said


def test_fifty_balls_in_a_corridor_do_not_show_a_fourth_less() -> None:
    """Balls of a normal spread, held or not in 40 yards: 200 before, 50 today."""
    rng = np.random.default_rng(2)

    def picture(spread: float, count: int) -> Picture:
        away = rng.normal(0, spread, count)
        texts = ["5" if abs(one) <= 20 else "4" if one < 0 else "6" for one in away]
        game = make("lives")
        return Picture(typed(game, *texts), player_for(Aim(width=40), "yd", 200), None)

    before, today = picture(20, 200), picture(15, 50)
    found = change(before.lateral.half_width, today.lateral.half_width)
    assert 0.25 < found.least < 0.6
