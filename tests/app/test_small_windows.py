"""A window too small for what it shows takes every key, and is whole again when it grows."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Any

import pytest
from textual import events
from textual.command import CommandPalette

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.newest import WorkedOut
from drillrunner.app.screens.calendar import CalendarScreen
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


async def test_sizes_that_come_one_upon_the_other_end_with_the_last(
    make_app: MakeApp, ines: str
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        sizes = [events.Resize.from_dimensions(size, None) for size in ((400, 90), (80, 24))]
        handled = 0
        refresh = app.screen._refresh_layout

        def counted(*given: Any, **named: Any) -> None:
            nonlocal handled
            handled += 1
            # What follows would never end, and no test with it.
            if handled < 50:
                refresh(*given, **named)

        app.screen._refresh_layout = counted  # type: ignore[method-assign]
        # As at the start, while nothing is painted yet.
        with app.batch_update():
            for size in sizes:
                app.screen.post_message(size)
                # Between the two something else comes, so that the later does not replace it.
                app.screen.post_message(events.Callback(callback=lambda: None))
            await asyncio.sleep(0.1)
        await ready(pilot)
        assert handled < 20
        assert app.screen.size == (80, 24)
        await pilot.press("full_stop")
        assert isinstance(app.screen, Choice)


async def test_what_comes_to_a_screen_that_has_gone_asks_for_nothing_in_it(
    make_app: MakeApp, ines: str, counted: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        app.open(doors.Calendar())
        await ready(pilot)
        screen, done = app.screen, threading.Event()
        later, answers = list[Callable[[], object]](), list[object]()
        assert isinstance(screen, CalendarScreen)
        screen.questions.ask(done.wait, answers.append)
        # A slow machine has the rest of these before it when the screen has gone.
        monkeypatch.setattr(screen, "call_after_refresh", later.append)
        await pilot.resize_terminal(40, 24)
        screen.action_back()
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert later
        for do in later:
            do()
        tick = screen.set_interval(60, screen.refit)
        await screen.on_event(events.Timer(tick, 60, 1, screen.refit))
        done.set()
        screen.on_worked_out(WorkedOut(screen.questions, screen.questions._tag, True, None))
        assert not answers
