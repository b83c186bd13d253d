"""What next in one line, and the one key that plays it: on home, after a run, after a session."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.next_up import NextLine
from drillrunner.app.screens import home as home_screen
from drillrunner.app.screens.cautions import CautionsScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.result import ResultScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.practice.looking_back.what_next import NextThing
from drillrunner.services import what_next
from drillrunner.services.report import gather
from drillrunner.store.store import Store
from tests.app.conftest import Clock, played, ready, worked_out

MakeApp = Callable[..., DrillrunnerApp]
RIGHT = ("+20", "+10", "+15", "+5", "+25") * 2


@pytest.fixture
def right(store: Store, catalogue: Catalogue, clock: Clock) -> str:
    """A player who misses right with the driver, and knows the other clubs not at all. Her id."""
    ines = store.add_player("Ines")
    for _ in range(2):
        played(store, ines.id, catalogue.drill("miss-total"), *RIGHT)
        clock.pass_minutes(10)
    played(store, ines.id, catalogue.drill("hold-the-corridor"), *"555666")
    store.intents.set_goal(ines.id, Decimal(9), clock.at.date(), "hold-the-corridor")
    return ines.id


async def looked(pilot: Pilot[None]) -> str:
    """The line once it is worked out."""
    line = pilot.app.screen.query_one(NextLine)
    while not line.text:
        await pilot.pause(0.02)
    await worked_out(pilot)
    return line.text


@pytest.mark.usefixtures("counted")
async def test_home_says_what_is_next_and_one_key_plays_it(
    right: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home_screen, "CALM", 0.01)
    monkeypatch.setattr(home_screen, "hardness", lambda *_: None)
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        said = await looked(pilot)
        goal, first = said.split("\n")
        assert first.startswith("5 plays what is next · ")
        assert "driver, you miss right" in first
        assert goal == "goal: Hold the corridor 9; 6 to go from 3; by 10 May, today"
        await pilot.press("5")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.club == "driver"


@pytest.mark.usefixtures("counted")
async def test_the_result_of_a_run_says_it_and_one_key_plays_it(
    right: str, store: Store, make_app: MakeApp
) -> None:
    app = make_app(drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("6", "6", "6")
        await ready(pilot)
        assert isinstance(app.screen, ResultScreen)
        said = await looked(pilot)
        assert said.startswith("> plays what is next · ")
        # A ball too many is not taken for the key that plays something else.
        await pilot.press("5")
        assert isinstance(app.screen, ResultScreen)
        await pilot.press("greater_than_sign")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.club == "driver"


async def test_a_stock_carry_to_find_opens_a_session_for_it(
    right: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = NextThing(
        "Find the stock carry of your gap wedge", "why", "", find=("gap-wedge", "full")
    )
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        home = app.screen
        assert isinstance(home, HomeScreen)
        home._tell_next((found, None))
        await pilot.pause()
        await pilot.click(NextLine)
        await pilot.pause()
        assert isinstance(app.screen, CautionsScreen)
        assert [block.kind for block in app.screen.plan.blocks] == ["warm-up", "find"]
        app.pop_screen()
        await pilot.pause()
        home._tell_next((replace(found, find=None), None))
        await pilot.press("5")
        await pilot.pause()
        assert app.screen is home


def test_the_page_for_a_coach_has_the_very_same_list(
    right: str, store: Store, catalogue: Catalogue
) -> None:
    player = store.player("Ines")
    assert player is not None
    now = datetime(2025, 5, 11, tzinfo=UTC)
    things = what_next.next_things(store, player, catalogue, now)
    page = gather(store, player, Covered(), now, catalogue)
    assert page.look_at
    assert list(page.look_at) == [thing.line for thing in things][: len(page.look_at)]
