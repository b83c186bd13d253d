"""Exact decimals, the two units, and the numbers a player types.

Source of the conversion: 1 yd = 0.9144 m exactly (international yard, 1959; NIST SP 811).
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

Unit = Literal["yd", "m"]
Measure = Literal["yd", "m", "ft"]
"""What a distance is read in: the drill's unit, or feet on the green of a drill in yards."""

METRES_IN_A_YARD = Decimal("0.9144")
FEET_IN_A_YARD = 3
NUMBER = re.compile(r"([+-]?)([0-9]{1,3}(?:[.,]([0-9]{1,2}))?)")


def whole(value: Decimal) -> Decimal:
    """Round to a whole number, halves away from zero."""
    return value.quantize(Decimal(1), ROUND_HALF_UP)


def convert(value: Decimal, old: Unit, new: Unit) -> Decimal:
    """The same distance in another unit, exact to the precision of the decimal context."""
    if old == new:
        return value
    return value * METRES_IN_A_YARD if new == "m" else value / METRES_IN_A_YARD


def on_green(unit: Unit) -> Measure:
    """What is counted in on the green: feet, or metres."""
    return "ft" if unit == "yd" else "m"


def feet(value: Decimal, measure: Measure) -> Decimal:
    """A distance in feet."""
    if measure == "ft":
        return value
    return convert(value, measure, "yd") * FEET_IN_A_YARD


def plain(value: Decimal | int) -> int | float:
    """A number for JSON: an int where it is whole, else the float with the same digits."""
    return int(value) if value == int(value) else float(value)


def text(value: Decimal | int | float) -> str:
    """A number as a person writes it: no trailing zeros, no exponent."""
    if isinstance(value, Decimal):
        value = plain(value)
    return str(int(value)) if value == int(value) else str(value)


def numbered(count: int, thing: str) -> str:
    """So many of a thing, by its regular plural: `1 ball`, `20 balls`."""
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def spoken(unit: Measure) -> str:
    """The unit's name in a sentence, in the plural."""
    return {"yd": "yards", "m": "metres", "ft": "feet"}[unit]


def grid_of(digits: str, drill_grid: Decimal) -> Decimal:
    """The step on which a typed number was read.

    It is the drill's if the number is a multiple of it, else the last decimal typed, else 1.
    """
    value = Decimal(digits.replace(",", "."))
    if value % drill_grid == 0:
        return drill_grid
    exponent = value.as_tuple().exponent
    return Decimal(1).scaleb(min(int(exponent), 0))
