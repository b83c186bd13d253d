"""How wide is that? Plain trigonometry, with the error of each method carried through.

Distances and widths are in one unit, whichever the caller uses; angles are in degrees; hand and
arm are in centimetres. Each method answers an `Estimate` whose `low` and `high` are the values at
the worst corner of what was measured: every input off by its whole error, all in one direction.

The error sizes below are common practice, no source; each can be replaced by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass, field
from itertools import product

DISTANCE_SHARE = 0.03
"""A distance off a range's board or a rangefinder through mats and nets: 3 % of it."""

ANGLE_SHARE = 0.1
"""An angle held at arm's length: a tenth of it."""

COUNT_ERROR = 0.25
"""Fingers or gaps between posts, counted by eye: a quarter of one."""

HAND_SHARE, USUAL_HAND_SHARE = 0.03, 0.15
"""The size of what is held up over the length of the arm: 3 % if they were measured once, 15 % if
they are only the usual ones."""

SPACING_SHARE = 0.05
"""The spacing of net posts, read from a plan or asked of the staff: 5 % of it."""

BEARING_ERROR = 1.0
"""A bearing taken with a phone or a compass: one degree."""

FARTHEST = 1000.0
"""The longest distance taken, as for every distance of a drill."""

WIDEST = 120.0
"""The widest angle taken, in degrees, its error included: no target at a range is wider."""


class BadMeasure(ValueError):
    """A measure that can't be: one line that says what was expected."""


@dataclass(frozen=True)
class Estimate:
    """What was asked for, and the bounds that the error of the method leaves."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Hand:
    """What is held up at arm's length, in centimetres; measured once, or common practice.

    arm: from the eye to the hand. grip: the thickness of a club's grip held upright. The
    defaults are common practice, no source: a finger spans about 2 degrees, a fist
    about 9.
    """

    arm: float = 60.0
    finger: float = 2.0
    fist: float = 9.5
    grip: float = 2.5

    def sizes(self) -> Mapping[str, float]:
        """The three things to hold up: name to width."""
        return {"finger": self.finger, "fist": self.fist, "grip": self.grip}


@dataclass(frozen=True)
class Mark:
    """Something that can be seen from the bay: its distance, and its bearing in degrees.

    bearing_error: degrees that the bearing may be off, `None` for the usual one.
    """

    distance: float
    bearing: float
    name: str = field(default="", compare=False)
    bearing_error: float | None = None


def width(distance: float, angle: float) -> float:
    """The width that fills an angle at a distance: 2 distance tan(angle / 2)."""
    return 2 * distance * math.tan(math.radians(angle) / 2)


def angle(distance: float, width: float) -> float:
    """The angle that a width fills at a distance, the inverse of `width`."""
    return math.degrees(2 * math.atan(width / (2 * distance)))


def by_angle(
    distance: float,
    angle: float,
    distance_error: float | None = None,
    angle_error: float | None = None,
) -> Estimate:
    """The width from a distance and an angle."""
    _positive("distance", distance, FARTHEST)
    _positive("angle", angle, WIDEST)
    turn_error = _error("angle error", angle_error, min(angle * ANGLE_SHARE, WIDEST - angle))
    _positive("angle with its error", angle + turn_error, WIDEST)
    return _carried(
        width,
        (distance, _error("distance error", distance_error, distance * DISTANCE_SHARE)),
        (angle, turn_error),
    )


def angle_of(distance: float, width: float, distance_error: float | None = None) -> Estimate:
    """The angle that a wanted width fills at a distance; only the distance carries an error."""
    _positive("distance", distance, FARTHEST)
    _positive("width", width, FARTHEST)
    far = _error("distance error", distance_error, distance * DISTANCE_SHARE)
    if far >= distance:
        raise BadMeasure(f"distance error {far:g}: expected less than the distance")
    return _carried(angle, (distance, far), (width, 0.0))


def by_hand(
    distance: float,
    count: float,
    thing: str,
    hand: Hand | None = None,
    distance_error: float | None = None,
    count_error: float | None = None,
    hand_share: float | None = None,
) -> Estimate:
    """The width that `count` fingers, fists or grips cover, held up at arm's length.

    hand_share: the error of its size over the arm's length, in share of it; unless said 3 %, or
    15 % while that thing or the arm still has the usual size, which need not be the player's.
    """
    hand = hand or Hand()
    if thing not in hand.sizes():
        raise BadMeasure(f"{thing!r}: expected one of {', '.join(hand.sizes())}")
    _positive("distance", distance, FARTHEST)
    _positive(f"number of {thing}s", count, 100)
    each = hand.sizes()[thing] / hand.arm
    usual = Hand()
    measured = hand.arm != usual.arm and hand.sizes()[thing] != usual.sizes()[thing]
    share = HAND_SHARE if measured else USUAL_HAND_SHARE
    return _carried(
        lambda far, many, one: far * many * one,
        (distance, _error("distance error", distance_error, distance * DISTANCE_SHARE)),
        (count, _error("count error", count_error, COUNT_ERROR)),
        (each, each * _error("hand error", hand_share, share)),
    )


def how_many(distance: float, width: float, hand: Hand | None = None) -> dict[str, float]:
    """How many fingers, fists or grips a width at a distance is: name to number."""
    hand = hand or Hand()
    _positive("distance", distance, FARTHEST)
    _positive("width", width, FARTHEST)
    return {
        thing: width / distance * hand.arm / size for thing, size in hand.sizes().items() if size
    }


def by_posts(
    distance: float,
    gaps: float,
    spacing: float,
    post_distance: float | None = None,
    distance_error: float | None = None,
    spacing_error: float | None = None,
    count_error: float | None = None,
) -> Estimate:
    """The width at a distance that spans so many gaps between net posts, by similar triangles.

    spacing: from one post to the next. post_distance: from the bay to the posts; the posts stand
    at the target unless it is said.
    """
    _positive("distance", distance, FARTHEST)
    _positive("number of gaps", gaps, 100)
    _positive("spacing", spacing, FARTHEST)
    many = (gaps, _error("count error", count_error, COUNT_ERROR))
    each = (spacing, _error("spacing error", spacing_error, spacing * SPACING_SHARE))
    if post_distance is None:
        return _carried(lambda k, s: k * s, many, each)
    _positive("post distance", post_distance, FARTHEST)
    far = (distance, _error("distance error", distance_error, distance * DISTANCE_SHARE))
    near = (post_distance, post_distance * DISTANCE_SHARE)
    return _carried(lambda k, s, d, p: k * s * d / p, many, each, far, near)


def between_marks(
    left: Mark,
    right: Mark,
    bearing_error: float = BEARING_ERROR,
    distance_error: float | None = None,
) -> Estimate:
    """The gap between two marks, across the line that halves the angle between them.

    Each mark lies distance x sin(half the angle) off that line. Marks that are equally far have
    the chord between them, which is the same as `width` at the middle of the gap. Each bearing may
    be off by its own error, one to the left and the other to the right; bearing_error: of those
    that have none of their own.
    """
    for mark in (left, right):
        _positive("distance of a mark", mark.distance, FARTHEST)
        _finite("bearing", mark.bearing)
    turn = _turn(left.bearing, right.bearing)
    turn_error = sum(
        _error("bearing error", mark.bearing_error, bearing_error) for mark in (left, right)
    )
    if not 0 < turn <= WIDEST - turn_error:
        raise BadMeasure(
            f"bearings {left.bearing:g} and {right.bearing:g}: expected two that differ, by at "
            f"most {WIDEST:g} degrees with their error"
        )
    return _carried(
        lambda a, b, t: (a + b) * math.sin(math.radians(t) / 2),
        (left.distance, _error("distance error", distance_error, left.distance * DISTANCE_SHARE)),
        (right.distance, _error("distance error", distance_error, right.distance * DISTANCE_SHARE)),
        (turn, turn_error),
    )


LENGTH = "{unit}"
"""The unit of a quantity that is said in the caller's own."""

