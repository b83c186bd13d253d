"""A drill that names a course: its stations, what each answer costs, and its faults by line."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.courses import build as course_of
from drillrunner.catalogue.courses import load_courses
from drillrunner.catalogue.drill import Drill, from_stored
from drillrunner.catalogue.fields import Faulty
from drillrunner.catalogue.loader import bundled, load
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.catalogue.strokes.table import level
from drillrunner.catalogue.tee_shots import resolved
from drillrunner.rules import Run
from drillrunner.rules.keypad import read

D = Decimal


@pytest.fixture(scope="module")
def larch() -> Drill:
    return load([bundled("games")]).drill("holes-of-larch-bottom")


def costs(drill: Drill, hole: int) -> list[float]:
    found: list[list[int]] = drill.settings.model_dump()["costs"]
    return [cost / 100 for cost in found[hole - 1]]


def test_three_holes_by_hand(larch: Drill) -> None:
    """Far left, left, right, far right, looked up in the table at 20 and taken from one another."""
    table = level(20)
    driver = 250 - 2.5 * ability(20)
    # 4: 405 yd, trees from 30 on the left, out from 35 on the right; the fairway is 32 wide.
    rest = 405 - driver
    middle, rough = table.of(rest, "fairway"), table.of(rest, "rough")
    trees = (rough + table.of(rest, "recovery")) / 2
    out = 1 + table.of(405, "tee")
    assert costs(larch, 4) == pytest.approx(
        [trees - middle, rough - middle, rough - middle, out - middle], abs=0.006
    )
    assert (larch.stations[3].aim.width, larch.stations[3].aim.fars) == (32, (30, 35))
    # 11: 392 yd, water from 33 on the right, nothing told on the left.
    rest = 392 - driver
    middle, rough = table.of(rest, "fairway"), table.of(rest, "rough")
    trees = (rough + table.of(rest, "recovery")) / 2
    assert costs(larch, 11) == pytest.approx(
        [trees - middle, rough - middle, rough - middle, 1 + rough - middle], abs=0.006
    )
    # 3: a short hole that tells nothing: on the green two thirds of 13 yd from the middle, off it
    # halfway out in 20 yd of sand, apron and rough, and nothing further that is told apart.
    near = [table.of(23, lie) for lie in ("sand", "fairway", "rough")]
    missed = 0.2 * near[0] + 0.3 * near[1] + 0.5 * near[2]
    given = missed - table.green(26)
    assert costs(larch, 3) == pytest.approx([given] * 4, abs=0.006)
    assert larch.stations[2].aim.fars == (None, None)


def test_a_hole_from_printed_figures() -> None:
    """400 yd at index 20, whose driver goes about 200: the table has 5.49 from the tee, 4.24 from
    200 on the fairway, 4.49 in the rough; worked out by another program, within 0.02 each."""
    holes = [{"par": 4, "length": 400, "index": i, "right_out": 35} for i in range(1, 10)]
    tees = [{"name": "white", "rating": 35.0, "slope": 113, "par": 36}]
    course = course_of({"id": "level", "title": "Level", "tees": tees, "holes": holes})
    found = resolved({"course": "level"}, lambda _: course)
    _, left, right, far_right = (cost / 100 for cost in found["settings"]["costs"][0])
    assert left == right == pytest.approx(4.49 - 4.24, abs=0.04)
    assert far_right == pytest.approx(1 + 5.49 - 4.24, abs=0.04)


def test_it_is_played_by_the_block(larch: Drill) -> None:
    run = Run.begin(larch.game())
    # Out on 4 by its key and by a number; a side that was not seen is the dearer one.
    for text in ("5", "8", "5", "9", "4", "0"):
        run = run.add(read(text, run.ask))
    by_hand = costs(larch, 4)[3] + costs(larch, 5)[1] + max(costs(larch, 6)[1:3])
    assert float(run.score or 0) == pytest.approx(by_hand)
    again = run.add(read("undo", run.ask))
    assert float(again.score or 0) == pytest.approx(costs(larch, 4)[3] + costs(larch, 5)[1])
    numbers = Run.begin(larch.game())
    for text in ("5", "8", "5", "+35.5"):
        numbers = numbers.add(read(text, numbers.ask))
    assert float(numbers.score or 0) == pytest.approx(costs(larch, 4)[3])
    near = Run.fold(larch.game(), [read("5", run.ask)] * 3 + [read("+35", run.ask)])
    assert float(near.score or 0) == pytest.approx(costs(larch, 4)[2])
    # Where there is no second trouble the upper corner is a miss to that side.
    assert Run.fold(larch.game(), [read(t, run.ask) for t in "559"]).score == Run.fold(
        larch.game(), [read(t, run.ask) for t in "556"]
    ).score  # fmt: skip


def test_what_was_played_stays_when_the_course_changes(larch: Drill, tmp_path: Path) -> None:
    kept = larch.as_set()
    assert "course" not in json.loads(kept)
    again = from_stored(kept, larch.game_class, larch.game_hash)
    assert again.fingerprint == larch.fingerprint
    assert again.game().stations == larch.game().stations
    course = (bundled("games") / "courses" / "larch-bottom.toml").read_text("utf-8")
    (tmp_path / "changed.toml").write_text(course.replace("right_out = 35", "right_out = 40"))
    found = resolved({"course": "larch-bottom"}, load_courses([tmp_path]).course)
    assert found["stations"][3]["aim"]["far_right"] == 40
    assert larch.stations[3].aim.far_right == 35


def test_in_metres(larch: Drill) -> None:
    metres = larch.in_unit("m")
    assert (metres.unit, metres.stations[3].aim.width, metres.stations[3].aim.far_right) == (
        "m",
        29,
        32,
    )
    assert metres.settings == larch.settings
    assert metres.game().faults() == {}


@pytest.mark.parametrize(
    ("line", "where", "reason"),
    [
        ('course = "nowhere"', "course", "no course 'nowhere': expected one of larch-bottom"),
        ("course = 3", "course", "expected the id of a course"),
        ('course = "larch-bottom"\ntee = "pink"', "tee", "no tee 'pink' on larch-bottom"),
        ('course = "larch-bottom"\nindex = 90', "index", "expected a handicap index"),
        ('course = "larch-bottom"\nunit = "m"', "unit", "expected none: it is the course's"),
    ],
)
def test_faults_by_file_line_and_field(tmp_path: Path, line: str, where: str, reason: str) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(f'id = "mine"\ntitle = "Mine"\ngame = "holes"\n{line}\n')
    (problem,) = load([bundled("games"), tmp_path]).problems
    assert (problem.file, problem.field) == (str(file), where)
    assert problem.line == 4 + line.count("\n")
    assert reason in problem.reason


def test_stations_beside_a_course_are_refused() -> None:
    with pytest.raises(Faulty) as refused:
        resolved({"course": "larch-bottom", "stations": []})
    assert refused.value.faults[0][0] == ("stations",)


def test_another_index_is_another_record() -> None:
    ten = resolved({"course": "larch-bottom", "index": 10})
    twenty = resolved({"course": "larch-bottom"})
    assert ten["settings"]["costs"] != twenty["settings"]["costs"]
