"""A card in a CSV file: one row a hole, an empty cell for what is not known.

Columns `hole tee number approach result left lie putt putts penalties score`, in any order; only
`hole` must be there. Every fault is named by hole, field and reason, not the first one alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from drillrunner.catalogue.courses import Course
from drillrunner.practice.carries.columns import Sheet
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.card_keys import FEET_IN_A_METRE
from drillrunner.rules.scorecard import CARD_LENGTHS, CHOICES, COUNTS

COLUMNS = (
    "hole", "tee", "number", "approach", "result", "left", "lie", "putt", "putts", "penalties",
    "score",
)  # fmt: skip
WHOLE = re.compile(r"[0-9]{1,3}")
LENGTH = re.compile(r"[0-9]{1,4}([.,][0-9]{1,2})?")


class BadCard(ValueError):
    """What is wrong with a card: each with its hole or line, field and reason."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(faults))


def read_card(
    sheet: Sheet, course: Course, putts_in_metres: bool = False
) -> tuple[HolePlayed, ...]:
    """The holes of a card, scores worked out where they follow. Raises BadCard."""
    unknown = [head for head in sheet.heads if head.casefold() not in COLUMNS]
    if unknown:
        raise BadCard([f"column {unknown[0]!r:.40}: expected one of {', '.join(COLUMNS)}"])
    heads = [head.casefold() for head in sheet.heads]
    if "hole" not in heads:
        raise BadCard(["column 'hole': missing"])
    faults: list[str] = []
    holes: dict[int, HolePlayed] = {}
    for line, row in sheet.rows:
        cells = dict(zip(heads, row, strict=False))
        number = cells.get("hole", "")
        if not WHOLE.fullmatch(number) or not 1 <= int(number) <= len(course.holes):
            faults.append(
                f"line {line}, hole: expected 1 to {len(course.holes)}, not {number!r:.40}"
            )
            continue
        hole = int(number)
        if why := too_long(heads, row):
            faults.append(f"hole {hole}, cells: {why}")
        if hole in holes:
            faults.append(f"hole {hole}, hole: it is in the card twice")
            continue
        found, wrong = _hole(hole, cells, putts_in_metres)
        par = course.holes[hole - 1].par
        found = found.settled(par)
        wrong = wrong or found.faults(par)
        if not wrong and found.score is None:
            wrong = {"score": "missing: it can't be worked out from what is told"}
        faults += [f"hole {hole}, {name}: {reason}" for name, reason in wrong.items()]
        holes[hole] = found
    if not holes and not faults:
        raise BadCard(["no hole is in it: expected a row for each"])
    faults += [] if faults else _missing(sorted(holes), len(course.holes))
    if faults:
        raise BadCard(faults)
    return tuple(holes[number] for number in sorted(holes))


def too_long(heads: Sequence[str], row: Sequence[str]) -> str | None:
    """Why a row does not fit under the heads: a number cut in two at its comma, as a rule."""
    if not any(row[len(heads) :]):
        return None
    return f"expected {len(heads)} cells, as there are heads, not {len(row)}"


def _hole(
    hole: int, cells: Mapping[str, str], putts_in_metres: bool
) -> tuple[HolePlayed, Mapping[str, str]]:
    told: dict[str, Any] = {}
    wrong: dict[str, str] = {}
    for name, cell in cells.items():
        if name == "hole" or not cell:
            continue
        value = _value(name, cell)
        if value is None:
            wrong[name] = f"expected {_expected(name)}, not {cell!r:.40}"
        elif name == "putt" and putts_in_metres:
            told[name] = (value * FEET_IN_A_METRE).quantize(Decimal("0.01")).normalize()
        else:
            told[name] = value
    return HolePlayed(hole, **told), wrong


def _value(name: str, cell: str) -> Any:
    if name in CHOICES:
        said = cell.casefold().replace(" ", "-")
        return said if said in CHOICES[name] else None
    if name in CARD_LENGTHS:
        return Decimal(cell.replace(",", ".")) if LENGTH.fullmatch(cell) else None
    return int(cell) if WHOLE.fullmatch(cell) else None


def _expected(name: str) -> str:
    if name in CHOICES:
        return f"one of {', '.join(CHOICES[name])}"
    assert name in (*CARD_LENGTHS, *COUNTS)
    return "a length" if name in CARD_LENGTHS else "a whole number"


def _missing(told: Sequence[int], count: int) -> Iterator[str]:
    """A card is of all holes, or of the first or the last nine of eighteen."""
    every = list(range(1, count + 1))
    if list(told) in (every, every[:9], every[9:] or every):
        return
    wanted = (
        every
        if len(told) > 9 or count == 9
        else every[9:]
        if min(told, default=1) > 9
        else every[:9]
    )
    for number in wanted:
        if number not in told:
            yield f"hole {number}, score: missing: expected all {count} holes, or nine"
    for number in told:
        if number not in wanted:
            yield f"hole {number}, hole: expected all {count} holes, or the first or last nine"
