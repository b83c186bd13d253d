"""The leaders' board: only who agreed, equal scores share a place, kept up to date by itself."""

from __future__ import annotations

import pytest

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.screens import leaders
from drillrunner.app.screens.player import PlayerScreen
from drillrunner.app.widgets.board import LargeName
from tests.app.conftest import played, ready
from tests.app.screens.test_between_bays import until


def said(app: DrillrunnerApp) -> str:
    """What the board says; both parts change at once."""
    return f"{app.screen.query_one(LargeName).note}\n{app.screen.query_one('#ranking').content}"  # type: ignore[attr-defined]


@pytest.mark.usefixtures("counted")
async def test_a_board_shows_who_agreed_and_what_is_new(
    store, ines, make_app, catalogue, monkeypatch
) -> None:
    monkeypatch.setattr(leaders, "EVERY", 0.1)
    drill = catalogue.drill("hold-the-corridor")
    bo = store.add_player("Bo")
    played(store, bo.id, drill, *"555444")
    store.boards.share(ines, True)
    app = make_app(board=doors.Leaders(drill))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "Ines" in said(app))
        assert "Bo" not in said(app)
        store.boards.share(bo.id, True)
        await until(pilot, lambda: "Bo" in said(app))
        assert "by Ines and Bo" in said(app)
        assert "1  Bo" in said(app)
        store.boards.share(ines, False)
        await until(pilot, lambda: "Ines" not in said(app))
        assert "by Bo" in said(app)


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
