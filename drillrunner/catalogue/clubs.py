"""The clubs that a drill can name, in the order of a bag."""

from __future__ import annotations

from typing import NamedTuple


class Club(NamedTuple):
    """One club. usual_carry: yards of an average golfer, a first guess until shots say better.

    The carries are common practice, no source. A putter has none.
    """

    id: str
    label: str
    order: int
    usual_carry: int | None


_BAG = (
    ("driver", "Driver", 200),
    ("3-wood", "3 wood", 185),
    ("5-wood", "5 wood", 175),
    ("7-wood", "7 wood", 165),
    ("hybrid", "Hybrid", 170),
    ("3-iron", "3 iron", 165),
    ("4-iron", "4 iron", 155),
    ("5-iron", "5 iron", 145),
    ("6-iron", "6 iron", 135),
    ("7-iron", "7 iron", 125),
    ("8-iron", "8 iron", 115),
    ("9-iron", "9 iron", 105),
    ("pitching-wedge", "Pitching wedge", 95),
    ("gap-wedge", "Gap wedge", 85),
    ("sand-wedge", "Sand wedge", 70),
    ("lob-wedge", "Lob wedge", 55),
    ("putter", "Putter", None),
)

CLUBS: dict[str, Club] = {
    id: Club(id, label, order, carry) for order, (id, label, carry) in enumerate(_BAG, 1)
}


def swing_title(club: str, swing: str) -> str:
    """A club and a swing as they are called: `Lob wedge`, or `Lob wedge, half`."""
    known = CLUBS.get(club)
    return (known.label if known else club) + ("" if swing == "full" else f", {swing}")
