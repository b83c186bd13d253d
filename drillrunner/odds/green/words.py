"""How holing out from a lie is said, on screen, page and command line. Pure; no numpy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillrunner.odds.words import band, share
from drillrunner.rules.shot import NearLie
from drillrunner.rules.units import numbered, text

if TYPE_CHECKING:
    from drillrunner.odds.green.portrait import GreenSide, LengthRow

LIE_TITLES: dict[NearLie, str] = {
    "green": "Putts",
    "fringe": "From the fringe",
    "rough": "From rough by the green",
    "sand": "From sand by the green",
}
BARS = 78
"""Columns from which each length has its bar."""
BAR = 31
MEDIAN, OTHER, STRETCH = "●", "◇", "─"


def head(side: GreenSide) -> list[str]:
    """What stands behind the figures, and who is beside."""
    thing = "putt" if side.lie == "green" else "ball"
    behind = f"from {numbered(side.shots, thing)}"
    return [
        f"{behind}; a guess so far" if side.guess else behind,
        f"{OTHER} beside: {side.beside}",
        "in brackets: 8 in 10 sure",
    ]


def chance_of(side: GreenSide) -> str:
    """What the chances are of."""
    return "holed" if side.within == 1 else f"down in {side.within}"


def green_lines(side: GreenSide, width: int) -> list[str]:
    """All that is known of a lie, line by line, for a window so wide."""
    found = [LIE_TITLES[side.lie].upper(), *head(side), ""]
    found.append(f"{chance_of(side):<25}{OTHER:>4}{'typed':>7}".rstrip())
    for row in side.rows:
        line = f"{_length(side, row):<7}{band(row.holed):<18}{share(row.other):>5}{_count(row):>6}"
        found.append(line + (f"  {bar(row)}" if width >= BARS else ""))
    found += ["", f"{'strokes, on average':<25}{OTHER:>4}"]
    for row in side.rows:
        found.append(f"{_length(side, row):<7}{stroke_words(row):<18}{row.other_strokes:>5.2f}")
    return found


def stroke_words(row: LengthRow) -> str:
    """Strokes to hole out, with their interval."""
    low, high = row.strokes.low, row.strokes.high
    return f"{row.strokes.median:.2f} ({low:.2f} to {high:.2f})"


def bar(row: LengthRow) -> str:
    """A chance from 0 to 100 %: the interval as a stretch, the other as a shape of its own."""
    cells = [" "] * BAR
    at = [round(value * (BAR - 1)) for value in (row.holed.low, row.holed.high)]
    cells[at[0] : at[1] + 1] = STRETCH * (at[1] + 1 - at[0])
    cells[round(row.other * (BAR - 1))] = OTHER
    cells[round(row.holed.median * (BAR - 1))] = MEDIAN
    return f"│{''.join(cells)}│"


def _length(side: GreenSide, row: LengthRow) -> str:
    return f"{text(row.length):>3} {side.measure}"


def _count(row: LengthRow) -> str:
    return f"{row.inside}/{row.of}" if row.of else ""
