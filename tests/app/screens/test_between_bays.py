"""A match between bays: two apps on one database, each with a player of its own."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import asynccontextmanager
from typing import Any

import pytest
from textual.pilot import Pilot

from drillrunner.app import bays, doors, match_start
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.between_bays import BetweenBaysScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.match_result import MatchResultScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.widgets.board import Board
from drillrunner.catalogue.drill import Drill
from drillrunner.practice.matches.presence import GONE, Presence
from drillrunner.practice.matches.record import Setup
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown
from tests.store.postgres import missing, server_url, url

__all__ = ["server_url", "url"]


def in_play(app: DrillrunnerApp) -> bool:
    """Whether a match stands on the screen, with all that is in it."""
    return isinstance(app.screen, MatchPlayScreen) and app.screen.is_mounted


async def until(pilot: Pilot[None], so: Callable[[], bool]) -> None:
    """Wait until something is so; a minute is far more than it takes."""
    until = time.monotonic() + 60
    while not so():
        assert time.monotonic() < until, shown(pilot.app)  # type: ignore[arg-type]
        await asyncio.sleep(0.02)
    await pilot.pause()


def board(app: DrillrunnerApp) -> str:
    return app.screen.query_one(Board).plain


@pytest.fixture
def even(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who is likely to win is worked out where both of them play; others ask who is there."""
    monkeypatch.setattr(MatchPlayScreen, "_ask_chance", lambda *_: None)


@asynccontextmanager
async def two_bays(where: str, make_app, private: bool):
    """Ines and Tobi at home, each in an app of their own."""
    with Store.open(where) as store:
        for name in ("Ines", "Tobi"):
            store.add_player(name)
    here = make_app(database=where, player="Ines", private=private)
    there = make_app(database=where, player="Tobi", private=private)
    async with here.run_test(size=(80, 40)) as one, there.run_test(size=(41, 40)) as two:
        for pilot in (one, two):
            await ready(pilot)
        yield one, two


async def begun(one: Pilot[None], two: Pilot[None], drill: Drill) -> None:
    """Both of them in a match, Ines to play."""
    await gathered(one, two, drill)
    await one.press("5")
    for pilot in (one, two):
        await until(pilot, lambda app=pilot.app: in_play(app))


async def waiting(one: Pilot[None], drill: Drill) -> Any:
    """Ines has opened one, and waits for others; her app."""
    here: Any = one.app
    here.open(doors.MatchSetup(drill))
    await ready(one)
    if not here.screen.between_bays:
        here.screen._move()
    await one.press("5")
    await until(one, lambda: isinstance(here.screen, BetweenBaysScreen) and here.screen.stand)
    return here


async def gathered(one: Pilot[None], two: Pilot[None], drill: Drill) -> None:
    """Both of them wait for Ines to start it."""
    here = await waiting(one, drill)
    await two.press("number_sign")
    await two.press(*here.screen.stand.gathering.code, "enter")
    await until(one, lambda: len(here.screen.stand.gathering.players) == 2)


