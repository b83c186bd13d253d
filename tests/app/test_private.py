"""Where only one's own records are read, no screen shows what anybody else typed."""

from __future__ import annotations

from drillrunner.app.screens.home import HomeScreen
from tests.app.conftest import played, ready, shown, stand_on

WAYS = ("0 e", "0 enter", "k e", "t", "r", "@", "-", "o")
"""Keys from home to the screens that show what was typed."""


async def test_no_screen_shows_anybody_else(store, ines, make_app, catalogue) -> None:
    tobi = store.add_player("Tobias")
    drill = catalogue.drill("hold-the-corridor")
    played(store, tobi.id, drill, *"5555555444")
    store.begin(tobi.id, catalogue.drill("on-the-number"))
    store.add_match(drill.id, [(tobi.id, {})], {"title": "theirs"})
    app = make_app(player="Ines", private=True)
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        assert app.records.open_matches == ()
        for way in WAYS:
            stand_on(app, "hold-the-corridor")
            await pilot.press(*({"@": "at", "-": "minus"}.get(key, key) for key in way.split()))
            await ready(pilot)
            assert "Tobias" not in shown(app), way
            assert "theirs" not in shown(app), way
            while not isinstance(app.screen, HomeScreen):
                await pilot.press("escape")
                await ready(pilot)
            assert "Tobias" not in shown(app), f"home after {way}"
