"""A server that stopped or is locked, a file that another program holds: the screen goes on.

The waits are made far longer than a test may take, so that an app which ended or painted did so
while nobody had answered it.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import ExitStack, asynccontextmanager, closing, contextmanager
from typing import Any

import psycopg
import pytest
from textual.pilot import Pilot

from drillrunner.app import doors, match_start
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.records import WAITED_FOR
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.practice.matches.record import Setup
from drillrunner.store import server, wire
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown
from tests.store.postgres import asked, server_url, url

__all__ = ["server_url", "url"]

LONG = 120
"""Seconds that a hold would last."""
SOON = 40
"""Seconds within which anything is to be seen, on however slow a machine."""
BEAT = 0.02
DRILL = "hold-the-corridor"


async def until(so: Callable[[], bool]) -> None:
    """Wait until something is so, without waiting for what was typed."""
    end = time.monotonic() + SOON
    while not so():
        assert time.monotonic() < end
        await asyncio.sleep(0.005)


@contextmanager
def locked(app: DrillrunnerApp) -> Iterator[None]:
    """Another program has all tables of the server to itself."""
    with psycopg.connect(app.records.database.replace("+psycopg", "")) as other:
        names = other.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
        every = ", ".join(f'"{name}"' for (name,) in names.fetchall())
        other.execute(f"LOCK TABLE {every} IN ACCESS EXCLUSIVE MODE")
        yield
        other.rollback()


@contextmanager
def stopped(app: DrillrunnerApp) -> Iterator[None]:
    """The server does nothing any more for this app, and says nothing of that."""
    others = "SELECT pid FROM pg_stat_activity WHERE datname = current_database()"
    found = asked(app.records.database, f"{others} AND pid <> pg_backend_pid()")
    for (pid,) in found:
        os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        for (pid,) in found:
            os.kill(pid, signal.SIGCONT)


@contextmanager
def held(app: DrillrunnerApp) -> Iterator[None]:
    """Another program writes to the file."""
    with closing(sqlite3.connect(app.records.database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


async def history(pilot: Pilot[None]) -> None:
    pilot.app.open(doors.History(DRILL, "Hold the corridor"))  # type: ignore[attr-defined]


async def setting(pilot: Pilot[None]) -> None:
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    player = app.player
    assert player is not None
    app.records.with_store(
        lambda store: (store.change_player(player.id, unit="m"), app.say("kept"))
    )


async def giving(pilot: Pilot[None]) -> None:
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)

    def give(store: Store) -> None:
        run = store.history()[0]
        store.give_run(run.run, store.player("Tobi").id)  # type: ignore[union-attr]
        app.say("given")

    app.records.with_store(give)


async def match(pilot: Pilot[None]) -> None:
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    match_start.start(app, app.drills.catalogue.drill(DRILL), Setup(("Ines", "Tobi")))


def done(app: DrillrunnerApp) -> dict[object, bool]:
    """What each of these has led to."""
    with Store.open(app.records.database) as store:
        ines, tobi = (store.player(name) for name in ("Ines", "Tobi"))
        assert ines is not None
        assert tobi is not None
        return {
            history: isinstance(app.screen, HistoryScreen) and "best" in shown(app),
            setting: ines.unit == "m",
            giving: bool(store.history(player_id=tobi.id)),
            match: isinstance(app.screen, MatchPlayScreen),
        }


CASES = [
    *((hold, what) for hold in (locked, stopped) for what in (history, setting, giving, match)),
    *((held, what) for what in (setting, giving, match)),
]
LEFT = [case for at, case in enumerate(CASES) if at % 2 == 0]
"""What is left is the wait, whatever it is for: each kind of hold, and of what it holds up."""


def named(cases: list[Any]) -> list[str]:
    """The cases by their names."""
    return [f"{hold.__name__}-{what.__name__}" for hold, what in cases]


@pytest.fixture
def at_a_database(request, monkeypatch, make_app, catalogue, database) -> DrillrunnerApp:
    """An app with players and a run; its server or file may keep it waiting for minutes."""
    hold = request.getfixturevalue("hold")
    where = database if hold is held else request.getfixturevalue("url")
    patience = "-c lock_timeout=120000 -c statement_timeout=120000"
    monkeypatch.setattr(server, "LIMITS", {**server.LIMITS, "options": patience})
    monkeypatch.setattr(wire, "ANSWERS_WITHIN", LONG)
    monkeypatch.setattr(wire.Patient, "limit", LONG)
    with Store.open(where) as store:
        for name in ("Ines", "Tobi"):
            store.add_player(name)
        played(store, store.players()[0].id, catalogue.drill(DRILL), *"555444")
    return make_app(database=where)


async def is_held_up(app: DrillrunnerApp) -> None:
    """It waits, says so, and its own clock goes on meanwhile."""
    beats = 0

    def beat() -> None:
        nonlocal beats
        beats += 1

    timer = app.set_interval(BEAT, beat)
    await until(lambda: app.records.waited_for)
    before = beats
    await until(lambda: beats > before + 5)
    await until(lambda: WAITED_FOR in shown(app))
    assert app.records.waited_for
    timer.stop()


@asynccontextmanager
async def opened(app: DrillrunnerApp) -> AsyncIterator[Pilot[None]]:
    """The app at home, with records that wait as long for a file as for a server."""
    async with app.run_test(size=(100, 30)) as pilot:
        await ready(pilot)
        assert app.records.store is not None
        app.records.store.database.wait = LONG
        yield pilot


@pytest.mark.parametrize(("hold", "what"), CASES, ids=named(CASES))
async def test_the_screen_goes_on_and_so_does_what_was_asked_for_once_it_is_answered(
    at_a_database: DrillrunnerApp, hold, what
) -> None:
    app = at_a_database
    async with opened(app) as pilot:
        with hold(app):
            await what(pilot)
            await is_held_up(app)
            # What is typed meanwhile waits for what was asked for, and does nothing at home.
            typed = asyncio.create_task(pilot.press("down"))
            await asyncio.sleep(0.05)
            assert isinstance(app.screen, HomeScreen | HistoryScreen)
        await typed
        await ready(pilot)
        assert done(app)[what]
        assert WAITED_FOR not in shown(app)


@pytest.mark.parametrize(("hold", "what"), LEFT, ids=named(LEFT))
async def test_the_app_is_left_while_nobody_answers(
    at_a_database: DrillrunnerApp, hold, what, capfd
) -> None:
    app = at_a_database
    with ExitStack() as holding:
        async with opened(app) as pilot:
            holding.enter_context(hold(app))
            await what(pilot)
            await is_held_up(app)
            typed = asyncio.create_task(pilot.press("ctrl+q"))
            await until(lambda: not app.is_running)
            ends = time.monotonic()
        # It has ended, all of it, while the hold still stands.
        assert time.monotonic() < ends + SOON
        await typed
    assert app.return_code == 0
    assert "Traceback" not in "".join(capfd.readouterr())


@pytest.mark.parametrize(("hold", "what"), [(locked, history), (stopped, history)])
async def test_a_screen_that_is_left_reads_no_further_and_the_next_one_does(
    at_a_database: DrillrunnerApp, hold, what
) -> None:
    app = at_a_database
    async with app.run_test(size=(100, 30)) as pilot:
        await ready(pilot)
        for _ in range(server.KEPT + server.MORE + 1):
            # More often than there are connections: none of them is lost with the screen.
            with hold(app):
                await what(pilot)
                await is_held_up(app)
                app.pop_screen()
                await asyncio.sleep(0.05)
                assert isinstance(app.screen, HomeScreen)
            await ready(pilot)
            assert not app.records.waited_for
        await what(pilot)
        await ready(pilot)
        assert done(app)[what]


async def test_what_is_asked_for_meanwhile_comes_behind_it_in_its_order(
    url: str, make_app: Callable[..., DrillrunnerApp]
) -> None:
    with Store.open(url) as store:
        store.add_player("Ines")
    app, seen = make_app(database=url), list[int]()
    async with app.run_test() as pilot:
        await ready(pilot)
        with locked(app):
            for at in range(3):
                app.records.with_store(
                    lambda store, at=at: seen.append(at + 0 * len(store.players()))
                )
            await until(lambda: app.records.waited_for)
            assert not seen
        await ready(pilot)
        assert seen == [0, 1, 2]


async def test_a_connection_that_says_nothing_is_given_up_for_another_one(
    url: str, make_app: Callable[..., DrillrunnerApp], monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(url) as store:
        store.add_player("Ines")
    app = make_app(database=url)
    async with app.run_test(size=(100, 30)) as pilot:
        await ready(pilot)
        monkeypatch.setattr(wire.Patient, "limit", 0.2)
        seen: list[object] = []
        with stopped(app):
            app.records.with_store(lambda store: seen.append(store.players()))
            await until(lambda: bool(seen))
        await ready(pilot)
        assert not app.records.waited_for
