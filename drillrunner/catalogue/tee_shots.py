"""A drill that names a course: its tee shots as stations, and what each answer gives away.

    course = "nine-poplars"
    tee = "yellow"
    index = 20

becomes a station a hole, and for each the strokes that a miss to each side costs against the middle
of the fairway (on a short hole, of the green), from the table of expected strokes at that index.
The drill that is played, kept and compared is the one that came of it: where the course changes,
that is another drill, and what was played before stays as it was.

What a hole does not tell is as everywhere: a fairway 36 wide, trees from 30 that block every
second ball, a green 26 wide (all our choice). Beside the fairway lies rough until the first trouble
that is told; that is what `7` and `9` mean. A third one is not told apart from the second.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.courses import SIDES, Course, CourseHole, Side, Tee, load_courses
from drillrunner.catalogue.fields import Fault, Faulty
from drillrunner.catalogue.strokes.golfer import Golfer
from drillrunner.catalogue.strokes.rating import BOGEY_ABILITY, ability
from drillrunner.catalogue.strokes.table import Level, level
from drillrunner.rules.units import convert, plain, text, whole

FIELDS = ("course", "tee", "index")
INDEX = Decimal(20)
"""Whose strokes are given away, unless the drill says: the rating model's bogey golfer."""

FAIRWAY, TREES, GREEN, AROUND = 36.0, 30.0, 26.0, 20.0
"""Yards, where a hole tells nothing: the test ground of the table."""
BLOCKED, SAND, APRON = 0.5, 0.2, 0.3

FindCourse = Callable[[str], Course]
"""From a course's id to the course. Raises LookupError with the reason."""


def find_course(id: str) -> Course:
    """The course of that id, bundled or the user's own. Raises LookupError."""
    return load_courses().course(id)


def resolved(raw: Mapping[str, Any], find: FindCourse = find_course) -> dict[str, Any]:
    """The document of a drill with its course, if it names one, made into stations.

    Raises Faulty.
    """
    document = dict(raw)
    if "course" not in document:
        return document
    named, tee_name = document.pop("course"), document.pop("tee", None)
    index = _index(document.pop("index", plain(INDEX)))
    faults: list[Fault] = []
    if "stations" in document:
        faults.append((("stations",), "expected none: they are the holes of the course"))
    if "unit" in document:
        faults.append((("unit",), "expected none: it is the course's"))
    if index is None:
        faults.append((("index",), "expected a handicap index, -10 to 54"))
    course, tee = None, None
    try:
        if not isinstance(named, str):
            raise LookupError("expected the id of a course")
        course = find(named)
    except LookupError as error:
        faults.append((("course",), str(error.args[0])))
    if course is not None:
        try:
            if tee_name is not None and not isinstance(tee_name, str):
                raise LookupError("expected the name of a tee")
            tee = course.tee(tee_name)
        except LookupError as error:
            faults.append((("tee",), str(error.args[0])))
    if faults or course is None or tee is None or index is None:
        raise Faulty(faults)
    found = [_Hole(course, tee, number, index) for number in range(1, len(course.holes) + 1)]
    settings = document.get("settings", {})
    return {
        **document,
        "unit": course.unit,
        "stations": [hole.station() for hole in found],
        "settings": {**settings, "costs": [hole.costs() for hole in found]},
    }


