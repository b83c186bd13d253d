"""A CSV of carries and misses from any source: which column is what, and each row as it is read.

Pure. A `ColumnMap` is made once for a kind of file and can be kept; `read` never guesses a value: a
row that can't be read is named with its line and the reason, and the others still are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from decimal import ROUND_HALF_UP, Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.practice.rounds.days import not_yet
from drillrunner.rules import Direction, Seen, Shot, Unit
from drillrunner.rules.outcome import CARRY_LIMIT, MISS_LIMIT
from drillrunner.rules.units import METRES_IN_A_YARD

Measure = Literal["yd", "m", "ft"]
Positive = Literal["right", "left", "long", "short"]
What = Literal["carry", "target", "lateral", "depth", "club", "swing", "at"]

FIELDS: dict[What, str] = {
    "carry": "how far the ball flew",
    "target": "the carry that was aimed at",
    "lateral": "how far it finished to the side",
    "depth": "how far it finished short or long",
    "club": "the club",
    "swing": "the swing, the player's own name for it",
    "at": "the day, or day and time",
}
"""What a column can be; one of carry, lateral and depth must be there."""

HEADS: dict[What, tuple[str, ...]] = {
    "carry": ("carry",),
    "target": ("target",),
    "lateral": ("lateral", "side"),
    "depth": ("depth",),
    "club": ("club",),
    "swing": ("swing",),
    "at": ("at", "date", "time"),
}
"""Plain words for such columns, and only ever an offer: what else a head means, its owner says."""

YARDS: dict[Measure, Decimal] = {
    "yd": Decimal(1),
    "m": 1 / METRES_IN_A_YARD,
    "ft": 1 / Decimal(3),
}

NUMBER = re.compile(r"([+-]?)([0-9]{1,4})(?:[.,]([0-9]{1,6}))?")
SIDED = re.compile(
    r"(?:(?P<first>[A-Za-z]+)\s*)?(?P<number>[^A-Za-z\s]+)(?:\s*(?P<last>[A-Za-z]+))?"
)
SEPARATOR = re.compile(r"\s*sep=([,;\t|])\s*$", re.MULTILINE)
"""The line that spreadsheets put first to say at what the cells are cut (common practice)."""

POINTED = re.compile(r"^([0-9]{2})\.([0-9]{2})\.([0-9]{4})(?![0-9])")
"""A date with points, which has the day first wherever it is written (common practice)."""

SIDES: dict[str, dict[str, int]] = {
    "lateral": {"l": -1, "left": -1, "r": 1, "right": 1},
    "depth": {"s": -1, "short": -1, "l": 1, "long": 1},
}
MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00a0": " "})
"""The minus sign, the dash and the hard blank that spreadsheets write."""

SHORT = {"w": "wood", "i": "iron", "h": "hybrid"}
WEDGES = {"p": "pitching", "g": "gap", "a": "gap", "s": "sand", "l": "lob"}
"""The letters that the trade stamps on clubs: 3W, 7i, PW."""


class Column(BaseModel):
    """One column: its head in the file, its measure, and the side that a plain number means.

    measure: the mapping's, unless given.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    head: Annotated[str, Field(min_length=1, max_length=200)]
    measure: Measure | None = None
    positive: Positive | None = None


class ColumnMap(BaseModel):
    """Which columns of a file are what.

    measure: of the distances. club: for rows that name none. clubs: what the file calls a club, to
    the club's id.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    columns: dict[What, Column]
    measure: Measure = "yd"
    club: str | None = None
    clubs: dict[str, str] = {}


@dataclass(frozen=True, slots=True)
class Reading:
    """One row as it is read. line: where it ends in the file. Distances are in `unit`."""

    line: int
    club: str
    swing: str
    at: datetime | None
    target: Decimal | None
    shot: Shot
    unit: Unit
    text: str


@dataclass(frozen=True, slots=True)
class UnreadableRow:
    """One row that can't be read, and why."""

    line: int
    reason: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.reason}"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A CSV file: its heads and its rows, each with the line that it ends on."""

    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


class BadSheet(ValueError):
    """A file or a mapping that gives nothing to read; one line."""


def sheet(content: bytes) -> Sheet:
    """The rows of a CSV file. Raises BadSheet.

    UTF-8, UTF-16 with its mark, or else Latin-1; cut at commas, semicolons, tabs or bars.
    """
    text = _decoded(content)
    first = text.lstrip().partition("\n")[0]
    told = SEPARATOR.match(text)
    cut = told[1] if told else max(",;\t|", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=cut, strict=True)
    try:
        rows = [(reader.line_num, tuple(cell.strip() for cell in row)) for row in reader]
    except csv.Error as error:
        raise BadSheet(f"line {reader.line_num}: expected a CSV file: {error}") from None
    rows = [(line, row) for line, row in rows if any(row)][told is not None :]
    if not rows:
        raise BadSheet("expected a CSV file, and this is empty")
    heads = rows[0][1]
    twice = sorted({head for head in heads if head and heads.count(head) > 1})
    if twice:
        raise BadSheet(f"two columns are called {twice[0]!r}: expected each head once")
    return Sheet(heads, tuple(rows[1:]))


