"""The drawn keypad never moves, and all of it is there, whatever is said and whatever is typed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from textual.geometry import Region
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.screens.play import CAUTION, PlayScreen
from drillrunner.app.widgets.keypad import BLOCK, Keypad
from tests.app.conftest import ready, shown
from tests.app.screens.test_play import line

MakeApp = Callable[..., DrillrunnerApp]

SIZES = ((80, 24), (40, 24), (41, 24), (41, 40), (88, 18), (160, 50))
LONG = "a line that says what, where and what was expected, and why none of it was kept " * 3


async def _where(pilot: Pilot[None]) -> Region:
    await pilot.pause()
    pad = pilot.app.screen.query_one(Keypad)
    assert pilot.app.screen.region.contains_region(pad.region)
    tops = {pad.centre(key.name) for key in BLOCK}
    assert len(tops) == len(BLOCK)
    assert all(pad.key_at(*at) is not None for at in tops)
    return pad.region


@pytest.mark.parametrize("size", SIZES)
async def test_no_key_moves_by_a_ball_a_message_or_an_error(
    make_app: MakeApp, size: tuple[int, int]
) -> None:
    app = make_app(player="Ada", drill="miss-total")
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        first = await _where(pilot)
        assert CAUTION.split(".")[0] in shown(app)
        about = app.screen.playing.drill.about
        said = " ".join(shown(app).split())
        assert all(word in said for word in about.split())
        for keys in (("x",), ("5", "plus"), ("backspace",), ("minus", "1", "5", "enter")):
            if keys == ("x",):
                app.say(LONG)
            else:
                await pilot.press(*keys)
            assert await _where(pilot) == first
        assert CAUTION.split(".")[0] not in shown(app)
        await pilot.press("slash", "slash")
        assert await _where(pilot) == first


async def test_a_number_typed_before_the_ball_in_between_is_kept(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="number-between-drives")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("7", "0", "enter", "8", "6")
        assert isinstance(app.screen, PlayScreen)
        assert line(app, "say") == "86 waits: Enter first counts the ball in between"
        await pilot.press("enter")
        await pilot.pause()
        assert not app.screen.playing.run.between_due
        assert line(app, "say") == "the ball in between counts; Enter takes 86"
        await pilot.press("enter")
        await pilot.pause()
        assert [str(shot.carry) for shot in app.screen.playing.run.shots] == ["70", "86"]


async def test_a_tap_is_answered_at_once(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="miss-total")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        pad = app.screen.query_one(Keypad)
        await pilot.click(Keypad, offset=pad.centre("7"))
        assert pad.down == "7", "the key stays lit for a moment, however short the tap"
