"""How wide is that, the other way round, and the gaps of one's own range."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.width import WidthScreen
from drillrunner.catalogue.ranges import load_hand
from tests.app.conftest import ready, shown, stand_on
from tests.app.session_world import MakeApp, begun, press, settled
from tests.practice.worlds import block, plan

RANGE = """
id = "by-the-river"
title = "The range by the river"
[[gaps]]
name = "white post to poplar"
distance = 205
width = 38
"""


@pytest.fixture
def river(home: Path) -> None:
    folder = home / "config" / "ranges"
    folder.mkdir(parents=True)
    (folder / "river.toml").write_text(RANGE)


async def test_a_width_by_hand_with_its_error(ines: str, make_app: MakeApp, home: Path) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await press(pilot, "w")
        assert isinstance(app.screen, WidthScreen)
        assert "still to type: distance to the target, how many it takes" in shown(app)
        await press(pilot, "2", "enter", *"200", "enter")
        await press(pilot, "2", "2", "enter", *"3", "enter")
        # Similar triangles: 200 yd x 3 fingers x 2 cm / 60 cm.
        assert "20 yd wide" in shown(app)
        assert "between 15 and 26" in shown(app)
        await press(pilot, "2", "enter", "backspace", "backspace", *"50", "enter")
        assert "24 yd wide" in shown(app)
        assert load_hand()[0].arm == 50
        await press(pilot, "8", "8", "6")
        assert "fist" in shown(app)
        assert "114 yd wide" in shown(app)
        await press(pilot, "2", "2", "2", "enter", *"x", "enter")
        assert "x: expected a number" in shown(app)


async def test_what_is_wrong_names_its_row_and_goes_when_it_is_corrected(
    ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await press(pilot, "w", "2", "enter", *"0", "enter")
        assert "Distance to the target: 0: expected more than 0" in shown(app)
        await press(pilot, "backspace", *"200", "enter")
        # An arm as long as a leg is not kept.
        await press(pilot, "7", *"2222", "enter", *("backspace",) * 2, *"300", "enter")
        assert "From your eye to your hand: " in shown(app)
        await press(pilot, "enter", *("backspace",) * 2, *"62", "enter")
        assert "From your eye to your hand: " not in shown(app)
        assert "kept as your own measure" in shown(app)


async def test_the_other_ways_and_the_other_way_round(
    ines: str, make_app: MakeApp, river: None
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        await press(pilot, "w", "6", "2", "enter", *"210", "enter", "2", "enter", *"10", "enter")
        wide = 2 * 210 * math.tan(math.radians(5))
        assert f"{wide:.0f} yd wide" in shown(app)
        await press(pilot, "7", "6")
        assert "net posts" in shown(app)
        await press(pilot, "6")
        for value in ("200", "-4", "200", "6"):
            await press(pilot, "2", "enter", *value, "enter")
        assert f"{400 * math.sin(math.radians(5)):.0f} yd wide" in shown(app)
        await press(pilot, "7", "6")
        assert "how many fingers" in shown(app)
        # Opened from a drill of 40 yd: only the distance was left to type.
        assert "5.7 fingers" in shown(app)
        assert "10.9 degrees" in shown(app)
        assert "white post to poplar, at 205 yd: 38 yd (36 to 40)" in shown(app)


async def test_a_drill_names_the_gap_and_is_set_to_it(
    ines: str, make_app: MakeApp, river: None
) -> None:
    app = make_app()
    async with app.run_test(size=(160, 50)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.pause()
        assert "The range by the river: white post" in shown(app)
        await press(pilot, "g")
        assert isinstance(app.screen, Choice)
        assert "38 yd: white post to poplar" in shown(app)
        assert "Another width is another setting" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.aim.width == 38
        assert app.screen.playing.best_before is None
        assert app.preferences.range == "by-the-river"


async def test_a_block_of_a_session_is_played_through_the_gap(
    ines: str, make_app: Callable[..., DrillrunnerApp], river: None
) -> None:
    app = make_app()
    of = plan(block("drill", 4, 8, title="Corridor", drill="hold-the-corridor", set=("lives=2",)))
    async with app.run_test(size=(100, 40)) as pilot:
        await begun(make_app, pilot, of)
        assert "The range by the river: white post to poplar" in shown(app)
        await press(pilot, "6", "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        drill = app.screen.playing.drill
        assert (drill.aim.width, drill.settings.lives) == (38, 2)
        assert app.screen.playing.about.session_id is not None


async def test_no_range_is_said_with_the_way_out(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await press(pilot, "g")
        assert isinstance(app.screen, Choice)
        assert "no range that" in shown(app)
        assert "Describe a range" in shown(app)
