"""A drill of one's own, made, changed and taken away by the number block."""

from __future__ import annotations

from pathlib import Path

from drillrunner.app.dialog import Choice, Question
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.make_drill import MakeDrillScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.loader import load
from drillrunner.catalogue.places import folders
from drillrunner.catalogue.width import Estimate
from tests.app.conftest import at_each, ready, shown
from tests.app.session_world import MakeApp, press


def to(screen: MakeDrillScreen, row: str) -> None:
    """Stand on a row."""
    rows = screen.query_one(BlockList)
    rows.highlighted = next(at for at, option in enumerate(rows.options) if option.id == row)


async def opened(pilot: object, app: object) -> MakeDrillScreen:
    """The screen by its key, from the drill that most of the tests are about."""
    home = app.screen  # type: ignore[attr-defined]
    rows = home.query_one(BlockList)
    places = enumerate(rows.options)
    rows.highlighted = next(at for at, row in places if row.id == "drill:hold-the-corridor")
    await press(pilot, "f11")  # type: ignore[arg-type]
    assert isinstance(app.screen, MakeDrillScreen)  # type: ignore[attr-defined]
    return app.screen  # type: ignore[attr-defined, no-any-return]


async def test_a_drill_is_made_changed_and_taken_away(
    ines: str, make_app: MakeApp, home: Path
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        screen = await opened(pilot, app)
        to(screen, "title")
        await pilot.press("enter", *("backspace",) * 40, *"My gate", "enter")
        await pilot.pause()
        to(screen, "aim.width")
        await press(pilot, "enter", "backspace", "backspace", *"32", "enter")
        to(screen, "club")
        await press(pilot, "6")
        to(screen, "save")
        await press(pilot, "enter")
        assert isinstance(app.screen, HomeScreen)
        assert "My gate is yours now: my-gate.toml" in shown(app)
        drill = load(folders()).drill("my-gate")
        assert (drill.title, str(drill.aim.width)) == ("My gate", "32")
        assert drill.club != app.drills.catalogue.drill("hold-the-corridor").club
        assert app.drills.catalogue.drill("my-gate") == drill

        app.open(app_door(app, "my-gate"))
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, MakeDrillScreen)
        to(screen, "settings.lives")
        await press(pilot, "enter", "backspace", *"2", "enter")
        to(screen, "save")
        await press(pilot, "enter")
        assert isinstance(app.screen, Choice)
        assert "It has no record yet." in shown(app)
        await press(pilot, "enter")
        assert load(folders()).drill("my-gate").settings.model_dump()["lives"] == 2

        app.open(app_door(app, "my-gate"))
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, MakeDrillScreen)
        to(screen, "remove")
        await press(pilot, "enter")
        assert "is taken away; its file is kept" in shown(app)
        assert len(list((home / "config" / "games" / "aside").iterdir())) == 2


async def test_what_is_not_saved_is_asked_about(ines: str, make_app: MakeApp, home: Path) -> None:
    app = make_app()
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        await opened(pilot, app)
        await press(pilot, "escape")
        assert isinstance(app.screen, HomeScreen), "nothing was changed"
        screen = await opened(pilot, app)
        to(screen, "club")
        await press(pilot, "6", "slash")
        assert isinstance(app.screen, Choice)
        assert "Not saved yet" in shown(app)
        await press(pilot, "escape")
        assert app.screen is screen
        await press(pilot, "slash", "2", "enter")
        assert isinstance(app.screen, HomeScreen)
        assert not (home / "config" / "games").exists()
        screen = await opened(pilot, app)
        to(screen, "club")
        await press(pilot, "6", "slash", "enter")
        assert isinstance(app.screen, HomeScreen)
        assert load(folders()).drill("my-hold-the-corridor").club == "3-wood"


def app_door(app: object, id: str) -> object:
    from drillrunner.app import doors

    drills = app.drills  # type: ignore[attr-defined]
    return doors.MakeDrill(drills.fitted(drills.catalogue.drill(id)))


async def test_what_a_file_would_be_refused_for_is_refused_as_it_is_typed(
    ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        screen = await opened(pilot, app)
        to(screen, "settings.lives")
        await press(pilot, "enter", "backspace", *"99", "enter")
        assert isinstance(app.screen, Question)
        assert "lives: expected" in shown(app)
        await press(pilot, "escape")
        to(screen, "takes.balls")
        await press(pilot, "enter", *"x", "enter")
        assert isinstance(app.screen, Question)


async def test_what_is_typed_can_be_turned_and_the_words_follow(
    ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 40)) as pilot:
        await ready(pilot)
        screen = await opened(pilot, app)
        assert screen.drill.about == screen.base.about
        to(screen, "asks")
        await press(pilot, "6")
        assert (screen.drill.stations[0].asks, screen.drill.aim.length) == ("strokes", 8)
        assert screen.drill.about == screen.base.game_class.summary
        to(screen, "aim.length")
        await press(pilot, "enter", "backspace", "6", "enter")
        to(screen, "aim.lie")
        await press(pilot, "6")
        assert (screen.drill.aim.length, screen.drill.aim.lie) == (6, "fringe")
        to(screen, "asks")
        await press(pilot, "4")
        assert (screen.drill.stations[0].asks, screen.drill.aim.width) == ("verdict", 40)


async def test_a_width_that_was_worked_out_and_a_gap_are_taken_with_one_key(
    ines: str, make_app: MakeApp, home: Path
) -> None:
    folder = home / "config" / "ranges"
    folder.mkdir(parents=True)
    (folder / "one.toml").write_text(
        'id = "one"\ntitle = "One"\n[[gaps]]\nname = "posts"\ndistance = 205\nwidth = 38\n'
    )
    app = make_app()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        screen = await opened(pilot, app)
        await press(pilot, "w")
        assert "no width was worked out yet" in shown(app)
        app.worked_out = Estimate(33.4, 28.0, 39.0)
        await press(pilot, "w")
        assert str(screen.drill.aim.width) == "33"
        assert str(screen.drill.aim.width_error) == "6"
        await press(pilot, "g")
        assert isinstance(app.screen, Choice)
        await press(pilot, "enter")
        assert str(screen.drill.aim.width) == "38"


async def test_every_bundled_kind_of_drill_can_be_opened(ines: str, make_app: MakeApp) -> None:
    sizes = [(40, 24), (80, 24), (160, 50)]
    app = make_app()
    async with app.run_test(size=sizes[0]) as pilot:
        await ready(pilot)
        for id in ("hold-the-corridor", "ladder-of-wedges", "nine-putts"):
            app.open(app_door(app, id))  # type: ignore[arg-type]
            await pilot.pause()
            assert isinstance(app.screen, MakeDrillScreen)
            assert app.screen.drill.id.endswith(id)
            async for size in at_each(pilot, sizes):
                assert "Title" in shown(app), (id, size)
                assert "…" not in shown(app) or size[0] < 80, (id, size)
            app.pop_screen()
