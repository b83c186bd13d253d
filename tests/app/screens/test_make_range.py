"""A range is described in the app, and its gaps are there at once."""

from __future__ import annotations

from pathlib import Path

from drillrunner.app.dialog import Choice, Question
from drillrunner.app.screens.make_range import MakeRangeScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.ranges import free_range_id, load_ranges, range_faults
from drillrunner.catalogue.width import Estimate
from tests.app.conftest import ready, shown
from tests.app.session_world import MakeApp, press


def to(screen: MakeRangeScreen, row: str) -> None:
    """Stand on a row."""
    rows = screen.query_one(BlockList)
    rows.highlighted = next(at for at, option in enumerate(rows.options) if option.id == row)


async def test_a_range_is_described_and_its_gap_played(
    ines: str, make_app: MakeApp, home: Path
) -> None:
    app = make_app(drill="hold-the-corridor")
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        await press(pilot, "escape")
        rows = app.screen.query_one(BlockList)
        rows.highlighted = next(
            at for at, row in enumerate(rows.options) if row.id == "drill:hold-the-corridor"
        )
        await press(pilot, "g")
        assert isinstance(app.screen, Choice)
        await press(pilot, "enter")
        screen = app.screen
        assert isinstance(screen, MakeRangeScreen)
        assert "first a gap, or two marks" in shown(app)
        to(screen, "add-gaps")
        await press(pilot, "enter")
        to(screen, "gaps-0-width")
        await press(pilot, "enter", *("backspace",) * 3, *"0", "enter")
        assert isinstance(app.screen, Question)
        await press(pilot, "backspace", *"38", "enter")
        app.worked_out = Estimate(36.2, 30.0, 42.0)
        await press(pilot, "w")
        assert screen.document["gaps"][0] | {"name": ""} == {
            "name": "",
            "distance": 200,
            "width": 36,
            "error": 6,
        }
        to(screen, "save")
        await press(pilot, "enter")
        assert "My range is kept" in shown(app)
        (profile,), problems = load_ranges()
        assert not problems
        assert (profile.id, profile.gaps()[0].whole) == ("my-range", 36)
        await press(pilot, "g")
        assert isinstance(app.screen, Choice)
        assert "36 yd: gap 1" in shown(app)
        assert "Change My range" in shown(app)


def test_what_is_wrong_with_a_range_is_a_line_each() -> None:
    document = {"id": "x", "title": "X", "gaps": [{"name": "a", "distance": -1, "width": 3}]}
    assert range_faults(document) == (
        "gaps.0.distance: expected greater than or equal to 0, not -1",
    )


def test_a_range_gets_a_name_that_is_free(tmp_path: Path) -> None:
    (tmp_path / "by-the-wood.toml").write_text("")
    assert free_range_id("By the wood!", tmp_path) == "by-the-wood-2"