THINGS = ("finger", "fist", "grip")
"""What can be held up at arm's length."""


@dataclass(frozen=True)
class Quantity:
    """Something that a method asks for.

    label: its name on a screen. unit: of what is typed, `LENGTH` for yards or metres. told: what it
    is on the command line, where it is an option of its own there. needed: whether a method that
    asks for it goes without.
    """

    label: str
    unit: str = ""
    told: str = ""
    needed: bool = True

    @property
    def metavar(self) -> str:
        """What stands for it on the command line."""
        return {LENGTH: "YARDS", "": "N"}.get(self.unit, self.unit.upper())

    def unfit(self, value: float) -> str | None:
        """Why a value can't be, as what was expected, or `None`."""
        if self.label.endswith("bearing"):
            return None if -360 <= value <= 360 else "expected degrees from -360 to 360"
        fine = 0 < value <= FARTHEST
        return None if fine else f"expected more than 0, at most {FARTHEST:g}"


QUANTITIES: Mapping[str, Quantity] = {
    "distance": Quantity(
        "Distance to the target",
        LENGTH,
        "from the bay to the target: by plan, staff or rangefinder; never walk out",
    ),
    "angle": Quantity("Angle", "degrees", "that the target fills: gives its width"),
    "width": Quantity("Width that is wanted", LENGTH, "wanted: gives the angle, and in fingers"),
    "thing": Quantity("What is held up"),
    "count": Quantity("How many it takes"),
    "posts": Quantity(
        "Gaps between posts that it spans", "", "gaps between net posts that the target spans"
    ),
    "spacing": Quantity("From one post to the next", LENGTH, "from one net post to the next"),
    "post_distance": Quantity(
        "Distance to the posts, if nearer", LENGTH, "to the posts, if not the target", False
    ),
    "left_distance": Quantity("Left mark: distance", LENGTH),
    "left_bearing": Quantity("Left mark: bearing", "degrees"),
    "right_distance": Quantity("Right mark: distance", LENGTH),
    "right_bearing": Quantity("Right mark: bearing", "degrees"),
    "arm": Quantity("From your eye to your hand", "cm", "from the eye to the hand", False),
    "hand": Quantity("How wide one is", "cm", "the width of one finger, fist or grip", False),
    "distance_error": Quantity(
        "", LENGTH, f"{DISTANCE_SHARE:.0%} of the distance unless said", False
    ),
    "angle_error": Quantity("", "degrees", "a tenth of it, or 1 for a bearing", False),
    "count_error": Quantity("", "", "a quarter unless said", False),
}
"""All that is asked for by a method. `thing` is one of `THINGS`; `arm` and `hand` are kept."""


