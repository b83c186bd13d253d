"""A window too small for what it shows takes every key, and is whole again when it grows."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from textual.command import CommandPalette

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.home import HomeScreen
from tests.app.conftest import ready

MakeApp = Callable[..., DrillrunnerApp]

SMALL = ((3, 1), (80, 3), (3, 24))
MOVES = ("pagedown", "pageup", "end", "home", "down", "up")


@pytest.mark.parametrize("size", SMALL)
async def test_a_list_without_room_takes_every_key(
    make_app: MakeApp, ines: str, size: tuple[int, int]
) -> None:
    app = make_app()
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        await pilot.press(*MOVES)
        for key, kind in (("ctrl+p", CommandPalette), ("full_stop", Choice)):
            await pilot.press(key)
            await ready(pilot)
            assert isinstance(app.screen, kind)
            await pilot.press(*MOVES)
            await pilot.press("escape")
            await ready(pilot)
            while not isinstance(app.screen, HomeScreen):
                await pilot.press("escape")
                await ready(pilot)
        await pilot.resize_terminal(80, 24)
        await ready(pilot)
        await pilot.press(*MOVES)
        assert isinstance(app.screen, HomeScreen)
