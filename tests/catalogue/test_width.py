"""Widths against closed forms and a worked table, and every error carried through."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue import width as w
from drillrunner.catalogue.width import BadMeasure, Hand, Mark

TABLE = [
    # distance, angle, width. Exact from tan 45 = 1 and tan 30 = 1/sqrt(3), tan 15 = 2 - sqrt(3):
    (100, 90, 200.0),
    (150, 60, 100 * math.sqrt(3)),
    (100, 30, 200 * (2 - math.sqrt(3))),
    # From four-figure tables (half-angle tangents 0.0875 at 5 degrees, 0.0437 at 2.5):
    (210, 10, 2 * 210 * 0.0875),
    (200, 5, 2 * 200 * 0.0437),
]


@pytest.mark.parametrize(("distance", "angle", "wide"), TABLE)
def test_the_worked_table(distance: float, angle: float, wide: float) -> None:
    assert w.by_angle(distance, angle).value == pytest.approx(wide, rel=1e-3)
    assert w.angle_of(distance, wide).value == pytest.approx(angle, rel=1e-3)


def test_the_two_of_the_command_line() -> None:
    assert w.by_angle(210, 10).value == pytest.approx(36.745238680888, abs=1e-9)
    assert w.angle_of(210, 40).value == pytest.approx(10.880664062011, abs=1e-9)


@given(st.floats(10, 400), st.floats(0.5, 60))
def test_width_and_angle_are_inverse(distance: float, angle: float) -> None:
    wide = w.by_angle(distance, angle).value
    assert wide == pytest.approx(2 * distance * math.tan(math.radians(angle / 2)))
    assert w.angle(distance, wide) == pytest.approx(angle)


@given(
    st.floats(10, 400),
    st.floats(0.5, 60),
    st.floats(0, 10),
    st.floats(0, 5),
    st.floats(-1, 1),
    st.floats(-1, 1),
)
def test_whatever_the_true_values_are_within_the_errors_the_bounds_hold(
    distance: float, angle: float, far: float, turn: float, one: float, other: float
) -> None:
    found = w.by_angle(distance, angle, far, turn)
    true = w.width(max(distance + one * far, 0), max(angle + other * turn, 0))
    assert found.low - 1e-9 <= true <= found.high + 1e-9
    assert found.low <= found.value <= found.high


@given(st.floats(50, 400), st.floats(1, 100), st.floats(-1, 1))
def test_the_bounds_of_an_angle_hold(distance: float, wide: float, one: float) -> None:
    found = w.angle_of(distance, wide, 10)
    true = w.angle(distance + 10 * one, wide)
    assert found.low - 1e-9 <= true <= found.high + 1e-9


def test_one_input_without_error_is_exact() -> None:
    found = w.by_angle(200, 10, 0, 0)
    assert found.low == found.value == found.high


def test_hand_to_width_by_similar_triangles() -> None:
    """A 2 cm finger 60 cm from the eye covers a thirtieth of the distance."""
    hand = Hand(arm=60, finger=2, fist=9, grip=3)
    found = w.by_hand(210, 3, "finger", hand, 6, 0.25, 0)
    assert found.value == pytest.approx(21)
    assert found.low == pytest.approx(204 * 2.75 / 30)
    assert found.high == pytest.approx(216 * 3.25 / 30)
    # An arm and a hand that nobody measured leave more open than those that somebody did.
    usual = w.by_hand(210, 3, "finger", hand, 6, 0.25)
    assert (usual.low, usual.high) == pytest.approx((found.low * 0.85, found.high * 1.15))
    own = w.by_hand(210, 3, "finger", Hand(arm=66, finger=2.2), 6, 0.25)
    assert (own.low, own.high) == pytest.approx((found.low * 0.97, found.high * 1.03))
    assert w.how_many(210, 21, hand) == pytest.approx({"finger": 3, "fist": 2 / 3, "grip": 2})
    # Held flat across the line of sight, the width is that of the angle it fills.
    assert w.width(210, held_angle(3, "finger", hand)) == pytest.approx(21)


def held_angle(count: float, thing: str, hand: Hand | None = None) -> float:
    """The angle that so many fingers or fists fill at arm's length."""
    hand = hand or Hand()
    return w.angle(hand.arm, count * hand.sizes()[thing])


METHODS = {
    "angle": lambda e: (w.by_angle(200, 10), w.width(200 * e(0.03), 10 * e(0.1))),
    "hand": lambda e: (
        w.by_hand(200, 3, "fist", Hand(arm=66, fist=10)),
        200 * e(0.03) * (3 * e(0.25 / 3)) * (10 / 66 * e(0.03)),
    ),
    "posts": lambda e: (
        w.by_posts(200, 4, 3, 50),
        (4 * e(0.25 / 4)) * (3 * e(0.05)) * 200 * e(0.03) / (50 * e(0.03)),
    ),
    "marks": lambda e: (
        w.between_marks(Mark(200, 0), Mark(210, 10)),
        # One bearing off by a degree, and the other by its own.
        (200 * e(0.03) + 210 * e(0.03)) * math.sin(math.radians(10 * e(0.1) + e(1) - 1) / 2),
    ),
    "wanted": lambda e: (w.angle_of(200, 40), w.angle(200 * e(0.03), 40)),
}
"""Each method, and what its inputs would have given had each been off by a share of its error."""


