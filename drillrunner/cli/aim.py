"""`drillrunner aim`: how wide a target is, from what can be held up, counted or sighted."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

from drillrunner.catalogue import width as w
from drillrunner.cli.layout import labelled, put_json
from drillrunner.cli.options import FINE, Wrong, add_json
from drillrunner.cli.terminal import put, say

WAYS = {
    "angle": "angle",
    "width": "wanted",
    **{f"{thing}s": "hand" for thing in w.THINGS},
    "posts": "posts",
    "mark": "bearings",
}
"""The options that say how it was measured, with the method of each."""


def arguments(parser: argparse.ArgumentParser) -> None:
    for name, quantity in w.QUANTITIES.items():
        if quantity.told:
            told = quantity.told.replace("%", "%%")
            parser.add_argument(_option(name), metavar=quantity.metavar, help=told)
    for thing in w.THINGS:
        parser.add_argument(f"--{thing}s", metavar="N", help=f"{thing}s held up at arm's length")
    parser.add_argument(
        "--mark",
        metavar="YARDS@BEARING",
        action="append",
        default=[],
        help="a mark, by distance and bearing in degrees; two give the gap between them",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the width, or for `--width` the angle. Raises Wrong."""
    given = [name for name in WAYS if getattr(args, name) not in (None, [])]
    if len(given) != 1:
        raise Wrong(
            "expected one of " + ", ".join(f"--{name}" for name in WAYS) + " to measure with"
        )
    way = given[0]
    method, thing = w.METHODS[WAYS[way]], way.removesuffix("s")
    known = {
        name: _float(_option(name), typed)
        for name, quantity in w.QUANTITIES.items()
        if quantity.told and (typed := getattr(args, name)) is not None
    }
    for name in known:
        _fits(name, way)
    hand = _hand(known, thing)
    known |= _marks(args.mark) if way == "mark" else {}
    if WAYS[way] == "hand":
        known["count"] = _float(f"--{way}", getattr(args, way))
    for name in method.asks:
        if name not in known and name != "thing" and w.QUANTITIES[name].needed:
            raise Wrong(f"{_option(name)} missing: expected a number")
    try:
        answer = method.work(known, thing, hand)
        if way == "mark":
            middle = (known["left_distance"] + known["right_distance"]) / 2
            known.setdefault("distance", middle)
        distance = known["distance"]
        wide = known["width"] if way == "width" else answer.value
        angle = w.angle_of(distance, wide).value
    except w.BadMeasure as error:
        raise Wrong(str(error)) from None
    if args.json:
        bounds = {"low": answer.low, "high": answer.high}
        put_json({"distance": distance, "width": wide, "angle": angle, **bounds})
        return FINE
    sure = f" ({answer.low:.1f} to {answer.high:.1f})"
    lines: dict[str, Any] = {
        "distance": f"{distance:.0f} yd",
        "width": f"{wide:.1f} yd{'' if way == 'width' else sure}",
        "angle": f"{angle:.1f} degrees{sure if way == 'width' else ''}",
    }
    for held, many in w.how_many(distance, wide, hand).items():
        lines[f"{held}s"] = f"{many:.1f}"
    if way == "width":
        lines |= _on_the_ranges(distance, wide)
    put(labelled(lines))
    return FINE


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _fits(name: str, way: str) -> None:
    """Raises Wrong for an option that the way to measure does not ask for."""
    # Any answer is said in fingers too, and marks may be told of at another distance.
    if name == "arm" or (name == "distance" and way == "mark"):
        return
    takes = [
        option
        for option, method in WAYS.items()
        if name in (*w.METHODS[method].asks, *w.METHODS[method].errors)
        and not (name == "hand" and option == "width")
    ]
    if way not in takes:
        known = " or ".join(f"--{option}" for option in takes)
        raise Wrong(f"{_option(name)}: expected only beside {known}")


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


def _hand(known: dict[str, float], thing: str) -> w.Hand:
    """The measured hand, with what the arguments say instead."""
    from drillrunner.catalogue.ranges import load_hand

    hand, problems = load_hand()
    if problems:
        raise Wrong(str(problems[0]))
    said = {}
    for name, field in (("arm", "arm"), ("hand", thing)):
        if name in known:
            said[field] = known[name]
            if known[name] <= 0:
                raise Wrong(f"--{name} {known[name]:g}: expected more than 0")
    return replace(hand, **said)


def _marks(typed: list[str]) -> dict[str, float]:
    if len(typed) != 2:
        raise Wrong(f"--mark: expected two marks, not {len(typed)}")
    marks = {}
    for side, text in zip(("left", "right"), typed, strict=True):
        distance, at, bearing = text.partition("@")
        if not at:
            raise Wrong(f"--mark {text.strip()!r}: expected DISTANCE@BEARING, such as 200@-4")
        marks[f"{side}_distance"] = _float("--mark", distance)
        marks[f"{side}_bearing"] = _float("--mark", bearing)
    return marks


def _float(option: str, typed: str) -> float:
    from drillrunner.cli.odds_options import decimal

    return float(decimal(option, typed))
