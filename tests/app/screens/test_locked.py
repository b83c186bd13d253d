"""While another program holds the file, what is typed waits in order, and is not shown as kept.

However the lock opens: what is on disk is the beginning of what was typed, and the screen agrees.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Unwritten
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.app.screens.test_play import line

MakeApp = Callable[..., DrillrunnerApp]


def on_disk(database: str, run: str) -> list[str]:
    """What was typed in a run, as another program reads it."""
    with Store.open(database) as store:
        return [entry.text for entry in store.entries(run)]


def another(database: str) -> sqlite3.Connection:
    """Another program with the same file."""
    return sqlite3.connect(database, timeout=5, isolation_level=None)


async def until(pilot: Pilot[None], so: Callable[[], bool]) -> None:
    """Wait until something is so: the thread that writes tells of what it met by a message."""
    for _ in range(1000):
        if so():
            break
        await pilot.pause(0.01)
    assert so()
    await pilot.pause()


async def says(pilot: Pilot[None], wanted: str) -> None:
    """Wait until this is said."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    await until(pilot, lambda: wanted in line(app, "say"))


@pytest.mark.parametrize("seed", range(2))
async def test_what_is_on_disk_is_the_beginning_of_what_was_typed_and_the_screen_agrees(
    ines: str, make_app: MakeApp, database: str, seed: int
) -> None:
    chance = random.Random(seed)
    # Five of six are held: the run is still open at its end.
    keys = ["5" if n % 6 else "4" for n in range(1, 9)]
    at, opens = sorted(chance.sample(range(1, len(keys)), 2))
    app = make_app(drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        with closing(another(database)) as other:
            for number, key in enumerate(keys):
                if number == at:
                    while not app.records.unwritten.kept:
                        await pilot.pause(0.01)
                    other.execute("BEGIN IMMEDIATE")
                if number == opens:
                    while app.gate.busy:
                        await pilot.pause(0.01)
                    # All that was typed since waits, and the screen shows none of it as kept.
                    assert len(screen.playing.run.entries) == at
                    await says(pilot, f"waiting for the disk: {opens - at} to write")
                    assert on_disk(database, screen.playing.id) == keys[:at]
                    other.execute("ROLLBACK")
                await pilot.press(key)
                kept = [entry.text for entry in screen.playing.run.entries]
                assert kept == keys[: len(kept)]
                assert on_disk(database, screen.playing.id)[: len(kept)] == kept
        while not app.records.unwritten.kept:
            await pilot.pause(0.01)
        await ready(pilot)
        assert "to write" not in shown(app)
        assert [entry.text for entry in screen.playing.run.entries] == keys
        assert on_disk(database, screen.playing.id) == keys


async def test_what_is_left_behind_is_asked_about_by_no_digit_and_is_not_on_disk(
    ines: str, make_app: MakeApp, database: str
) -> None:
    app = make_app(drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(screen := app.screen, PlayScreen)
        await pilot.press("5")
        await ready(pilot)
        with closing(another(database)) as other:
            other.execute("BEGIN IMMEDIATE")
            await pilot.press("5", "4")
            await pilot.press("escape")
            await pilot.pause()
            assert isinstance(app.screen, Unwritten)
            # Digits are meant for balls: none of them moves or answers here.
            await pilot.press(*"8273915")
            assert isinstance(app.screen, Unwritten)
            await pilot.press("down", "enter")
            await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
            other.execute("ROLLBACK")
        await ready(pilot)
    # What was being tried just then may have got through; nothing behind it did.
    assert on_disk(database, screen.playing.id) in (["5"], ["5", "5"])