@dataclass(frozen=True)
class Method:
    """A way to measure. asks: what it needs, in the order of the rows. errors: what may be said of
    its error. work: the estimate from the quantities, what is held up, and the hand.
    """

    said: str
    asks: tuple[str, ...]
    errors: tuple[str, ...]
    work: Callable[[Mapping[str, float], str, Hand], Estimate]

    def missing(self, known: Container[str]) -> list[Quantity]:
        """What is still to be said."""
        asked = ((name, QUANTITIES[name]) for name in self.asks if name != "thing")
        return [one for name, one in asked if one.needed and name not in known]


METHODS: Mapping[str, Method] = {
    "hand": Method(
        "held up at arm's length",
        ("distance", "thing", "count", "arm", "hand"),
        ("distance_error", "count_error"),
        lambda q, thing, hand: by_hand(
            q["distance"], q["count"], thing, hand, q.get("distance_error"), q.get("count_error")
        ),
    ),
    "angle": Method(
        "an angle that was measured",
        ("distance", "angle"),
        ("distance_error", "angle_error"),
        lambda q, _, __: by_angle(
            q["distance"], q["angle"], q.get("distance_error"), q.get("angle_error")
        ),
    ),
    "posts": Method(
        "net posts at a known spacing",
        ("distance", "posts", "spacing", "post_distance"),
        ("distance_error", "count_error"),
        lambda q, _, __: by_posts(
            q["distance"],
            q["posts"],
            q["spacing"],
            q.get("post_distance"),
            q.get("distance_error"),
            count_error=q.get("count_error"),
        ),
    ),
    "bearings": Method(
        "two marks at known bearings",
        ("left_distance", "left_bearing", "right_distance", "right_bearing"),
        ("distance_error", "angle_error"),
        lambda q, _, __: between_marks(
            Mark(q["left_distance"], q["left_bearing"]),
            Mark(q["right_distance"], q["right_bearing"]),
            q.get("angle_error", BEARING_ERROR),
            q.get("distance_error"),
        ),
    ),
    "wanted": Method(
        "how many fingers a width is",
        ("distance", "width", "arm", "thing", "hand"),
        ("distance_error",),
        lambda q, _, __: angle_of(q["distance"], q["width"], q.get("distance_error")),
    ),
}
"""The ways to measure. `wanted` gives the angle of a width, the others a width."""


def _turn(one: float, other: float) -> float:
    """The smaller angle between two bearings, across north too."""
    apart = abs(one - other) % 360
    return min(apart, 360 - apart)


def _carried(formula: Callable[..., float], *inputs: tuple[float, float]) -> Estimate:
    """The formula at the middle of its inputs and at every corner of their errors.

    Every formula here is monotone in each input, so its extremes over the box lie at corners.
    """
    ends = ((max(value - error, 0.0), value + error) for value, error in inputs)
    corners = [formula(*point) for point in product(*ends)]
    return Estimate(formula(*(value for value, _ in inputs)), min(corners), max(corners))


def _error(name: str, given: float | None, usual: float) -> float:
    if given is None:
        return usual
    _finite(name, given)
    if given < 0:
        raise BadMeasure(f"{name} {given:g}: expected 0 or more")
    return given


def _positive(name: str, value: float, most: float) -> None:
    _finite(name, value)
    if not 0 < value <= most:
        raise BadMeasure(f"{name} {value:g}: expected more than 0 and at most {most:g}")


def _finite(name: str, value: float) -> None:
    if not math.isfinite(value):
        raise BadMeasure(f"{name} {value:g}: expected a number")