def guess_columns(heads: Sequence[str], measure: Measure) -> ColumnMap:
    """An offer of a mapping, from the heads alone; it may be empty.

    measure: where no head says yards or metres.
    """
    columns: dict[What, Column] = {}
    for head in heads:
        name, _, unit = re.sub(r"[_-]+", " ", head.casefold()).partition("(")
        bare, said = name.strip(), unit.strip(" )")
        for what, known in HEADS.items():
            if bare in known and what not in columns:
                columns[what] = Column(head=head, measure=_measure(said))
    said_first = next((c.measure for c in columns.values() if c.measure in ("yd", "m")), None)
    return ColumnMap(columns=columns, measure=said_first or measure)


def check_columns(mapping: ColumnMap, heads: Sequence[str]) -> None:
    """Raise BadSheet where a mapping does not fit the heads of a file, or reads no shot."""
    for what, column in mapping.columns.items():
        if column.head not in heads:
            raise BadSheet(f"{what}: no column {column.head!r}: there are {', '.join(heads)}")
        sides = ("right", "left") if what == "lateral" else ("long", "short")
        if column.positive and (what not in ("lateral", "depth") or column.positive not in sides):
            raise BadSheet(f"{what}: {column.positive!r} is no side of it")
    if not {"carry", "lateral", "depth"} & set(mapping.columns):
        raise BadSheet(
            "expected a column of carries, or of misses to the side, or short and long: "
            f"there are {', '.join(heads)}"
        )
    if "club" not in mapping.columns and mapping.club is None:
        raise BadSheet("expected a column that names the club, or one club for all rows")
    for id in (*mapping.clubs.values(), *([] if mapping.club is None else [mapping.club])):
        if id not in CLUBS:
            raise BadSheet(f"unknown club {id!r}: expected one of {', '.join(CLUBS)}")


def read(
    table: Sheet, mapping: ColumnMap, zone: tzinfo | None, today: date | None = None
) -> tuple[tuple[Reading, ...], tuple[UnreadableRow, ...]]:
    """Every row: those that can be read, and those that can't. Raises BadSheet.

    zone: of times that name none; `None` is the computer's, with its summer time. today: no shot
    was hit after it; `None` asks nothing of the days.
    """
    check_columns(mapping, table.heads)
    readings: list[Reading] = []
    faults: list[UnreadableRow] = []
    for line, row in table.rows:
        try:
            if len(row) != len(table.heads):
                raise ValueError(f"{len(row)} cells under {len(table.heads)} heads")
            cells = dict(zip(table.heads, row, strict=True))
            reading = _reading(line, cells, mapping, zone)
            day = None if reading.at is None else reading.at.date()
            if today is not None and day is not None and (why := not_yet(day, today)):
                raise ValueError(f"at: {why}")
            readings.append(reading)
        except ValueError as error:
            faults.append(UnreadableRow(line, str(error)))
    return tuple(readings), tuple(faults)


def club_of(text: str) -> str:
    """The club that the trade means by `7 Iron`, `7i` or `PW`. Raises ValueError."""
    said = re.sub(r"[\s_-]+", "", text.casefold())
    for id in CLUBS:
        if said == id.replace("-", ""):
            return id
    if said in ("1w", "1wood"):
        return "driver"
    if match := re.fullmatch(r"(\d)(w|i|h|hybrid)", said):
        kind = SHORT.get(match[2], match[2])
        id = "hybrid" if kind == "hybrid" else f"{match[1]}-{kind}"
        if id in CLUBS:
            return id
    if (match := re.fullmatch(r"([pgasl])(?:w|wedge)", said)) is not None:
        return f"{WEDGES[match[1]]}-wedge"
    raise ValueError(f"club: unknown club {text!r}: `--club {text}=ID` says which it is")


def _club(named: str, mapping: ColumnMap) -> str:
    own = {name.casefold(): id for name, id in mapping.clubs.items()}
    return own.get(named.casefold()) or club_of(named)


