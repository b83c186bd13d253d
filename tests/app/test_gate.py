"""What comes in at once is answered one after the other, and none of it is lost on the way."""

from __future__ import annotations

from collections.abc import Callable

from textual._xterm_parser import XTermParser
from textual.widgets import OptionList

from drillrunner.app.app import DrillrunnerApp
from tests.app.conftest import ready


async def test_a_finger_that_pushes_a_list_moves_it_however_busy_the_app_is(
    make_app: Callable[..., DrillrunnerApp], ines: str
) -> None:
    app = make_app()
    async with app.run_test(size=(41, 24)) as pilot:
        await ready(pilot)
        await pilot.press("full_stop")
        await ready(pilot)
        rows = app.screen.query_one(OptionList)
        assert rows.max_scroll_y > 4
        x, y = rows.region.x + 3, rows.region.y + 3
        # Pressed, let go elsewhere because it slides, and pushed up by two rows of text.
        typed = f"\x1b[<0;{x};{y}M\x1b[<0;1;1m" + f"\x1b[<65;{x};{y}M" * 2
        before = rows.scroll_target_y
        for event in XTermParser().feed(typed):
            app.post_message(event)
        await ready(pilot)
        while app.gate.busy:
            await pilot.pause(0.01)
        await ready(pilot)
        assert rows.is_attached
        assert rows.scroll_target_y == before + 2 * app.scroll_sensitivity_y
