"""Where the strokes go, on the screen."""

from __future__ import annotations

import pytest

from drillrunner.app.screens.where_lost import WhereLostScreen
from tests.app.conftest import ready, shown
from tests.app.session_world import MakeApp, settled
from tests.app.test_odds_worker import until

pytestmark = pytest.mark.usefixtures("counted")


async def test_needs_and_what_practice_is_worth_stand_together(
    ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test(size=(40, 40)) as pilot:
        await ready(pilot)
        await pilot.press("q")
        await settled(pilot)
        assert isinstance(app.screen, WhereLostScreen)
        await until(pilot, lambda: "driver 10 % narrower" in shown(app))
        assert "no round that tells where" in shown(app)
        assert "by the model" in shown(app)
        assert "known for men only" not in " ".join(shown(app).split())
        assert app.player is not None
        assert app.records.store is not None
        app.player = app.records.store.change_player(app.player.id, column="women")
        await pilot.press("slash", "q")
        await settled(pilot)
        await until(pilot, lambda: "known for men only" in " ".join(shown(app).split()))
