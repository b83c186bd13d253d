"""`drillrunner pattern`: where a player's shots with one club and swing finish, or how they hole
out from a lie.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, get_args

from drillrunner.cli.layout import labelled, put_json
from drillrunner.cli.odds_options import stored
from drillrunner.cli.options import FINE, Wrong, add_json, add_player
from drillrunner.cli.terminal import put
from drillrunner.odds.words import aim_beside, band, count_of, more_words
from drillrunner.rules.shot import NearLie
from drillrunner.rules.units import plain

if TYPE_CHECKING:
    from drillrunner.odds.desk import Picture
    from drillrunner.odds.pattern import Band
    from drillrunner.rules import Direction
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "club",
        metavar="CLUB",
        help="its id: driver, 7-iron, sand-wedge ...; or a lie: green, fringe, rough, sand",
    )
    parser.add_argument("--swing", metavar="NAME", default="full", help="full unless said")
    add_player(parser, "whose shots (else the owner's)")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Show the pattern in both directions. Raises Wrong, StoreError."""
    from drillrunner.catalogue.clubs import CLUBS
    from drillrunner.odds.desk import picture_of, stranger

    with stored(args) as (store, whose):
        if whose is None and store is not None and store.players():
            raise Wrong("whose pattern is it? --player NAME says so")
        if args.club in get_args(NearLie):
            return _green(args, store, whose)
        own = [] if store is None or whose is None else [c.id for c in store.clubs(whose.id)]
        known = dict.fromkeys((*CLUBS, *own))
        if args.club not in known:
            lies = ", ".join(get_args(NearLie))
            raise Wrong(
                f"no club {args.club!r}: expected one of {', '.join(known)}, or a lie: {lies}"
            )
        if store is None or whose is None:
            picture, calls = stranger(args.club), stranger(args.club, calls=True)
        else:
            picture = picture_of(store, whose, args.club, args.swing)
            calls = picture_of(store, whose, args.club, args.swing, calls=True)
    directions: tuple[Direction, ...] = ("lateral", "depth")
    if args.json:
        put_json([_document(args, picture, direction) for direction in directions])
    else:
        said = [_words(args, picture, direction) for direction in directions]
        put("\n\n".join(said + ([_calls(args, calls)] if calls.depth.shots else [])))
    return FINE


def _green(args: argparse.Namespace, store: Store | None, whose: PlayerInfo | None) -> int:
    """How a player holes out from a lie."""
    from drillrunner.odds.green.stored import green_of
    from drillrunner.odds.green.words import green_lines

    if args.swing != "full":
        raise Wrong("--swing: expected none with a lie")
    side = green_of(store, whose, args.club)
    if not args.json:
        put("\n".join(green_lines(side, 100)))
        return FINE
    rows = [
        {
            "length": plain(row.length),
            "holed": row.holed._asdict(),
            "beside": row.other,
            "strokes": row.strokes._asdict(),
            "strokes_beside": row.other_strokes,
            "inside": row.inside,
            "of": row.of,
        }
        for row in side.rows
    ]
    put_json({**side._asdict(), "rows": rows})
    return FINE


def _document(args: argparse.Namespace, picture: Picture, direction: Direction) -> dict[str, Any]:
    from drillrunner.odds.desk import WIDTHS
    from drillrunner.odds.portrait import side_of

    pattern, side = picture.of(direction), side_of(picture, direction, "yd")
    return {
        "club": args.club,
        "swing": args.swing,
        "direction": direction,
        "shots": pattern.shots,
        "bias": pattern.bias._asdict(),
        "half_width": pattern.half_width._asdict(),
        "inside": {str(width): pattern.inside(width)._asdict() for width in WIDTHS},
        "half_life": pattern.half_life,
        "shape": side.shape,
        "counted": {str(w): c._asdict() for w, c in zip(WIDTHS, side.counted, strict=True)},
        "aim": {str(w): a and a._asdict() for w, a in zip(WIDTHS, side.aims, strict=True)},
        "more": {str(w): more for w, more in zip(WIDTHS, side.more, strict=True)},
    }


def _words(args: argparse.Namespace, picture: Picture, direction: Direction) -> str:
    from drillrunner.odds.desk import WIDTHS, remark, side
    from drillrunner.odds.portrait import side_of

    pattern = picture.of(direction)
    lines = {
        "shots": str(pattern.shots) + ("; a guess so far" if pattern.guess else ""),
        "average miss": _yards(pattern.bias),
        "two in three within": f"{_yards(pattern.half_width)} of your own centre",
        "side": side(pattern, direction),
    }
    if direction == "depth" and picture.player.carry is not None:
        lines["aimed at"] = f"{picture.player.carry:.0f} yd"
    shown = side_of(picture, direction, "yd")
    if shown.shape is not None:
        lines["shape"] = shown.shape
    for at, width in enumerate(WIDTHS):
        said, aim, tally = remark(pattern, width), shown.aims[at], shown.counted[at]
        parts = [band(pattern.inside(width)), *([said] if said else [])]
        if tally.of:
            parts.append(f"counted {count_of(tally)}")
        if aim is not None:
            parts.append(aim_beside(aim, direction))
        if (more := more_words(shown.more[at])) is not None:
            parts.append(more)
        lines[f"inside {width} yd"] = "; ".join(parts)
    return f"{args.club}, {args.swing}, {direction}\n{labelled(lines)}"


def _calls(args: argparse.Namespace, picture: Picture) -> str:
    from drillrunner.odds.desk import side
    from drillrunner.odds.portrait import side_of

    pattern = picture.depth
    lines = {
        "calls": str(pattern.shots) + ("; a guess so far" if pattern.guess else ""),
        "carry off the call": _yards(pattern.bias),
        "two in three within": f"{_yards(pattern.half_width)} of that",
        "side": side(pattern, "depth", calls=True),
    }
    change = side_of(picture, "depth", "yd").change
    if change is not None:
        lines["change"] = change
    return f"{args.club}, {args.swing}, off what was called\n{labelled(lines)}"


def _yards(band: Band) -> str:
    low, median, high = (round(value, 1) + 0.0 for value in (band.low, band.median, band.high))
    return f"{median:.1f} yd ({low:.1f} to {high:.1f})"
