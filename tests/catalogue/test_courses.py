"""Courses: read and checked like every file, kept with a round, written by the app."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.courses import (
    CourseHole,
    as_toml,
    build,
    from_kept,
    load_courses,
    save_course,
)

NINE = """
id = "poplars"
title = "Poplars"
unit = "m"

[[tees]]
name = "Yellow"
rating = 34.6
slope = 118
par = 36
""" + "".join(
    f"\n[[holes]]\npar = {4 + (n == 2) - (n == 5)}\nlength = {150 if n == 5 else 300 + n}\n"
    f"index = {2 * n - 1}\n"
    for n in range(1, 10)
)


def write(folder: Path, text: str, name: str = "one.toml") -> Path:
    file = folder / name
    file.write_text(text, "utf-8")
    return file


def reasons(folder: Path, text: str) -> list[str]:
    write(folder, text)
    courses = load_courses([folder])
    assert courses.courses == ()
    return [f"{problem.field}: {problem.reason}" for problem in courses.problems]


def test_a_course_is_read_as_its_card_has_it(tmp_path: Path) -> None:
    write(tmp_path, NINE)
    course = load_courses([tmp_path]).course("poplars")
    assert (course.par, len(course.holes), course.unit) == (36, 9, "m")
    assert course.tee().rating == Decimal("34.6")
    assert course.tee(" yellow ") is course.tee()
    assert course.holes[4] == CourseHole(3, 150, 9)
    assert course.yards(5, course.tee()) == pytest.approx(164.04, abs=0.01)


def test_the_bundled_course_is_there_first_and_whole() -> None:
    courses = load_courses()
    assert not courses.problems
    course = courses.courses[0]
    assert len(course.holes) == 18
    assert any(hole.troubles for hole in course.holes)
    assert {len(tee.lengths) for tee in course.tees} == {0, 18}


@pytest.mark.parametrize("course", load_courses().courses, ids=lambda course: course.id)
def test_a_course_survives_its_file_and_its_round(course: object, tmp_path: Path) -> None:
    plain = replace(course, source="")  # type: ignore[type-var]
    assert build(tomllib.loads(as_toml(plain))) == plain
    assert from_kept(plain.as_kept) == plain
    save_course(plain, tmp_path)
    assert [replace(one, source="") for one in load_courses([tmp_path]).courses] == [plain]


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("par = 36", "par = 35", "tees.0.par: expected 36, the sum of the holes, not 35"),
        ("slope = 118", "slope = 40", "tees.0.slope: expected"),
        ("index = 3", "index = 1", "holes.1.index: 1 is hole 1's: expected each once"),
        ("length = 301", "length = 3", "holes.0.length: expected"),
        ("index = 1\n", 'index = 1\nclub = "9-wood-x"\n', "holes.0.club: unknown club"),
        ("index = 1\n", "index = 1\nleft_out = nan\n", "holes.0.left_out: expected"),
        ("index = 1\n", "index = 1\nleft_sea = 30\n", "holes.0.left_sea: unknown field"),
        ("rating = 34.6", "rating = 34.65", "tees.0.rating: expected"),
        ("[[holes]]\npar = 4\nlength = 309\nindex = 17\n", "", "holes: expected 9 or 18 holes"),
    ],
)
def test_what_can_t_be_is_refused_by_field(old: str, new: str, reason: str, tmp_path: Path) -> None:
    assert old in NINE
    found = reasons(tmp_path, NINE.replace(old, new, 1))
    assert any(one.startswith(reason) for one in found), found


def test_a_course_that_is_not_there_names_those_that_are(tmp_path: Path) -> None:
    write(tmp_path, NINE)
    with pytest.raises(LookupError, match="no course 'x': expected one of poplars"):
        load_courses([tmp_path]).course("x")
    with pytest.raises(LookupError, match="no tee 'red' on poplars: expected one of Yellow"):
        load_courses([tmp_path]).course("poplars").tee("red")
