"""The green: how likely each length is holed beside another player, lie by lie, at three sizes."""

from __future__ import annotations

import re

import pytest

from drillrunner.app import doors
from drillrunner.app.screens.green import GreenScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.rules.keypad import read
from drillrunner.store.store import Store
from tests.app.conftest import at_each, ready, shown
from tests.app.session_world import MakeApp

pytestmark = pytest.mark.usefixtures("counted")


def putted(store: Store, catalogue: Catalogue, player: str, texts: str) -> None:
    """A run of nine putts, each text one of them."""
    playing = store.begin(player, catalogue.drill("nine-putts"))
    for text in texts:
        playing.append(read(text, playing.run.ask))


async def test_each_length_with_its_interval_beside_the_player_of_the_goal(
    make_app: MakeApp, store: Store, ines: str, catalogue: Catalogue
) -> None:
    from decimal import Decimal

    (player,) = (one for one in store.players() if one.name == "Ines")
    store.intents.set_goal(player.id, Decimal(5), None)
    for _ in range(3):
        putted(store, catalogue, player.id, "121122222")
    app = make_app(player="Ines")
    sizes = [(40, 24), (80, 24), (160, 50)]
    async with app.run_test(size=sizes[0]) as pilot:
        await ready(pilot)
        app.open(doors.Green("green"))
        await ready(pilot)
        assert isinstance(app.screen, GreenScreen)
        side = app.screen.side
        assert side is not None
        assert (side.shots, side.beside) == (27, "index 5 (goal)")
        # Of those from 4 feet all but one in each run were holed in one.
        (four,) = (row for row in side.rows if row.length == 5)
        assert (four.inside, four.of) == (6, 9)
        percent = round(100 * four.holed.median)
        async for size in at_each(pilot, sizes):
            text = shown(app)
            assert "from 27 putts" in text, size
            assert re.search(rf"5 ft {percent} % \(\d+ to \d+\)", text), size
        assert four.holed.low < four.holed.median < four.holed.high
        far = next(row for row in side.rows if row.length == 40)
        assert far.strokes.median > four.strokes.median + 0.4
        await pilot.press("6")
        await ready(pilot)
        async for size in at_each(pilot, sizes):
            assert "FROM THE FRINGE" in shown(app), size
            assert "from 0 balls; a guess so far" in shown(app), size
        await pilot.press("slash")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
