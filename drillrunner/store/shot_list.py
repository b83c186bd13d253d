"""Every shot as one row of plain values, for a spreadsheet or a statistics program."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from drillrunner.rules.run import Kind
from drillrunner.rules.shot import Seen
from drillrunner.rules.units import text
from drillrunner.store.shapes import StoredEntry, StoredRun
from drillrunner.store.store import Store

COLUMNS = {
    "player": "name",
    "run": "the run's lasting id",
    "seq": "number of the entry in its run, from 1",
    "at": "when it was entered, ISO 8601 with offset",
    "drill": "the drill's id",
    "game": "the game's id",
    "club": "the club's id",
    "swing": "the player's own name for it",
    "unit": "yd or m: of every distance in this row",
    "aim_carry": "the carry aimed at",
    "aim_width": "the corridor's full width",
    "aim_depth": "the window's full depth",
    "aim_length": "how far from the hole; on the green in feet where the unit is yd",
    "aim_lie": "green, fringe, rough or sand",
    "typed": "what was typed",
    "lateral_side": "-1 left, 0 in or dead on, 1 right; empty if not seen",
    "lateral": "signed distance to the side, - left, + right",
    "lateral_off": "distance to the side without its sign",
    "lateral_grid": "the step that it was read on",
    "depth_side": "-1 short, 0 in or dead on, 1 long; empty if not seen",
    "depth": "signed distance short or long, - short, + long",
    "depth_off": "distance short or long without its sign",
    "depth_grid": "the step that it was read on",
    "carry": "how far it flew",
    "carry_grid": "the step that it was read on",
    "strokes": "how many it took to hole out",
    "leave": "what a putt left to the hole; in feet where the unit is yd",
    "leave_grid": "the step that it was read on",
    "call": "the carry that was said before it was seen",
    "call_grid": "the step that it was read on",
    "out": "1 if it missed the aim and the side was not seen",
    "lost": "1 if the ball was lost",
    "live": "1 unless it was undone",
    "void": "1 if it is void",
    "counts": "1 if it counts in the score",
    "session": "the session's lasting id",
    "match": "the match's lasting id",
    "match_order": "its number among all entries of the match",
}
"""The columns of the list, in order, and what they mean; empty where nothing is known."""

Row = list[str]


def rows(store: Store) -> Iterator[Row]:
    """One row a shot, oldest run first; the shots that were undone or are void too."""
    for run in reversed(store.history()):
        for entry in store.entries(run.run):
            if entry.kind is Kind.SHOT:
                yield _row(run, entry)


def _row(run: StoredRun, entry: StoredEntry) -> Row:
    shot, aim = entry.shot, entry.aim
    assert shot is not None
    assert aim is not None
    lateral, depth = _seen(shot.lateral), _seen(shot.depth)
    lost = any(seen is not None and seen.lost for seen in (shot.lateral, shot.depth))
    return [
        run.player,
        run.run,
        str(entry.seq),
        entry.at.isoformat(),
        run.drill,
        run.game,
        entry.club or "",
        entry.swing or "",
        run.unit,
        *map(_number, (aim.carry, aim.width, aim.depth, aim.length)),
        aim.lie or "",
        entry.text,
        *lateral,
        *depth,
        *map(_number, (shot.carry, shot.carry_grid)),
        "" if shot.strokes is None else str(shot.strokes),
        *map(_number, (shot.leave, shot.leave_grid, shot.call, shot.call_grid)),
        *(str(int(flag)) for flag in (shot.out, lost, entry.live, entry.void, entry.counts)),
        run.session_id or "",
        run.match_id or "",
        "" if entry.match_order is None else str(entry.match_order),
    ]


def _seen(seen: Seen | None) -> Row:
    """Side, signed and plain distance, and grid."""
    if seen is None:
        return [""] * 4
    side = "" if seen.side is None else str(seen.side)
    return [side, *map(_number, (seen.signed, seen.size, seen.grid))]


def _number(value: Decimal | None) -> str:
    return "" if value is None else text(value)
