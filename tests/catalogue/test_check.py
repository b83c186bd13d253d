"""`check`: every fault of a file or a folder, the conformance suite included."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillrunner.catalogue import allowed
from drillrunner.catalogue.check import check
from drillrunner.catalogue.loader import bundled
from tests.catalogue.files import DRILL, GAME, changed, write


@pytest.fixture
def folder(home: Path) -> Path:
    return home / "mine"


def said(path: Path) -> list[str]:
    return [str(problem) for problem in check(path)]


def test_the_bundle_is_without_fault() -> None:
    """One play of each drill: `tests.rules.test_promise` plays each game more often."""
    assert check(bundled("games"), plays=1) == []


def test_one_drill_is_checked_beside_the_bundle_and_its_neighbours_are_left_out(
    folder: Path,
) -> None:
    write(folder, "a.toml", "id =")
    good = write(folder, "b.toml", DRILL)
    assert said(good) == []
    taken = write(folder, "c.toml", changed('"mine"', '"on-the-number"'))
    assert len(said(taken)) == 1
    assert len(said(folder)) == 2


def test_a_strangers_game_is_read_and_not_run(folder: Path) -> None:
    game = write(folder, "count.py", "import sys, numpy\nsys.exit(1)\n" + GAME)
    found = said(game)
    assert found[0].startswith(f"{game}: not allowed to run yet")
    assert f"{game}:1: imports numpy: expected drillrunner.rules" in found[1]
    assert "it was read but not run" in found[2]
    write(folder, "count.py", "def f(:\n")
    assert f"{game}:1: expected Python: invalid syntax" in said(game)
    write(folder, "count.py", "x = 1\n")
    assert f"{game}: expected a class with an id: found none" in said(game)


def test_an_allowed_game_passes_the_suite_or_is_told_where_it_fails(folder: Path) -> None:
    game = write(folder, "count.py", GAME)
    allowed.allow(game)
    assert said(game) == []
    # Broken on purpose: the score falls with a miss, which the promise forbids.
    game = write(folder, "count.py", GAME.replace("return state.held", "return -state.balls"))
    allowed.allow(game)
    assert said(game) == [f"{game}: score: falls after a ball, or is None before the end"]
    drill = changed('"lives"', '"count"').replace("lives = 2", "balls = 2")
    file = write(folder, "mine.toml", drill)
    assert said(file) == [f"{file}: game: score: falls after a ball, or is None before the end"]


def test_a_game_that_raises_in_play_is_told_of(folder: Path) -> None:
    game = write(folder, "count.py", GAME.replace("return state.held", "return 1 // 0"))
    allowed.allow(game)
    reason = "raised ZeroDivisionError: integer division or modulo by zero (line 36)"
    assert said(game) == [f"{game}: {reason}"]


def test_a_game_without_defaults_needs_a_drill_to_be_tried_on(folder: Path) -> None:
    game = write(folder, "count.py", GAME.replace("Field(3, ge=1", "Field(ge=1"))
    allowed.allow(game)
    assert "could not be played" in said(game)[0]
    write(folder, "mine.toml", changed('"lives"', '"count"').replace("lives = 2", "balls = 2"))
    assert said(folder) == []


def test_a_plan_is_checked_too(folder: Path) -> None:
    plan = """\
        id = "short"
        title = "Short"
        [[blocks]]
        kind = "warm-up"
        minutes = 5
        balls = 5
        [[blocks]]
        kind = "drill"
        drill = "nowhere"
        minutes = 5
        balls = 5
        """
    file = write(folder / "plans", "short.toml", plan)
    (problem,) = said(file)
    assert problem.startswith(f"{file}:9: blocks.1.drill: no drill 'nowhere'")
    assert said(folder) == [problem]


def test_a_course_and_a_range_are_checked_by_the_folder_that_they_lie_in(folder: Path) -> None:
    card = (bundled("games") / "courses" / "larch-bottom.toml").read_text("utf-8")
    mine = write(folder / "courses", "mine.toml", card.replace('"larch-bottom"', '"mine"'))
    assert said(mine) == []
    taken = write(folder / "courses", "taken.toml", card)
    assert "'larch-bottom' is taken by" in said(taken)[0]
    wrong = write(folder / "courses", "wrong.toml", card.replace("slope = 124", "slope = 12"))
    assert any("tees.0.slope: expected greater than or equal to 55" in line for line in said(wrong))
    at = write(folder / "ranges", "range.toml", 'id = "mine"\nunit = "ft"\n')
    assert any(line.startswith(f"{at}:2: unit: ") for line in said(at))
    assert said(mine) == []
    assert {line.partition(".toml")[0].rpartition("/")[2] for line in said(folder)} == {
        "taken", "wrong", "range",
    }  # fmt: skip


def test_another_kind_of_file_is_refused(folder: Path) -> None:
    file = write(folder, "notes.txt", "x")
    assert said(file) == [f"{file}: expected a name that ends in .toml or .py"]


def test_a_folder_named_like_a_drill_is_a_fault_of_its_own(folder: Path) -> None:
    inside = folder / "one.toml"
    inside.mkdir(parents=True)
    assert said(inside) == said(folder) == [f"{inside}: expected a file, not a folder"]


def test_clubs_are_named_in_the_order_of_the_bag(folder: Path) -> None:
    file = write(folder, "mine.toml", changed('"driver"', '"spoon"'))
    assert "expected one of driver, 3-wood, 5-wood" in said(file)[0]


def test_a_date_or_a_yes_is_no_number(folder: Path) -> None:
    file = write(folder, "a.toml", changed("width = 30", "width = 2020-01-01"))
    assert f"{file}:7: aim.width: expected a number" in said(file)
    file = write(folder, "b.toml", changed("lives = 2", "lives = true"))
    assert said(file)[0].endswith("not true")