@pytest.mark.parametrize("method", METHODS)
def test_the_bounds_by_simulation(method: str) -> None:
    """Errors drawn anywhere within their sizes never leave the bounds, and come near both."""
    random = Random(1)
    found = METHODS[method](lambda size: 1.0)[0]
    draws = (lambda: random.uniform(-1, 1)), (lambda: random.choice((-1, 1)))
    seen = [
        METHODS[method](lambda s, off=off: 1 + s * off())[1] for off in draws for _ in range(2000)
    ]
    assert found.low - 1e-9 <= min(seen) <= max(seen) <= found.high + 1e-9
    span = found.high - found.low
    assert max(seen) - min(seen) > 0.95 * span
    # The mean of what is simulated is the answer, to the size of second-order terms.
    assert sum(seen) / len(seen) == pytest.approx(found.value, rel=0.01)


def test_net_posts_by_similar_triangles() -> None:
    """Two gaps of 3 at 30 cover 40 at 200; posts at the target are the width themselves."""
    assert w.by_posts(200, 2, 3, post_distance=30).value == pytest.approx(40)
    at_target = w.by_posts(200, 2, 10, spacing_error=1, count_error=0.5)
    assert (at_target.value, at_target.low, at_target.high) == pytest.approx((20, 13.5, 27.5))


def test_marks_by_the_law_of_cosines_and_across_north() -> None:
    """Equally far: the chord, sqrt(a^2 + b^2 - 2ab cos t). Bearings 356 and 6 are 10 apart."""
    found = w.between_marks(Mark(200, 356), Mark(200, 6), 0, 0)
    chord = math.sqrt(2 * 200**2 * (1 - math.cos(math.radians(10))))
    assert found.value == pytest.approx(chord)
    # The same gap from the middle of it, where the line of play runs.
    assert w.width(200 * math.cos(math.radians(5)), 10) == pytest.approx(chord)
    assert w.between_marks(Mark(200, 6), Mark(200, -4), 0, 0).value == pytest.approx(chord)
    off = w.between_marks(Mark(200, 356), Mark(200, 6))
    assert off.low == pytest.approx(2 * 194 * math.sin(math.radians(4)))
    assert off.high == pytest.approx(2 * 206 * math.sin(math.radians(6)))


def test_the_defaults_are_near_the_usual_rules_of_thumb() -> None:
    """A finger about 2 degrees and a fist about 9 at arm's length: common practice, no source."""
    assert held_angle(1, "finger") == pytest.approx(2, abs=0.2)
    assert held_angle(1, "fist") == pytest.approx(9, abs=0.2)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: w.by_angle(0, 10), "distance 0"),
        (lambda: w.by_angle(-5, 10), "distance -5"),
        (lambda: w.by_angle(math.nan, 10), "distance nan"),
        (lambda: w.by_angle(math.inf, 10), "distance inf"),
        (lambda: w.by_angle(200, 180), "angle 180"),
        (lambda: w.by_angle(200, 100, angle_error=30), "angle with its error 130"),
        (lambda: w.by_angle(200, 10, distance_error=-1), "distance error -1"),
        (lambda: w.angle_of(200, 0), "width 0"),
        (lambda: w.angle_of(200, 40, 200), "distance error 200"),
        (lambda: w.by_hand(200, 1, "shoe"), "'shoe'"),
        (lambda: w.by_hand(200, 0, "fist"), "number of fists 0"),
        (lambda: w.by_posts(200, 2, 0), "spacing 0"),
        (lambda: w.between_marks(Mark(200, 5), Mark(200, 365)), "bearings 5 and 365"),
        (lambda: w.between_marks(Mark(200, 0), Mark(200, 130)), "bearings 0 and 130"),
    ],
)
def test_a_measure_that_can_not_be_is_refused_in_a_line(call: object, said: str) -> None:
    with pytest.raises(BadMeasure, match=said) as refused:
        call()  # type: ignore[operator]
    assert "expected" in str(refused.value)
    assert "\n" not in str(refused.value)


@given(
    st.tuples(st.floats(60, 250), st.floats(60, 250)),
    st.floats(3, 40),
    st.tuples(st.floats(0, 3), st.floats(0, 3)),
    st.tuples(*[st.sampled_from([-1, 1])] * 4),
)
def test_the_range_between_marks_holds_every_corner(
    far: tuple[float, float],
    turn: float,
    errors: tuple[float, float],
    corner: tuple[int, int, int, int],
) -> None:
    """Each mark off by the whole of its own error, in distance and in bearing, either way."""
    marks = Mark(far[0], -2, "", errors[0]), Mark(far[1], turn - 2, "", errors[1])
    found = w.between_marks(*marks, distance_error=4)
    a, b = far[0] + 4 * corner[0], far[1] + 4 * corner[1]
    bearings = -2 + errors[0] * corner[2], turn - 2 + errors[1] * corner[3]
    angle = max(math.radians(bearings[1] - bearings[0]), 0)
    true = a * math.sin(angle / 2) + b * math.sin(angle / 2)
    assert found.low - 1e-9 <= true <= found.high + 1e-9
