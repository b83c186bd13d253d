"""The app on a PostgreSQL server, which is no file to be looked into before it is open."""

from __future__ import annotations

from drillrunner.app.screens.play import PlayScreen
from drillrunner.store.store import Store
from tests.app.conftest import ready, stand_on
from tests.store.postgres import new_url, server_url, url

__all__ = ["new_url", "server_url", "url"]


async def test_the_first_enter_at_home_opens_the_drill(url, make_app) -> None:
    with Store.open(url) as store:
        store.add_player("Ines")
    app = make_app(database=url)
    async with app.run_test(size=(80, 24)) as pilot:
        stand_on(app, "hold-the-corridor")
        await pilot.press("enter")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.player.name == "Ines"
        await pilot.press("5")
        await ready(pilot)
    with Store.open(url) as store:
        assert store.open_runs()[0].counted == 1


async def test_a_server_without_anybody_asks_who_plays_and_then_opens_it(new_url, make_app) -> None:
    app = make_app(database=new_url)
    async with app.run_test(size=(80, 24)) as pilot:
        stand_on(app, "hold-the-corridor")
        await pilot.press("enter")
        await ready(pilot)
        await pilot.press(*"Ann", "enter", "enter", "enter")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen), app.screen
