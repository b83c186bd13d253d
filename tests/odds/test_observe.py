"""What each kind of entry says of a direction, in yards."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import inf, log

import pytest

from drillrunner.odds.observe import Observation, observation, observations
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import guess
from drillrunner.rules import Aim
from tests.odds.balls import typed
from tests.rules.bundled import make

D = Decimal


@pytest.mark.parametrize(
    ("text", "spans", "edge"),
    [
        ("5", [(-20, 20)], 20),
        ("4", [(-inf, -20)], 20),
        ("9", [(20, inf)], 20),
        ("8", [(-20, 20)], 20),
        ("0", [(-inf, -20), (20, inf)], 20),
        ("+15", [(12.5, 17.5)], None),
        ("-7", [(-7.5, -6.5)], None),
    ],
)
def test_a_corridor(text: str, spans: list[tuple[float, float]], edge: float | None) -> None:
    (ball,) = typed(make("lives"), text)
    assert observation(ball, "lateral") == Observation(tuple(spans), edge)
    assert observation(ball, "depth") is None


@pytest.mark.parametrize(
    ("text", "spans", "edge"),
    [
        ("-15", [(-17.5, -12.5)], None),
        ("15", [(-17.5, -12.5), (12.5, 17.5)], None),
        ("0", [(-2.5, 2.5)], None),
        ("2", [(-2.5, -1.5), (1.5, 2.5)], None),
        ("+2,5", [(2.45, 2.55)], None),
        ("+", [(40, inf)], 40),
        ("lost", [(-inf, -40), (40, inf)], 40),
    ],
)
def test_a_miss(text: str, spans: list[tuple[float, float]], edge: float | None) -> None:
    (ball,) = typed(make("miss_total", cap=D(40)), text)
    assert observation(ball, "lateral") == Observation(tuple(spans), edge)


def test_a_carry_is_read_against_the_number() -> None:
    (ball,) = typed(make("on_the_number"), "47")
    assert observation(ball, "depth") == Observation(((1.5, 2.5),))
    assert observation(ball, "lateral") is None


def test_out_tells_neither_direction_alone_when_two_are_judged() -> None:
    game = make("lives", Aim(width=D(30), depth=D(20)))
    out, corner = typed(game, "0", "3")
    assert observation(out, "lateral") is None
    assert observation(out, "depth") is None
    assert observation(corner, "lateral") == Observation(((15, inf),), 15)
    assert observation(corner, "depth") == Observation(((-inf, -10),), 10)


def test_metres_become_yards() -> None:
    (ball,) = typed(make("miss_total"), "+45")
    said = observation(replace(ball, unit="m"), "lateral")
    assert said is not None
    # 1 yd = 0.9144 m exactly (international yard, 1959; NIST SP 811).
    assert said.spans[0] == pytest.approx((42.5 / 0.9144, 47.5 / 0.9144), abs=1e-12)


def test_depth_pools_within_fifteen_percent_of_the_carry() -> None:
    balls = [
        ball
        for carry in ("38.2", "38.25", "45", "51.75", "51.8")
        for ball in typed(make("on_the_number", Aim(carry=D(carry))), "45")
    ]
    assert len(observations(balls, "depth", 45.0)) == 3
    assert len(observations(balls, "depth", 45.0, most=2)) == 2
    assert len(observations(balls, "depth")) == 5
    wide = typed(make("lives", Aim(depth=D(20))), "5")
    assert observations(wide, "depth", 45.0) == []
    assert len(observations(typed(make("miss_total"), "5", "-5"), "lateral", 45.0)) == 2


def test_a_width_that_was_measured_has_an_edge_that_may_lie_elsewhere() -> None:
    """40 yards give or take 6: each edge 20 give or take 3. What was read needs no edge."""
    aim = Aim(width=D(40), width_error=D(6))
    held, read_off = typed(make("lives", aim), "5", "+15")
    said = observation(held, "lateral")
    assert said == Observation(((-20, 20),), 20, blur=3)
    assert observation(read_off, "lateral") == Observation(((12.5, 17.5),))
    (lost,) = typed(make("miss_total", aim, cap=D(40)), "+")
    assert observation(lost, "lateral") == Observation(((40, inf),), 40)


def test_a_width_that_is_not_known_leaves_the_pattern_less_sure() -> None:
    """Sixty balls, 44 of them held: the spread follows from the width, and shares its error."""
    texts = ["5"] * 44 + ["4", "6"] * 8
    widths = []
    for error in (None, D(12)):
        aim = Aim(width=D(40), width_error=error)
        balls = observations(typed(make("lives", aim), *texts), "lateral")
        band = Pattern.of(balls, guess(200.0), None).half_width
        widths.append(log(band.high / band.low))
    assert widths[1] > 1.15 * widths[0]
