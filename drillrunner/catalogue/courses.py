"""Courses as their cards have them, from TOML files: bundled ones, then the user's own folder.

    id = "nine-poplars"
    title = "Nine Poplars"
    unit = "yd"

    [[tees]]
    name = "yellow"
    rating = 34.6
    slope = 118
    par = 35

    [[holes]]
    par = 4
    length = 372
    index = 5
    width = 34
    right_out = 36

Nine or eighteen holes in the order in which they are played; `index` is the stroke index. What a
hole tells beyond par, length and index is of its tee shot: the `width` of the landing area, and how
far from the middle each trouble begins on each side. A tee with lengths of its own lists them in
`lengths`. Courses lie in the folder `courses` of the plugin folder and of the user's config folder.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache, partial
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError

from drillrunner.catalogue import places
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.fields import (
    IDENTIFIER,
    Fault,
    Faulty,
    Problem,
    Strict,
    Title,
    reasons,
    unknown_club,
)
from drillrunner.catalogue.reading import listed, take
from drillrunner.catalogue.tomltext import unreal
from drillrunner.rules.units import Unit, convert, plain, text

COURSE_FOLDER = "courses"
HOLES = (9, 18)
MOST_TEES = 20
SHORTEST_HOLE, LONGEST_HOLE = 30, 800
SLOPES = (55, 155)
"""Rules of Handicapping (The R&A and USGA), definition of the slope rating."""

Side = Literal["left", "right"]
Trouble = Literal["rough", "trees", "water", "out"]
SIDES: tuple[Side, Side] = ("left", "right")
TROUBLES: tuple[Trouble, ...] = ("rough", "trees", "water", "out")


def _exact(value: Any) -> Any:
    """A number of a file, without binary dust."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValueError("expected a number")
    return Decimal(str(value))


Exact = Annotated[Decimal, BeforeValidator(_exact)]
Begins = Annotated[Exact, Field(gt=0, le=300, decimal_places=2)]


@dataclass(frozen=True)
class Tee:
    """One set of tees: the course rating and slope for all the holes. lengths: where its own."""

    name: str
    rating: Decimal
    slope: int
    par: int
    lengths: tuple[int, ...] = ()


@dataclass(frozen=True)
class CourseHole:
    """One hole. index: the stroke index. width and troubles: in the course's unit, if told.

    troubles: where each begins, from the middle of the fairway (on a short hole, of the green).
    club: what is always hit from the tee there.
    """

    par: int
    length: int
    index: int
    width: Decimal | None = None
    troubles: Mapping[tuple[Side, Trouble], Decimal] = field(default_factory=dict)
    club: str | None = None


@dataclass(frozen=True)
class Course:
    """A course. Lengths are in `unit`."""

    id: str
    title: str
    unit: Unit
    tees: tuple[Tee, ...]
    holes: tuple[CourseHole, ...]
    source: str = ""

    @property
    def par(self) -> int:
        """The par of all holes."""
        return sum(hole.par for hole in self.holes)

    def tee(self, name: str | None = None) -> Tee:
        """The tee of that name, however it is written; the first one unless said.

        Raises LookupError with one line.
        """
        if name is None:
            return self.tees[0]
        for tee in self.tees:
            if tee.name.casefold() == name.strip().casefold():
                return tee
        known = ", ".join(tee.name for tee in self.tees)
        raise LookupError(f"no tee {name!r} on {self.id}: expected one of {known}")

    def yards(self, number: int, tee: Tee) -> float:
        """The length of a hole, counted from 1, from a tee."""
        length = tee.lengths[number - 1] if tee.lengths else self.holes[number - 1].length
        return float(convert(Decimal(length), self.unit, "yd"))

    @property
    def as_kept(self) -> str:
        """All of it in one line of JSON, from which `from_kept` makes it again."""
        return json.dumps(document(self), ensure_ascii=False, separators=(",", ":"))


class _TeeFields(Strict):
    name: Title
    rating: Annotated[Exact, Field(ge=20, le=90, decimal_places=1)]
    slope: int = Field(ge=SLOPES[0], le=SLOPES[1])
    par: int = Field(ge=27, le=90)
    lengths: list[Annotated[int, Field(ge=SHORTEST_HOLE, le=LONGEST_HOLE)]] | None = None


class _HoleFields(Strict):
    par: int = Field(ge=3, le=6)
    length: int = Field(ge=SHORTEST_HOLE, le=LONGEST_HOLE)
    index: int = Field(ge=1, le=18)
    width: Begins | None = None
    club: str | None = None
    left_rough: Begins | None = None
    left_trees: Begins | None = None
    left_water: Begins | None = None
    left_out: Begins | None = None
    right_rough: Begins | None = None
    right_trees: Begins | None = None
    right_water: Begins | None = None
    right_out: Begins | None = None


class _CourseFields(Strict):
    id: str = Field(max_length=60, pattern=IDENTIFIER)
    title: Title
    unit: Unit = "yd"
    tees: list[_TeeFields] = Field(min_length=1, max_length=MOST_TEES)
    holes: list[_HoleFields] = Field(max_length=HOLES[-1])


@dataclass(frozen=True)
class Courses:
    """Every course that can be used, and why other files can't. broken: by the id wanted."""

    courses: tuple[Course, ...]
    problems: tuple[Problem, ...]
    broken: Mapping[str, Problem]

    def course(self, id: str) -> Course:
        """The course of that id. Raises LookupError with one line."""
        for course in self.courses:
            if course.id == id:
                return course
        if id in self.broken:
            raise LookupError(f"the course {id!r} can't be used: {self.broken[id]}")
        known = ", ".join(course.id for course in self.courses) or "none is described yet"
        raise LookupError(f"no course {id!r}: expected one of {known}")


