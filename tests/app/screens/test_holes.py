"""Holes: the figures are the command line's, and the block turns holes and clubs."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.screens.holes import HolesScreen, aim_words
from drillrunner.app.widgets.hole_view import HoleView
from tests.app.conftest import at_each, ready, worked_out

MakeApp = Callable[..., DrillrunnerApp]


@pytest.mark.usefixtures("counted")
async def test_a_hole_its_clubs_and_its_picture(make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        await pilot.press("equals_sign")
        screen = app.screen
        assert isinstance(screen, HolesScreen)
        await worked_out(pilot)
        assert screen.found is not None
        text = str(app.screen.query_one("#figures-text").content)  # type: ignore[attr-defined]
        assert text.startswith("HOLE 1 · PAR 4 · 372 YD")
        assert "the choice is yours" in " ".join(text.split())
        assert max(map(len, text.splitlines())) <= 79
        await pilot.press("4", "6", "6", "6", "6")
        await worked_out(pilot)
        text = str(app.screen.query_one("#figures-text").content)  # type: ignore[attr-defined]
        assert text.startswith("HOLE 4 · PAR 4 · 405 YD")
        assert "right out from 35" in text
        async for size in at_each(pilot, [(40, 24), (80, 24)]):
            picture = screen.query_one(HoleView).picture
            for mark in "x^░":
                assert mark in picture, (mark, size)
        first = screen.option
        await pilot.press("5")
        assert screen.option == first + 1


def test_a_line_in_words() -> None:
    assert aim_words(0) == "the middle"
    assert aim_words(-6) == "6 yd left of the middle"
    assert aim_words(4) == "4 yd right of the middle"
