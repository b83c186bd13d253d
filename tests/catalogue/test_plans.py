"""Plan files: checked like drill files, each fault by file, line and field."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from drillrunner.catalogue import plans
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.fields import Faulty
from drillrunner.catalogue.loader import Catalogue, bundled, folders, load
from drillrunner.catalogue.plans import KINDS, Plan, Plans, load_plans

PLAN = """id = "mine"
title = "Mine"

[[blocks]]
kind = "warm-up"
minutes = 3
balls = 4

[[blocks]]
kind = "technique"
minutes = 5
balls = 10
thought = "Slow back."

[[blocks]]
kind = "find"
minutes = 5
balls = 7
club = "sand-wedge"
swing = "half"

[[blocks]]
kind = "drill"
minutes = 8
balls = 15
drill = "hold-the-corridor"
set = ["aim.width=32", "lives=2"]

[[blocks]]
kind = "free"
minutes = 3
balls = 4
"""


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


def read(folder: Path, catalogue: Catalogue, **files: str) -> Plans:
    """The plans of a plugin folder with these files in it."""
    (folder / "plans").mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / "plans" / f"{name}.toml").write_text(text)
    return load_plans([folder], catalogue, CLUBS)


def test_the_bundled_plans(catalogue: Catalogue) -> None:
    found = load_plans(folders(), catalogue, CLUBS)
    assert found.problems == ()
    assert {plan.id: (plan.minutes, plan.balls) for plan in found.plans} == {
        "half-an-hour": (30, 50),
        "an-hour": (60, 90),
        "twenty-minutes-of-wedges": (20, 35),
        "half-an-hour-on-the-green": (30, 0),
    }
    for plan in found.plans:
        assert plan.blocks[0].kind == "warm-up"
        assert plan.blocks[-1].kind == "drill"
    assert found.plan("an-hour").blocks[0].minutes == 10
    with pytest.raises(LookupError, match="half-an-hour"):
        found.plan("half-hour")


def test_every_kind_of_block(tmp_path: Path, catalogue: Catalogue) -> None:
    found = read(tmp_path, catalogue, mine=PLAN)
    assert found.problems == ()
    (plan,) = found.plans
    assert tuple(block.kind for block in plan.blocks) == KINDS
    assert (plan.minutes, plan.balls) == (24, 40)
    find, drill = plan.blocks[2], plan.blocks[3]
    assert (find.club, find.swing, find.shots) == ("sand-wedge", "half", 7)
    assert (drill.title, drill.set) == ("Hold the corridor", ("aim.width=32", "lives=2"))
    assert catalogue.drill(drill.drill or "").with_set(drill.set).aim.width == 32
    assert Plan.from_data(json.loads(json.dumps(plan.data()))) == plan


@pytest.mark.parametrize(
    ("old", "new", "line", "field"),
    [
        ('kind = "free"', 'kind = "fun"', 30, "blocks.4.kind"),
        ("balls = 10", "balls = -1", 12, "blocks.1.balls"),
        ("balls = 10", "balls = 2.5", 12, "blocks.1.balls"),
        ("minutes = 8", "minutes = 0", 24, "blocks.3.minutes"),
        ("minutes = 8\n", "", 22, "blocks.3.minutes"),
        ("minutes = 8", "minutes = inf", 24, "blocks.3.minutes"),
        ('drill = "hold-the-corridor"', 'drill = "hold-corridor"', 26, "blocks.3.drill"),
        ('drill = "hold-the-corridor"\n', "", 22, "blocks.3.drill"),
        ('"lives=2"', '"lives=0"', 27, "blocks.3.set"),
        ('"lives=2"', '"wind=2"', 27, "blocks.3.set"),
        ('"lives=2"', '"lives"', 27, "blocks.3.set"),
        ('club = "sand-wedge"', 'club = "sand-wdge"', 19, "blocks.2.club"),
        ("balls = 7", "balls = 4", 18, "blocks.2.balls"),
        ('swing = "half"', "shots = 13", 20, "blocks.2.shots"),
        ("balls = 15", "balls = 0", 25, "blocks.3.balls"),
        ('thought = "Slow back."', 'drill = "miss-total"', 13, "blocks.1.drill"),
        ('thought = "Slow back."', 'thougt = "x"', 13, "blocks.1.thougt"),
        ("minutes = 3", "minutes = 120", 4, "blocks"),
        ('id = "mine"', 'id = "My plan"', 1, "id"),
        ('kind = "warm-up"', 'kind = "warm-up', 5, None),
    ],
)
def test_a_fault_is_named_by_file_line_and_field(
    tmp_path: Path, catalogue: Catalogue, old: str, new: str, line: int, field: str | None
) -> None:
    assert old in PLAN
    found = read(tmp_path, catalogue, mine=PLAN.replace(old, new), other=PLAN.replace("mine", "b"))
    assert [plan.id for plan in found.plans] == ["b"]
    assert any((p.line, p.field) == (line, field) for p in found.problems), found.problems
    for problem in found.problems:
        assert problem.file.endswith("mine.toml")
        assert "\n" not in str(problem)


def test_every_fault_is_named_not_only_the_first(tmp_path: Path, catalogue: Catalogue) -> None:
    wrong = PLAN.replace("lives=2", "lives=0").replace('"sand-wedge"', '"shovel"')
    fields = [problem.field for problem in read(tmp_path, catalogue, mine=wrong).problems]
    assert fields == ["blocks.2.club", "blocks.3.set"]
    wrong = wrong.replace("minutes = 3", "minutes = 0", 1)
    fields = [problem.field for problem in read(tmp_path, catalogue, mine=wrong).problems]
    assert fields == ["blocks.0.minutes", "blocks.2.club", "blocks.3.set"]


def test_a_plan_that_cannot_be_used_says_why_when_asked_for(
    tmp_path: Path, catalogue: Catalogue
) -> None:
    found = read(tmp_path, catalogue, mine=PLAN.replace("lives=2", "lives=0"))
    with pytest.raises(
        LookupError, match=r"plan 'mine' can't be used: .*mine.toml:27: blocks.3.set"
    ):
        found.plan("mine")


def test_the_first_of_an_id_keeps_it(tmp_path: Path, catalogue: Catalogue) -> None:
    found = read(tmp_path, catalogue, a=PLAN, b=PLAN)
    assert [Path(plan.source).name for plan in found.plans] == ["a.toml"]
    (problem,) = found.problems
    assert problem.field == "id"
    assert "a.toml" in problem.reason


def test_a_dangling_link_and_a_folder_are_problems(tmp_path: Path, catalogue: Catalogue) -> None:
    (tmp_path / "plans" / "dir.toml").mkdir(parents=True)
    (tmp_path / "plans" / "gone.toml").symlink_to(tmp_path / "nowhere")
    found = read(tmp_path, catalogue, mine=PLAN)
    assert len(found.plans) == 1
    assert len(found.problems) == 2


def test_plans_are_no_drills(tmp_path: Path, catalogue: Catalogue) -> None:
    read(tmp_path, catalogue, mine=PLAN)
    assert load([tmp_path]).problems == ()


GREEN = """
id = "green"
title = "Green"

[[blocks]]
kind = "drill"
drill = "nine-putts"
minutes = 12
"""


def test_a_block_on_the_green_has_minutes_and_no_balls() -> None:
    catalogue = load([bundled("games")])
    plan = plans.build(tomllib.loads(GREEN), catalogue)
    assert [(block.where, block.balls, block.minutes) for block in plan.blocks] == [
        ("green", 0, 12)
    ]
    assert plans.Plan.from_data(plan.data()) == plan
    for wrong, said in (
        ("balls = 9", "expected none on the green"),
        ('where = "bay"', "expected green"),
    ):
        with pytest.raises(Faulty, match=said):
            plans.build(tomllib.loads(GREEN + wrong), catalogue)
    free = GREEN.replace('drill = "nine-putts"', 'where = "green"').replace('"drill"', '"free"')
    assert plans.build(tomllib.loads(free), catalogue).blocks[0].where == "green"
    with pytest.raises(Faulty, match="or where"):
        plans.build(tomllib.loads(free.replace('where = "green"', "")), catalogue)
