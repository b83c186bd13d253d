"""`drillrunner strokes`: how many strokes a golfer of an index takes to hole out from somewhere."""

from __future__ import annotations

import argparse
import math

from drillrunner.cli.layout import put_json
from drillrunner.cli.options import FINE, Wrong, add_json, text_argument
from drillrunner.cli.terminal import put

LOWEST, HIGHEST = -10.0, 54.0
"""Indices that are taken: the highest there is (Rules of Handicapping, rule 5.3), and low ones."""
GREEN = "green"
FURTHEST = {GREEN: 129.0}
LIES = ("tee", "fairway", "rough", "sand", "recovery", GREEN)


def arguments(parser: argparse.ArgumentParser) -> None:
    far = "yards to the middle of the green; on the green feet to the hole"
    parser.add_argument("distance", metavar="DISTANCE", type=text_argument, help=far)
    parser.add_argument("lie", metavar="LIE", type=text_argument, help=f"one of {', '.join(LIES)}")
    parser.add_argument(
        "--index", metavar="N", type=text_argument, required=True, help="handicap index"
    )
    parser.add_argument("--women", action="store_true", help="of the women's rating model")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Look the strokes up. Raises Wrong."""
    from drillrunner.catalogue.strokes.table import FROM_MEN, LEAST_YARDS, level

    lie = args.lie.casefold()
    if lie not in LIES:
        raise Wrong(f"LIE: expected one of {', '.join(LIES)}, not {args.lie!r:.60}")
    index = _number("--index", args.index, LOWEST, HIGHEST)
    # A plus index is typed with its sign: better than scratch.
    index = -index if args.index.strip().startswith("+") else index
    unit = "feet" if lie == GREEN else "yards"
    distance = _number("DISTANCE", args.distance, 0.0, FURTHEST.get(lie, 660.0), f" {unit}")
    strokes = level(index, "women" if args.women else "men")
    expected = round(
        strokes.green(distance) if lie == GREEN else strokes.of(distance, lie),
        3,
    )
    if args.json:
        put_json({"expected": expected})
        return FINE
    put(f"{expected:.2f} strokes to hole out, by a model of golfers of that index")
    if lie != GREEN and distance < LEAST_YARDS:
        put(f"a ball off the green counts as {LEAST_YARDS:.0f} yards from its middle")
    if args.women:
        put(FROM_MEN)
    return FINE


def _number(name: str, said: str, low: float, high: float, unit: str = "") -> float:
    try:
        value = float(said.replace(",", "."))
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise Wrong(f"{name}: expected {low:g} to {high:g}{unit}, not {said!r:.60}")
    return value
