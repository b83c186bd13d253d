"""A course as its card has it: its tees, and of each hole par, length and stroke index."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from drillrunner.app.dialog import Question
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue.courses import (
    HOLES,
    LONGEST_HOLE,
    MOST_TEES,
    SHORTEST_HOLE,
    SLOPES,
    Course,
    as_toml,
    build,
    document,
    own_folder,
)
from drillrunner.catalogue.fields import Faulty
from drillrunner.catalogue.files import write_whole
from drillrunner.rules.units import text

PARS = (3, 6)
PARTS = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
HOLE_HINT = "par, length and stroke index: 4/372/7"
TEE_HINT = "course rating and slope, and its name: 70.1/124 yellow"


class CourseScreen(FormScreen):
    """course: the one to change; one that came with the program becomes an own one."""

    topic = "course"
    TITLE = "Course"

    def __init__(self, course: Course | None = None) -> None:
        super().__init__()
        self.course = course
        self.fields: dict[str, Any] = (
            {"id": "", "title": "", "unit": "yd", "tees": [], "holes": []}
            if course is None
            else document(course)
        )
        count = HOLES[-1] if course is None else len(course.holes)
        self.holes: list[dict[str, Any] | None] = [*self.fields["holes"]] or [None] * count
        self.title = "New course" if course is None else course.title

    def on_mount(self) -> None:
        player = self.drillrunner.player
        if self.course is None and player is not None:
            self.fields["unit"] = player.unit
        self._at_first = copy.deepcopy((self.fields, self.holes))

    def unsaved(self) -> Callable[[], None] | None:
        return self._write if (self.fields, self.holes) != self._at_first else None

    # ---- rows ----

    def show(self) -> None:
        # What was said was of the rows as they stood before.
        self.say()
        super().show()

    def items(self) -> list[Item]:
        unit = {"yd": "yards", "m": "metres"}
        missing = sum(hole is None for hole in self.holes)
        rows = [
            Item(
                "write",
                "▶ Keep the course",
                "" if not missing else f"{missing} holes to tell",
                "in a file of the folder of courses",
                act=self._write,
            ),
            Item(
                "title",
                "Name",
                self.fields["title"] or "not said",
                ask=AskItem(
                    "Name of the course", self.fields["title"], self._take_title, bad_title
                ),
            ),
            Item("unit", "Lengths in", unit[self.fields["unit"]], turn=self._turn_unit),
            Item("count", "Holes", str(len(self.holes)), turn=self._turn_count),
            Item("", "Tees"),
            *(self._tee(at) for at in range(len(self.fields["tees"]))),
        ]
        if len(self.fields["tees"]) < MOST_TEES:
            at = len(self.fields["tees"])
            ask = AskItem("Tees", "", lambda said: self._take_tee(at, said), bad_tee, TEE_HINT)
            rows.append(Item("tee-new", "New tees", "Enter", TEE_HINT, ask=ask))
        rows.append(Item("", "Holes: par/length/index, 4/372/7"))
        return [*rows, *(self._hole(at) for at in range(len(self.holes)))]

    def _tee(self, at: int) -> Item:
        tee = self.fields["tees"][at]
        said = f"{text(tee['rating'])}/{tee['slope']}"
        ask = AskItem(
            "Tees",
            f"{said} {tee['name']}",
            lambda typed: self._take_tee(at, typed),
            bad_tee,
            TEE_HINT,
        )
        return Item(f"tee-{at}", tee["name"], said, ask=ask)

    def _hole(self, at: int) -> Item:
        hole = self.holes[at]
        told = "" if hole is None else f"{hole['par']}/{hole['length']}/{hole['index']}"
        shown = (
            "not told"
            if hole is None
            else (
                f"par {hole['par']}, {hole['length']} {self.fields['unit']}, index {hole['index']}"
            )
        )
        return Item(f"hole-{at}", f"Hole {at + 1}", shown, act=lambda: self._ask_hole(at, told))

    # ---- what is typed ----

    def _ask_hole(self, at: int, told: str) -> None:
        """Ask for a hole, and then for the next that is not told yet."""

        def answered(said: str | None) -> None:
            if said is None:
                return
            par, length, index = (int(part) for part in PARTS.findall(said))
            known = self.holes[at] or {}
            self.holes[at] = {**known, "par": par, "length": length, "index": index}
            self.show()
            after = at + 1
            if after < len(self.holes) and self.holes[after] is None:
                self._ask_hole(after, "")

        check = self._check_hole(at)
        self.app.push_screen(Question(f"Hole {at + 1}", HOLE_HINT, told, check), answered)

    def _check_hole(self, at: int) -> Callable[[str], str | None]:
        def check(said: str) -> str | None:
            parts = PARTS.findall(said)
            if len(parts) != 3 or not all(part.isdigit() for part in parts):
                return f"{said or 'nothing'}: expected three numbers, as 4/372/7"
            par, length, index = map(int, parts)
            if not PARS[0] <= par <= PARS[1]:
                return f"par {par}: expected {PARS[0]} to {PARS[1]}"
            if not SHORTEST_HOLE <= length <= LONGEST_HOLE:
                return f"length {length}: expected {SHORTEST_HOLE} to {LONGEST_HOLE}"
            if not 1 <= index <= HOLES[-1]:
                return f"stroke index {index}: expected 1 to {HOLES[-1]}"
            for other, hole in enumerate(self.holes):
                if other != at and hole is not None and hole["index"] == index:
                    return f"stroke index {index} is hole {other + 1}'s: expected each once"
            return None

        return check

    def _take_title(self, said: str) -> None:
        self.fields["title"] = " ".join(said.split())
        self.show()

    def _turn_unit(self, by: int) -> None:
        self.fields["unit"] = turned(["yd", "m"], self.fields["unit"], by)
        self.show()

    def _turn_count(self, by: int) -> None:
        count = turned(HOLES, len(self.holes), by)
        self.holes = [*self.holes, *[None] * count][:count]
        self.show()

    def _take_tee(self, at: int, said: str) -> None:
        rating, slope = PARTS.findall(said)[:2]
        name = PARTS.sub("", said, count=2).strip(" /-") or f"tees {at + 1}"
        tee = {"name": name, "rating": float(rating.replace(",", ".")), "slope": int(slope)}
        tees = self.fields["tees"]
        known = tees[at] if at < len(tees) else {}
        tees[at : at + 1] = [{**known, **tee}]
        self.show()

    # ---- the file ----

    def _write(self) -> None:
        """Write the course, or say what is missing."""
        holes = [hole for hole in self.holes if hole is not None]
        if len(holes) < len(self.holes):
            first = self.holes.index(None)
            self.say(f"hole {first + 1} is not told yet: {HOLE_HINT}")
            return
        par = sum(hole["par"] for hole in holes)
        tees = [{**tee, "par": par} for tee in self.fields["tees"]]
        id = self.fields["id"] or identifier(self.fields["title"])
        try:
            course = build({**self.fields, "id": id, "holes": holes, "tees": tees})
        except Faulty as error:
            where, reason = error.faults[0]
            self.say(f"{' '.join(where)}: {reason}")
            return
        path = self._file_of(course)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, [as_toml(course)], over=self._is_own)
        except OSError as error:
            self.say(f"not kept: {path}: {error.strerror or error}")
            return
        self.app.pop_screen()
        self.drillrunner.say(f"kept in {path}")

    @property
    def _is_own(self) -> bool:
        """Whether the course was read from a file of the own folder."""
        if self.course is None or not self.course.source:
            return False
        return Path(self.course.source).parent == own_folder()

    def _file_of(self, course: Course) -> Path:
        if self._is_own and self.course is not None:
            return Path(self.course.source)
        return own_folder() / f"{course.id}.toml"


def identifier(title: str) -> str:
    """The id that a name makes: `Nine Poplars` is `nine-poplars`."""
    return re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-") or "course"


def bad_title(said: str) -> str | None:
    """Why a text is no name of a course."""
    return None if 0 < len(said.strip()) <= 40 and said.isprintable() else "expected a name"


def bad_tee(said: str) -> str | None:
    """Why a text tells no tees."""
    parts = PARTS.findall(said)
    rating, slope = 0.0, 0
    with suppress(ValueError, IndexError):
        rating, slope = float(parts[0].replace(",", ".")), int(parts[1])
    if not 20 <= rating <= 90 or not SLOPES[0] <= slope <= SLOPES[1]:
        return f"{said or 'nothing'}: expected {TEE_HINT}"
    return None
