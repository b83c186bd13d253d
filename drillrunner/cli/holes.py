"""`drillrunner holes`: which club and which line from the tees of a course."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from drillrunner.cli.layout import put_json, table
from drillrunner.cli.odds_options import stored
from drillrunner.cli.options import FINE, Wrong, add_json, add_player, text_argument
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.odds.strokes.tee import Line
    from drillrunner.services.tee_lines import HoleLines


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("course", metavar="COURSE", type=text_argument, help="its id")
    parser.add_argument("--tee", metavar="NAME", type=text_argument, help="the first unless said")
    parser.add_argument("--hole", metavar="N", type=text_argument, help="that hole alone")
    add_player(parser, "whose patterns (else the owner's, else a golfer of the model)")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Work the holes out. Raises Wrong, StoreError."""
    from drillrunner.catalogue.courses import load_courses
    from drillrunner.services.tee_lines import course_lines

    try:
        course = load_courses().course(args.course)
        tee = course.tee(args.tee)
    except LookupError as error:
        raise Wrong(str(error.args[0])) from None
    numbers = None if args.hole is None else [_number(args.hole, len(course.holes))]
    with stored(args) as (store, whose):
        found = course_lines(store, whose, course, tee, numbers)
    if args.json:
        put_json([_document(hole) for hole in found.holes])
        return FINE
    put(f"{course.title}, {tee.name}: from what is typed of each hole; the choice is yours\n")
    put(table(HEADS, [_row(hole) for hole in found.holes]))
    put("")
    for line in (*found.words(), ALIKE):
        put(line)
    return FINE


HEADS = ("hole", "par", "yards", "club", "line", "expected", "middle", "next best")
ALIKE = "under 0.05 strokes is no difference; line: yards right (R) or left (L) of the middle"


def _number(said: str, count: int) -> int:
    if not said.isascii() or not said.isdigit() or not 1 <= int(said) <= count:
        raise Wrong(f"--hole: expected 1 to {count}, not {said!r:.60}")
    return int(said)


def _row(hole: HoleLines) -> tuple[Any, ...]:
    from drillrunner.odds.strokes.tee import NO_DIFFERENCE

    best = hole.best
    other = hole.lines[1] if len(hole.lines) > 1 else None
    beside = ""
    if other is not None:
        alike = other.expected - best.expected < NO_DIFFERENCE
        beside = f"{other.club}: no difference" if alike else f"{other.club} {other.expected:.2f}"
    aim = _aim(best.aim) if best.matters else "no difference"
    figures = f"{best.expected:.2f}", f"{best.middle:.2f}"
    return (hole.number, hole.hole.par, round(hole.hole.length), best.club, aim, *figures, beside)


def _aim(aim: int) -> str:
    return "middle" if aim == 0 else f"{abs(aim)} {'R' if aim > 0 else 'L'}"


def _document(hole: HoleLines) -> dict[str, Any]:
    return {"hole": hole.number, **_option(hole.best), "middle": round(hole.best.middle, 3)} | {
        "options": [_option(line) for line in hole.lines]
    }


def _option(line: Line) -> dict[str, Any]:
    return {"club": line.club, "aim": line.aim, "expected": round(line.expected, 3)}
