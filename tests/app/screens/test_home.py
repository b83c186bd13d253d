"""Home, the players, and runs left open."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from textual.widgets import OptionList, Static

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.new_player import NewPlayerScreen
from drillrunner.app.screens.notices import NoticesScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.rules.run import Kind
from drillrunner.store.store import Store
from tests.app.conftest import Clock, at_each, played, ready, shown

MakeApp = Callable[..., DrillrunnerApp]


async def test_what_was_played_shows_at_once_and_every_drill_by_moving_through_the_list(
    ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test(size=(100, 32)) as pilot:
        await ready(pilot)
        said = shown(app)
        assert "DRIVER" in said
        assert "Hold the corridor" in said
        assert "best 3" in said
        assert "last 2 · 3 · 1" in said
        assert "about 15 balls, 10 min" in said
        assert "Ines" in said
        drills = app.drills.catalogue.drills
        seen = said
        for _ in drills:
            await pilot.press("2")
            seen += shown(app)
        for drill in drills:
            assert drill.title in seen
            assert drill.about[:30] in seen, "what the drill under the cursor is about"


async def test_home_fits_every_size(ines: str, make_app: MakeApp) -> None:
    sizes = [(40, 24), (80, 24), (160, 50), (40, 24)]
    app = make_app()
    async with app.run_test(size=sizes[0]) as pilot:
        await ready(pilot)
        async for size in at_each(pilot, sizes):
            said = shown(app)
            for text in ("Hold the corridor", "best 3", "? Help", "40 yd wide"):
                assert text in said, (text, size)
            assert "fault" not in said, size
            about = str(app.screen.query_one("#about", Static).content)
            assert ("as wide as a fairway." in about) == (size[0] >= 80), size
            assert app.screen.query_one("#detail").display is (size == (160, 50)), size


async def test_enter_plays_the_drill_under_the_cursor(
    ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press("2")
        home = app.screen
        assert isinstance(home, HomeScreen)
        under = home.highlighted
        assert under is not None
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.id == under.id
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_metre_player_plays_in_metres(store: Store, ines: str, make_app: MakeApp) -> None:
    store.change_player(ines, unit="m")
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert "37 m wide" in shown(app)
        assert "best" not in shown(app)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.unit == "m"


async def test_an_open_run_stands_at_the_top_and_enter_goes_on(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    run = played(store, ines, catalogue.drill("hold-the-corridor"), "5", "5", "4")
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert "GO ON" in shown(app)
        assert "go on" in shown(app)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.id == run
        assert app.screen.playing.run.counted == 3


async def test_starting_anew_offers_to_go_on_and_leaving_changes_nothing(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    run = played(store, ines, drill, "5")
    app = make_app(drill=drill.id, player="ines")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, Choice)
        assert "go on" in shown(app)
        await pilot.press("slash")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert len(store.entries(run)) == 1
        app.runs.play(drill)
        await ready(pilot)
        assert isinstance(app.screen, Choice)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.id == run
        assert len(store.entries(run)) == 1


async def test_giving_an_open_run_up_is_an_entry_and_starts_anew(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    run = played(store, ines, catalogue.drill("hold-the-corridor"), "5")
    app = make_app(drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press("2", "enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.id != run
        assert app.screen.playing.run.counted == 0
    assert store.entries(run)[-1].kind == Kind.GIVE_UP
    given = store.run(run)
    assert given is not None
    assert (given.ended, given.finished) == ("given up", False)


async def test_play_again_does_not_pile_screens_up(ines: str, make_app: MakeApp) -> None:
    app = make_app(drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        depth = len(app.screen_stack)
        await pilot.press("4", "4", "4")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.run.counted == 0
        assert len(app.screen_stack) == depth


async def test_players_are_switched_and_added(
    store: Store, ines: str, make_app: MakeApp, clock: Clock
) -> None:
    store.add_player("Tobi")
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.player is not None
        assert app.player.name == "Ines"
        await pilot.press("p")
        await pilot.press("2", "enter")
        await pilot.pause()
        assert app.player.name == "Tobi"
        assert "best" not in shown(app)
        await pilot.press("f2")
        await pilot.press("2", "enter")
        await pilot.pause()
        assert isinstance(app.screen, NewPlayerScreen)
        await pilot.press(*"tobi", "enter", "enter")
        assert "is here already" in shown(app)
        await pilot.press(*"Tobi B", "enter", "enter")
        await pilot.pause()
        assert app.player.name == "Tobi B"
        assert isinstance(app.screen, HomeScreen)


async def test_a_notice_opens_the_list_of_faulty_files(
    ines: str, make_app: MakeApp, tmp_path: Path
) -> None:
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "broken.toml").write_text(
        'id = "broken"\ntitle = "Broken"\ngame = "lives"\nclub = "spoon"\n'
    )
    (folder / "plans").mkdir()
    (folder / "plans" / "torn.toml").write_text('id = "torn"\n')
    from drillrunner.catalogue import places
    from drillrunner.catalogue.loader import folders

    (places.config_dir() / "ranges").mkdir(parents=True)
    (places.config_dir() / "ranges" / "bent.toml").write_text('id = "bent"\n')
    app = make_app(folders=folders([folder]))
    async with app.run_test() as pilot:
        await ready(pilot)
        assert "▲ 5 faults: z shows · in your files" in shown(app)
        await pilot.press("z")
        await pilot.pause()
        assert isinstance(app.screen, NoticesScreen)
        assert "broken.toml, line 4" in shown(app)
        assert {"torn.toml", "bent.toml"} <= {Path(p.file).name for p in app.drills.problems}
        assert app.screen.query_one(OptionList).option_count == len(app.drills.problems)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        assert "spoon" in shown(app)


async def test_a_drill_that_wants_a_stock_carry_says_so(
    ines: str, make_app: MakeApp, tmp_path: Path
) -> None:
    (tmp_path / "stock.toml").write_text(
        'id = "stock"\ntitle = "Stock"\ngame = "on_the_number"\nclub = "9-iron"\n'
        '[aim]\ncarry = "stock"\n'
    )
    from drillrunner.catalogue.loader import folders

    app = make_app(folders=folders([tmp_path]), drill="stock")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "first find your stock carry" in shown(app)


async def test_the_demo_says_that_it_is_one(ines: str, make_app: MakeApp) -> None:
    app = make_app(demo=True)
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        assert shown(app).splitlines()[0].rstrip().endswith("demo · Ines")


async def test_what_of_the_records_is_damaged_is_said_once_and_listed(
    make_app: MakeApp, ines: str, database: str
) -> None:
    with closing(sqlite3.connect(database)) as other:
        other.execute("UPDATE run SET score = 'many' WHERE number = 1")
        other.commit()
    app = make_app(player="Ines")
    async with app.run_test(size=(100, 30)) as pilot:
        await ready(pilot)
        for _ in range(2):
            app.records.with_store(lambda store: store.history())
            await ready(pilot)
        (line,) = app.records.damaged
        assert "is damaged, so it is left out" in line
        assert "▲ 1 fault: z shows · in your records" in shown(app)
        await pilot.press("z")
        await ready(pilot)
        assert isinstance(app.screen, NoticesScreen)
        assert "your records" in shown(app)