@pytest.mark.usefixtures("counted", "even")
async def test_what_could_not_be_gone_on_with_is_tried_again_once_that_was_said(
    database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    troubles = [StoreError("another program writes to it just now")]
    own_in = match_start.own_in

    def once(*of: Any) -> str | None:
        if troubles:
            raise troubles.pop()
        return own_in(*of)

    async with two_bays(database, make_app, private=False) as (one, two):
        await gathered(one, two, catalogue.drill("hold-the-corridor"))
        monkeypatch.setattr(match_start, "own_in", once)
        await one.press("5")
        await until(two, lambda: isinstance(two.app.screen, Choice))
        assert "another program writes" in shown(two.app)
        await two.press("escape")
        await until(two, lambda: in_play(two.app))


@pytest.mark.usefixtures("counted", "even")
async def test_an_enter_that_bounces_gives_no_open_run_up(
    database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    drill = catalogue.drill("hold-the-corridor")
    async with two_bays(database, make_app, private=False) as (one, two):
        with Store.open(database) as store:
            tobi = store.player("Tobi")
            assert tobi is not None
            run = played(store, tobi.id, drill, "5", "5")
        here = await waiting(one, drill)
        await two.press("number_sign")
        await two.press(*here.screen.stand.gathering.code, "enter", "enter")
        await until(two, lambda: isinstance(two.app.screen, PlayScreen))
        assert two.app.screen.playing.id == run
        await until(one, lambda: len(here.screen.stand.gathering.players) == 1)
    with Store.open(database) as store:
        found = store.open_run(tobi.id, drill.id)
        assert found is not None
        assert found.run == run


@pytest.mark.usefixtures("counted", "even")
async def test_who_came_by_the_number_as_it_began_has_a_seat_too(
    database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    async with two_bays(database, make_app, private=False) as (one, two):
        await gathered(one, two, catalogue.drill("hold-the-corridor"))
        opened = one.app.screen.stand.gathering  # type: ignore[attr-defined]
        await one.press("5")
        await until(one, lambda: in_play(one.app))
        with Store.open(database, one.app.clock) as store:  # type: ignore[attr-defined]
            mara = store.add_player("Mara")
            store.gatherings.join(opened.code, mara.id, 8)
        there: Any = make_app(database=database, player="Mara")
        async with there.run_test(size=(80, 24)) as three:
            await ready(three)
            # As the one who waited when the others began.
            there.open(doors.BetweenBays(opened.number))
            await until(three, lambda: in_play(there))
            assert "Mara" in board(there)
            await until(one, lambda: "Mara" in board(one.app))


@pytest.mark.usefixtures("counted")
async def test_each_types_their_own_and_both_boards_follow(
    database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    drill = catalogue.drill("hold-the-corridor").with_set(["lives=1"])
    async with two_bays(database, make_app, private=False) as (one, two):
        await begun(one, two, drill)
        await two.press("5")
        assert "Ines's turn" in shown(two.app)
        await one.press("5")
        await until(two, lambda: "▶ Tobi" in board(two.app))
        assert "Ines     1" in board(two.app).split("\n")[0]
        assert "turn" not in shown(two.app), "it is Tobi's now"
        await two.press("4")
        await until(one, lambda: "▶ Ines" in board(one.app))
        await two.press("asterisk")
        await until(one, lambda: "▶ Tobi" in board(one.app))
        await two.press("4")
        await until(one, lambda: "▶ Ines" in board(one.app))
        await one.press("asterisk")
        assert "only Tobi takes it back" in shown(one.app)
        await one.press("4")
        for pilot in (one, two):
            await until(pilot, lambda app=pilot.app: isinstance(app.screen, MatchResultScreen))
            await until(pilot, lambda app=pilot.app: "Ines wins" in shown(app))


@pytest.mark.usefixtures("counted", "even")
async def test_a_screen_that_goes_is_marked_and_comes_back(
    request, database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    where = database if missing() else request.getfixturevalue("url")
    async with two_bays(where, make_app, private=True) as (one, two):
        await begun(one, two, catalogue.drill("hold-the-corridor").with_set(["lives=1"]))
        two.app.in_sight = False
        await until(one, lambda: "away" in board(one.app))
        two.app.in_sight = True
        await until(one, lambda: "away" not in board(one.app))
        await two.press("escape", "enter")
        await until(two, lambda: isinstance(two.app.screen, HomeScreen))
        await until(one, lambda: "away" in board(one.app))
        await one.press("5")
        await until(one, lambda: "▶ Tobi" in board(one.app))
        await one.press("j", "2", "enter")
        await until(one, lambda: "‖ Tobi" in board(one.app))
        await ready(two)
        assert "Match: Hold the corridor" in shown(two.app)


@pytest.mark.usefixtures("counted", "even")
async def test_it_is_opened_and_joined_from_the_command_line(
    database, make_app, monkeypatch, catalogue
) -> None:
    monkeypatch.setattr(bays, "FOLLOWED", 0.1)
    monkeypatch.setattr(bays, "BEAT", 0.0)
    drill = catalogue.drill("hold-the-corridor").with_set(["lives=1"])
    # Nobody is known yet: who is named comes to be.
    here: Any = make_app(player="Ines", first=doors.WaitForOthers(drill, Setup((), turns="run")))
    async with here.run_test(size=(80, 24)) as one:
        await until(one, lambda: isinstance(here.screen, BetweenBaysScreen) and here.screen.stand)
        code = here.screen.stand.gathering.code
        await one.press("5")
        (waits,) = here.screen.stand.gathering.players
        await until(one, lambda: here.screen.stand.gathering.players[0].beats > waits.beats + 1)
        assert "expected 2 to 8 players" in shown(here)
        there: Any = make_app(player="Tobi", first=doors.JoinOthers(code))
        async with there.run_test(size=(80, 24)) as two:
            await until(two, lambda: isinstance(there.screen, BetweenBaysScreen))
            await until(one, lambda: len(here.screen.stand.gathering.players) == 2)
            assert "expected 2 to 8 players" not in shown(here), "they are two now"
            await one.press("5")
            for pilot in (one, two):
                await until(pilot, lambda app=pilot.app: in_play(app))
            assert here.screen.desk.record.turns == "run"
        late: Any = make_app(player="Una", first=doors.JoinOthers("0000"))
        async with late.run_test(size=(80, 24)) as three:
            await until(three, lambda: "no match waits by the number 0000" in shown(late))


async def test_a_number_that_is_none_is_said_to_be(store, ines, make_app) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("number_sign", *"12a4", "enter")
        assert "four digits" in shown(app)
        await pilot.press("escape", "number_sign", *"0000", "enter")
        await ready(pilot)
        assert "no match waits" in shown(app)


def test_presence_compares_no_clocks() -> None:
    now = [0.0]
    presence = Presence(lambda: now[0])
    assert presence.away([("ann", 7), ("bo", None)]) == {"bo"}
    now[0] = GONE
    assert presence.away([("ann", 7), ("bo", 1)]) == set()
    now[0] += 1
    assert presence.away([("ann", 7), ("bo", 1)]) == {"ann"}
    assert presence.away([("ann", 8), ("bo", 1)]) == set()
