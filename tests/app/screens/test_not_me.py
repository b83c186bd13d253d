"""Not me: a run is given to the player whose it was, and a start without a name is the owner's."""

from __future__ import annotations

from collections.abc import Callable

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.run import RunScreen
from drillrunner.store.store import Store
from tests.app.conftest import ready


async def test_a_run_is_given_to_whose_it_was_and_home_stays_the_owners(
    ines: str, store: Store, make_app: Callable[..., DrillrunnerApp]
) -> None:
    tobi = store.add_player("Tobi")
    best = max(store.history(), key=lambda run: run.score or 0)
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.player is not None
        assert app.player.name == "Ines"
        app.push_screen(RunScreen(best))
        await pilot.pause()
        await pilot.press("y")
        assert isinstance(app.screen, Choice)
        await pilot.press("enter")
        await ready(pilot)
        assert isinstance(app.screen, RunScreen)
        assert app.screen.run_shown.player == "Tobi"
    assert [run.run for run in store.history() if run.player_id == tobi.id] == [best.run]
    mine, theirs = (store.best(whose, best.fingerprint) for whose in (ines, tobi.id))
    assert mine is not None
    assert theirs is not None
    assert (mine.score, theirs.score) == (2, best.score)
    later = make_app()
    async with later.run_test() as pilot:
        await ready(pilot)
        assert later.player is not None
        assert later.player.name == "Ines"
