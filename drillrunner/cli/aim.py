"""`drillrunner aim`: how wide a target is, from what can be held up, counted or sighted."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import labelled, put_json
from drillrunner.cli.options import FINE, Wrong, add_json
from drillrunner.cli.terminal import put, say

if TYPE_CHECKING:
    from drillrunner.catalogue.width import Estimate, Hand, Mark

THINGS = ("finger", "fist", "grip")

METHODS = ("angle", "width", *(f"{thing}s" for thing in THINGS), "posts", "mark")

ONLY = {
    "hand": tuple(f"{thing}s" for thing in THINGS),
    "spacing": ("posts",),
    "post_distance": ("posts",),
    "angle_error": ("angle", "mark"),
    "count_error": (*(f"{thing}s" for thing in THINGS), "posts"),
}
"""Options that only some methods ask for."""


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--distance",
        metavar="YARDS",
        help="from the bay to the target: by plan, staff or rangefinder; never walk out",
    )
    parser.add_argument("--angle", metavar="DEGREES", help="that the target fills: gives its width")
    parser.add_argument("--width", metavar="YARDS", help="wanted: gives the angle, and in fingers")
    for thing in THINGS:
        parser.add_argument(f"--{thing}s", metavar="N", help=f"{thing}s held up at arm's length")
    parser.add_argument("--posts", metavar="N", help="gaps between net posts that the target spans")
    parser.add_argument("--spacing", metavar="YARDS", help="from one net post to the next")
    parser.add_argument("--post-distance", metavar="YARDS", help="to the posts, if not the target")
    parser.add_argument(
        "--mark",
        metavar="YARDS@BEARING",
        action="append",
        default=[],
        help="a mark, by distance and bearing in degrees; two give the gap between them",
    )
    parser.add_argument("--arm", metavar="CM", help="from the eye to the hand")
    parser.add_argument("--hand", metavar="CM", help="the width of one finger, fist or grip")
    parser.add_argument(
        "--distance-error", metavar="YARDS", help="3 %% of the distance unless said"
    )
    parser.add_argument(
        "--angle-error", metavar="DEGREES", help="a tenth of it, or 1 for a bearing"
    )
    parser.add_argument("--count-error", metavar="N", help="a quarter unless said")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the width, or for `--width` the angle. Raises Wrong."""
    from drillrunner.catalogue import width as w

    given = [name for name in METHODS if getattr(args, name) not in (None, [])]
    if len(given) != 1:
        raise Wrong(
            "expected one of " + ", ".join(f"--{name}" for name in METHODS) + " to measure with"
        )
    for name, methods in ONLY.items():
        if getattr(args, name) is not None and given[0] not in methods:
            known = " or ".join(f"--{method}" for method in methods)
            raise Wrong(f"--{name.replace('_', '-')}: expected only beside {known}")
    hand = _hand(args, given[0])
    try:
        distance, wide, angle, answer = _answer(args, given[0], hand)
    except w.BadMeasure as error:
        raise Wrong(str(error)) from None
    if args.json:
        put_json(
            {
                "distance": distance,
                "width": wide,
                "angle": angle,
                "low": answer.low,
                "high": answer.high,
            }
        )
        return FINE
    bounds = f"({answer.low:.1f} to {answer.high:.1f})"
    asked_width = args.width is None
    lines: dict[str, Any] = {
        "distance": f"{distance:.0f} yd",
        "width": f"{wide:.1f} yd" + (f" {bounds}" if asked_width else ""),
        "angle": f"{angle:.1f} degrees" + ("" if asked_width else f" {bounds}"),
    }
    for thing, many in w.how_many(distance, wide, hand).items():
        lines[f"{thing}s"] = f"{many:.1f}"
    if args.width is not None:
        lines |= _on_the_ranges(distance, wide)
    put(labelled(lines))
    return FINE


def _on_the_ranges(distance: float, width: float) -> dict[str, str]:
    """For each range in the user's folder, its gap that comes closest to the width wanted."""
    from decimal import Decimal

    from drillrunner.catalogue.ranges import gap_words, load_ranges

    profiles, problems = load_ranges()
    for problem in problems:
        say(f"drillrunner: {problem}")
    wanted, far = Decimal(str(width)), Decimal(str(distance))
    return {
        profile.title: gap_words(gap, wanted, "yd")
        for profile in profiles
        if (gap := profile.nearest(wanted, "yd", far)) is not None
    }


def _answer(
    args: argparse.Namespace, method: str, hand: Hand
) -> tuple[float, float, float, Estimate]:
    """Distance, width, angle, and the one asked for with its bounds."""
    from drillrunner.catalogue import width as w

    far_error = _number(args, "distance_error")
    if method == "mark":
        left, right = _marks(args.mark)
        turn_error = _number(args, "angle_error")
        gap = w.between_marks(
            left, right, w.BEARING_ERROR if turn_error is None else turn_error, far_error
        )
        middle = (left.distance + right.distance) / 2
        there = _number(args, "distance")
        distance = middle if there is None else there
        return distance, gap.value, w.angle_of(distance, gap.value).value, gap
    distance = _needed(args, "distance")
    count_error = _number(args, "count_error")
    if method == "width":
        wanted = _needed(args, "width")
        turned = w.angle_of(distance, wanted, far_error)
        return distance, wanted, turned.value, turned
    if method == "angle":
        angle = _needed(args, "angle")
        found = w.by_angle(distance, angle, far_error, _number(args, "angle_error"))
        return distance, found.value, angle, found
    if method == "posts":
        found = w.by_posts(
            distance,
            _needed(args, "posts"),
            _needed(args, "spacing"),
            _number(args, "post_distance"),
            far_error,
            count_error=count_error,
        )
    else:
        many = _needed(args, method)
        found = w.by_hand(distance, many, method.removesuffix("s"), hand, far_error, count_error)
    return distance, found.value, w.angle(distance, found.value), found


def _hand(args: argparse.Namespace, method: str) -> Hand:
    """The measured hand, with what the arguments say instead."""
    from dataclasses import replace

    from drillrunner.catalogue.ranges import load_hand

    hand, problems = load_hand()
    if problems:
        raise Wrong(str(problems[0]))
    arm, size = _number(args, "arm"), _number(args, "hand")
    if size is not None:
        hand = replace(hand, **{method.removesuffix("s"): size})
    hand = hand if arm is None else replace(hand, arm=arm)
    for name, value in (("--arm", arm), ("--hand", size)):
        if value is not None and value <= 0:
            raise Wrong(f"{name} {value:g}: expected more than 0")
    return hand


def _marks(typed: list[str]) -> tuple[Mark, Mark]:
    from drillrunner.catalogue.width import Mark

    if len(typed) != 2:
        raise Wrong(f"--mark: expected two marks, not {len(typed)}")
    marks = []
    for text in typed:
        distance, at, bearing = text.partition("@")
        if not at:
            raise Wrong(f"--mark {text.strip()!r}: expected DISTANCE@BEARING, such as 200@-4")
        marks.append(Mark(_float("--mark", distance), _float("--mark", bearing)))
    return marks[0], marks[1]


def _needed(args: argparse.Namespace, name: str) -> float:
    value = _number(args, name)
    if value is None:
        raise Wrong(f"--{name.replace('_', '-')} missing: expected a number")
    return value


def _number(args: argparse.Namespace, name: str) -> float | None:
    typed = getattr(args, name)
    return None if typed is None else _float(f"--{name.replace('_', '-')}", typed)


def _float(option: str, typed: str) -> float:
    from drillrunner.cli.odds_options import decimal

    return float(decimal(option, typed))