def _index(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not -10 <= value <= 54:
        return None
    return float(value)


class _Hole:
    """One hole from a tee, for a golfer of an index."""

    def __init__(self, course: Course, tee: Tee, number: int, index: float) -> None:
        self.course, self.number = course, number
        self.hole: CourseHole = course.holes[number - 1]
        self.yards = course.yards(number, tee)
        self.short = self.hole.par == 3
        self.golfer = Golfer(ability(index))
        self.table: Level = level(index)

    def station(self) -> dict[str, Any]:
        """The station, in the course's unit."""
        aim: dict[str, Any] = {"width": self._in_unit(2 * self.edge)}
        for side in SIDES:
            second = self.second(side)
            if second is not None:
                aim[f"far_{side}"] = self._in_unit(second[0])
        return {"title": self.title, "club": self.club, "aim": aim}

    def costs(self) -> list[int]:
        """Hundredths of a stroke given away: far left, left, right, far right."""
        near = {side: self._given(self.first(side)) for side in SIDES}
        far = {
            side: near[side] if (beyond := self.second(side)) is None else self._given(beyond[1])
            for side in SIDES
        }
        return [far["left"], near["left"], near["right"], far["right"]]

    @property
    def edge(self) -> float:
        """Half the width of the fairway, or on a short hole of the green."""
        told = self.hole.width
        return (GREEN if self.short else FAIRWAY) / 2 if told is None else self._yards(told) / 2

    @property
    def club(self) -> str:
        """What is hit: always the same there, the driver, or what comes closest to a green."""
        if self.hole.club is not None:
            return self.hole.club
        if not self.short:
            return "driver"
        return min(CLUBS, key=lambda club: abs(self.carry(club) - self.yards))

    def carry(self, club: str) -> float:
        """How far a golfer of the index hits a club."""
        usual = CLUBS[club].usual_carry or 0
        return usual * self.golfer.driver / Golfer(BOGEY_ABILITY["men"]).driver

    def first(self, side: Side) -> str:
        """What lies right beside the fairway."""
        begun = [(far, what) for far, what in self._told(side) if far <= self.edge]
        return max(begun)[1] if begun else "rough"

    def second(self, side: Side) -> tuple[float, str] | None:
        """Where the second trouble begins, and what it is; `None` if there is none."""
        beyond = [(far, what) for far, what in self._told(side) if far > self.edge]
        if beyond:
            return min(beyond)
        told = bool(self._told(side))
        return None if self.short or told or self.edge >= TREES else (TREES, "trees")

    @property
    def title(self) -> str:
        """The hole, and what lies on each side: `Hole 4, 372 yd · right out from 35`."""
        unit = self.course.unit
        parts = [
            f"{side} {second[1]} from {text(self._in_unit(second[0]))}"
            for side in SIDES
            if (second := self.second(side)) is not None
        ]
        length = text(whole(convert(Decimal(str(self.yards)), "yd", unit)))
        said = f"Hole {self.number}, {length} {unit}" + " · at the green" * self.short
        return " · ".join((said, *parts))

    def _told(self, side: Side) -> list[tuple[float, str]]:
        """Troubles beyond rough that the hole tells of on a side: where each begins."""
        return [
            (self._yards(far), what)
            for (s, what), far in self.hole.troubles.items()
            if s == side and what != "rough"
        ]

    def _given(self, what: str) -> int:
        """Hundredths of a stroke that a ball there gives away."""
        given = Decimal(str(self._left(what) - self._left("middle")))
        return max(int((given * 100).quantize(Decimal(1), ROUND_HALF_UP)), 0)

    def _left(self, what: str) -> float:
        """Strokes to come after a ball there."""
        table = self.table
        if what == "out":
            # Stroke and distance: Rules of Golf, Rule 18.2.
            return 1.0 + table.of(self.yards, "tee")
        rest = self.edge + AROUND / 2 if self.short else max(self.yards - self.carry(self.club), 0)
        rough = table.of(rest, "rough")
        if what == "middle":
            # On a green: from two thirds of its radius, the mean distance from the middle.
            return table.green(2.0 * self.edge) if self.short else table.of(rest, "fairway")
        if what == "trees":
            return BLOCKED * table.of(rest, "recovery") + (1 - BLOCKED) * rough
        if what == "water":
            return 1.0 + rough
        if self.short:
            sand, apron = table.of(rest, "sand"), table.of(rest, "fairway")
            return SAND * sand + APRON * apron + (1 - SAND - APRON) * rough
        return rough

    def _yards(self, value: Decimal) -> float:
        return float(convert(value, self.course.unit, "yd"))

    def _in_unit(self, yards: float) -> int | float:
        found = convert(Decimal(str(yards)), "yd", self.course.unit)
        return plain(round(found, 2) if self.course.unit == "yd" else whole(found))
