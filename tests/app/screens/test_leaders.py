"""The leaders' board: only who agreed, equal scores share a place, kept up to date by itself."""

from __future__ import annotations

from drillrunner.app import doors
from drillrunner.app.screens import leaders
from drillrunner.app.screens.player import PlayerScreen
from tests.app.conftest import played, ready, shown


async def test_a_board_shows_who_agreed_and_what_is_new(
    store, ines, make_app, catalogue, monkeypatch
) -> None:
    monkeypatch.setattr(leaders, "EVERY", 0.2)
    drill = catalogue.drill("hold-the-corridor")
    bo = store.add_player("Bo")
    played(store, bo.id, drill, *"555444")
    store.boards.share(ines, True)
    app = make_app(board=doors.Leaders(drill))
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        assert "3 the best, by Ines" in shown(app)
        assert "Bo" not in shown(app)
        store.boards.share(bo.id, True)
        while "Bo" not in shown(app):
            await pilot.pause(0.02)
        assert "3 the best, by Ines and Bo" in shown(app)
        assert "1  Bo" in shown(app)
        store.boards.share(ines, False)
        while "Ines" in shown(app):
            await pilot.pause(0.02)


async def test_a_player_says_yes_and_takes_it_back_on_their_own_screen(
    store, ines, make_app
) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 40)) as pilot:
        await ready(pilot)
        app.open(doors.AboutPlayer())
        await ready(pilot)
        assert isinstance(app.screen, PlayerScreen)
        await pilot.press("8")
        for wanted in (True, False):
            await pilot.press("6")
            await ready(pilot)
            assert store.boards.shares(ines) is wanted