def load_courses(homes: Sequence[Path] | None = None) -> Courses:
    """The courses of these folders: the bundled one and the user's, unless said."""
    problems: list[Problem] = []
    broken: dict[str, Problem] = {}
    found: dict[str, Course] = {}
    for home in _homes() if homes is None else homes:
        files: Iterable[Path] = listed(home, problems) if os.path.lexists(home) else ()
        for file in files:
            if file.suffix.lower() == ".toml":
                take(file, partial(build, source=str(file)), found, problems, broken)
    return Courses(tuple(found.values()), tuple(problems), broken)


def own_folder() -> Path:
    """Where the user's own courses lie."""
    return places.config_dir() / COURSE_FOLDER


def _homes() -> tuple[Path, ...]:
    return places.bundled("games") / COURSE_FOLDER, own_folder()


def build(fields: Mapping[str, Any], source: str = "") -> Course:
    """The course that a document describes. Raises Faulty with every fault, not the first."""
    faults: list[Fault] = [(path, "expected a finite number") for path in unreal(fields)]
    try:
        course = _CourseFields.model_validate(fields)
    except ValidationError as error:
        raise Faulty([*faults, *reasons(error, _CourseFields, ())]) from None
    faults += _together(course)
    if faults:
        raise Faulty(faults)
    return Course(
        course.id,
        course.title,
        course.unit,
        tuple(
            Tee(tee.name, tee.rating, tee.slope, tee.par, tuple(tee.lengths or ()))
            for tee in course.tees
        ),
        tuple(
            CourseHole(hole.par, hole.length, hole.index, hole.width, _troubles(hole), hole.club)
            for hole in course.holes
        ),
        source,
    )


def _troubles(hole: _HoleFields) -> dict[tuple[Side, Trouble], Decimal]:
    told = {(side, what): getattr(hole, f"{side}_{what}") for side in SIDES for what in TROUBLES}
    return {where: begins for where, begins in told.items() if begins is not None}


def _together(course: _CourseFields) -> Iterator[Fault]:
    """What is wrong with the parts of a course beside each other."""
    count = len(course.holes)
    if count not in HOLES:
        yield ("holes",), f"expected 9 or 18 holes, not {count}"
    par = sum(hole.par for hole in course.holes)
    names: dict[str, int] = {}
    for place, tee in enumerate(course.tees):
        where = ("tees", str(place))
        if tee.par != par:
            yield (*where, "par"), f"expected {par}, the sum of the holes, not {tee.par}"
        if tee.lengths is not None and len(tee.lengths) != count:
            yield (*where, "lengths"), f"expected {count} lengths, not {len(tee.lengths)}"
        if names.setdefault(tee.name.casefold(), place) != place:
            yield (*where, "name"), f"{tee.name!r} is another tee: expected another name"
    seen: dict[int, int] = {}
    for place, hole in enumerate(course.holes):
        at = ("holes", str(place))
        if seen.setdefault(hole.index, place) != place:
            other = seen[hole.index] + 1
            yield (*at, "index"), f"{hole.index} is hole {other}'s: expected each once"
        for path, reason in unknown_club("club", hole.club, CLUBS):
            yield (*at, *path), reason


@lru_cache(maxsize=256)
def from_kept(kept: str) -> Course:
    """The course that was kept with a round. Raises Faulty or ValueError."""
    return build(json.loads(kept))


def document(course: Course) -> dict[str, Any]:
    """A course as its file has it."""
    return {
        "id": course.id,
        "title": course.title,
        "unit": course.unit,
        "tees": [
            {
                "name": tee.name,
                "rating": plain(tee.rating),
                "slope": tee.slope,
                "par": tee.par,
                **({"lengths": list(tee.lengths)} if tee.lengths else {}),
            }
            for tee in course.tees
        ],
        "holes": [
            {
                "par": hole.par,
                "length": hole.length,
                "index": hole.index,
                **({} if hole.width is None else {"width": plain(hole.width)}),
                **({} if hole.club is None else {"club": hole.club}),
                **{
                    f"{side}_{what}": plain(hole.troubles[side, what])
                    for side in SIDES
                    for what in TROUBLES
                    if (side, what) in hole.troubles
                },
            }
            for hole in course.holes
        ],
    }


def as_toml(course: Course) -> str:
    """A course as a file that `load_courses` reads."""
    told = document(course)
    parts = [_table(told, ("id", "title", "unit"))]
    for name in ("tees", "holes"):
        parts += [f"[[{name}]]\n{_table(row, row)}" for row in told[name]]
    return "\n".join(parts)


def _table(row: Mapping[str, Any], names: Iterable[str]) -> str:
    return "".join(f"{name} = {_value(row[name])}\n" for name in names)


def _value(value: Any) -> str:
    # A JSON string is a TOML string: the same escapes, and no control character is left as it is.
    return json.dumps(value, ensure_ascii=False) if not isinstance(value, float) else text(value)


def save_course(course: Course, folder: Path | None = None) -> Path:
    """Write a course into the user's own folder, whole or not at all; a file of its id is replaced.

    Raises OSError.
    """
    home = own_folder() if folder is None else folder
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    target = home / f"{course.id}.toml"
    beside = target.with_name(f".{target.name}.new")
    beside.write_text(as_toml(course), "utf-8")
    os.replace(beside, target)
    return target
