"""A text on a screen is never an order to the terminal, whatever was kept or named."""

from __future__ import annotations

from collections.abc import Callable

from textual.widgets import Static

from drillrunner.app.app import DrillrunnerApp
from drillrunner.catalogue.escapes import CONTROL
from tests.app.conftest import ready


async def test_what_a_screen_draws_holds_nothing_to_obey(
    make_app: Callable[..., DrillrunnerApp],
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await app.screen.mount(Static("evil\x1b[2J \x9b31m\u202etext", markup=False, id="evil"))
        await pilot.pause()
        strips = app.screen.query_one("#evil").render_lines(
            app.screen.query_one("#evil").region.reset_offset
        )
        text = "".join(segment.text for strip in strips for segment in strip)
    assert "evil[2J 31mtext" in text
    assert not CONTROL.search(text)