def _decoded(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings: Iterable[str] = ("utf-16",)
    else:
        encodings = ("utf-8-sig", "latin-1")
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text
    raise BadSheet("expected a CSV file, and this is no text")


def _measure(said: str) -> Measure | None:
    measures: dict[str, Measure] = {
        **dict.fromkeys(("yd", "yds", "yard", "yards"), "yd"),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
        **dict.fromkeys(("ft", "feet", "foot"), "ft"),
    }
    return measures.get(said)


def _reading(line: int, cells: dict[str, str], mapping: ColumnMap, zone: tzinfo | None) -> Reading:
    def cell(what: What) -> str:
        column = mapping.columns.get(what)
        return cells[column.head] if column else ""

    unit: Unit = "m" if _of(mapping, _leading(mapping)) == "m" else "yd"
    carry = _size("carry", cell("carry"), mapping, unit)
    target = _size("target", cell("target"), mapping, unit)
    lateral = _miss("lateral", cell("lateral"), mapping, unit)
    depth = _miss("depth", cell("depth"), mapping, unit)
    if carry is None and lateral is None and depth is None:
        raise ValueError("neither a carry nor a miss")
    named = cell("club")
    if not named and mapping.club is None:
        raise ValueError("club: no club named")
    swing = " ".join(cell("swing").split()) or "full"
    if len(swing) > 40 or not swing.isprintable():
        raise ValueError("swing: expected at most 40 characters that can be printed")
    shot = Shot(
        lateral, depth, None if carry is None else carry[0], None if carry is None else carry[1]
    )
    whats: tuple[What, ...] = ("carry", "lateral", "depth")
    said = ", ".join(f"{what} {cell(what)}" for what in whats if cell(what))
    return Reading(
        line=line,
        club=_club(named, mapping) if named else str(mapping.club),
        swing=swing,
        at=_moment(cell("at"), zone),
        target=None if target is None else target[0],
        shot=shot,
        unit=unit,
        text=said.translate(MINUS)[:200],
    )


def _leading(mapping: ColumnMap) -> What:
    """The column whose measure all the row's distances are kept in."""
    whats: tuple[What, ...] = ("carry", "target", "lateral", "depth")
    return next(what for what in whats if what in mapping.columns)


def _of(mapping: ColumnMap, what: What) -> Measure:
    return mapping.columns[what].measure or mapping.measure


def _size(what: What, text: str, mapping: ColumnMap, unit: Unit) -> tuple[Decimal, Decimal] | None:
    """A distance that is never negative, and the step that it was read on."""
    found = _number(what, text, mapping, unit)
    if found is None:
        return None
    value, grid = found
    if not 0 < value <= CARRY_LIMIT:
        raise ValueError(f"{what}: expected more than 0 and at most {CARRY_LIMIT}, not {text!r}")
    return value, grid


def _miss(direction: Direction, text: str, mapping: ColumnMap, unit: Unit) -> Seen | None:
    found = _number(direction, text, mapping, unit)
    if found is None:
        return None
    value, grid = found
    if abs(value) > MISS_LIMIT:
        raise ValueError(f"{direction}: expected at most {MISS_LIMIT} to a side, not {text!r}")
    return Seen.number(value, grid)


def _number(
    what: What, text: str, mapping: ColumnMap, unit: Unit
) -> tuple[Decimal, Decimal] | None:
    """A signed number in `unit` with at most two decimals, and the step that it was read on."""
    plain = text.translate(MINUS).strip()
    if not plain:
        return None
    match = SIDED.fullmatch(plain)
    word = next((w for w in (match["first"], match["last"]) if w), "") if match else ""
    side = SIDES.get(what, {}).get(word.casefold())
    number = NUMBER.fullmatch(match["number"]) if match else None
    measure = _measure(word.casefold())
    if number is None or (word and side is None and measure is None):
        raise ValueError(f"{what}: expected a number, not {text!r}")
    sign, whole, decimals = number[1], number[2], number[3] or ""
    value = Decimal(f"{whole}.{decimals or 0}")
    if side is not None:
        if sign:
            raise ValueError(f"{what}: expected a sign or a side, not both: {text!r}")
        value *= side
    else:
        value = -value if sign == "-" else value
        if mapping.columns[what].positive in ("left", "short"):
            value = -value
    step = Decimal(1).scaleb(-len(decimals))
    return _kept(value, step, measure or _of(mapping, what), unit)


def _kept(value: Decimal, step: Decimal, old: Measure, unit: Unit) -> tuple[Decimal, Decimal]:
    """In the unit that is kept, to the hundredth, halves away from zero."""
    if old != unit:
        scale = YARDS[old] / YARDS[unit]
        value, step = value * scale, step * scale
    cent = Decimal("0.01")
    value = value.quantize(cent, ROUND_HALF_UP)
    return value + 0, max(step.quantize(cent, ROUND_HALF_UP), cent)


def _moment(text: str, zone: tzinfo | None) -> datetime | None:
    """ISO 8601 or, with points, day first; with or without the time.

    Raises ValueError for anything that could be misread.
    """
    if not text:
        return None
    written, text = text, POINTED.sub(r"\3-\2-\1", text)
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            "at: expected a day as 2026-05-31 or 31.05.2026, with or without 18:30, "
            f"not {written!r}"
        ) from None
    if len(text) <= 10:
        found = datetime.combine(date.fromisoformat(text), time(12))
    if found.tzinfo is not None:
        return found
    return found.astimezone() if zone is None else found.replace(tzinfo=zone)


def preview(readings: Sequence[Reading], rows: int = 10) -> Iterator[tuple[int, str, str, str]]:
    """The first rows as they are read: line, club, what was aimed at, and the shot in words."""
    for reading in readings[:rows]:
        aim = "" if reading.target is None else f"{reading.target} {reading.unit}"
        yield reading.line, f"{reading.club} ({reading.swing})", aim, words(reading)


def words(reading: Reading) -> str:
    """A row in words: `152.3 yd, 4 left`."""
    shot = reading.shot
    said = [Shot(carry=shot.carry).words(reading.unit)] if shot.carry is not None else []
    directions: tuple[Direction, ...] = ("lateral", "depth")
    said += [seen.words(d) for d in directions if (seen := shot.seen(d)) is not None]
    return ", ".join(said)
