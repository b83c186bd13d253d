"""Looking back, and what is kept about a player."""

from __future__ import annotations

from collections.abc import Callable
from unittest.mock import Mock

import pytest
from textual.widgets import Input, OptionList

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.screens.clubs import ClubsScreen, identifier
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.player import PlayerScreen
from drillrunner.app.screens.run import RunScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.looking_back.progress import points
from drillrunner.rules.run import Entry, Kind
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.app.conftest import Clock, played, ready, shown, stand_on

MakeApp = Callable[..., DrillrunnerApp]


def _rows(app: DrillrunnerApp) -> list[tuple[str, str]]:
    """Left and right of every row of the list in front."""
    options = app.screen.query_one(OptionList).options
    return [(option.prompt.left, option.prompt.right) for option in options]  # type: ignore[union-attr]


async def test_history_shows_a_setting_newest_first_with_the_way_of_the_best(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue, clock: Clock
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    played(store, ines, drill.with_set(["aim.width=32"]), *"555555444")
    given = played(store, ines, drill, *"555555555")
    store.give_up(given)
    played(store, ines, drill, *"555444")
    other = store.add_player("Tobi")
    played(store, other.id, drill, *"444")
    store.give_up(played(store, other.id, drill, "5"))
    played(store, ines, drill, "5")
    app = make_app(player="Ines")
    async with app.run_test(size=(100, 32)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.press("0")
        await pilot.pause()
        assert isinstance(app.screen, HistoryScreen)
        rights = [right for _, right in _rows(app)]
        assert rights == ["1", "3", "9", "2", "▲ best 3", "▲ best 1"]
        said = shown(app)
        assert "best 1 → 3" in said
        assert "in 6 runs" in said
        assert "given up · 9 balls" in said
        assert "open · 1 ball" in said
        assert "setting 1 of 2" in said

        await pilot.press("6")
        assert "32 yd wide" in shown(app)
        assert [right for _, right in _rows(app)] == ["▲ best 6"]
        await pilot.press("4", "e")
        await pilot.pause()
        assert len(_rows(app)) == 8
        assert any(left.startswith("Tobi · ") for left, _ in _rows(app))


def test_a_tie_takes_nothing(store: Store, ines: str, catalogue: Catalogue) -> None:
    drill = catalogue.drill("hold-the-corridor")
    played(store, ines, drill, *"555444")
    runs = store.history("hold-the-corridor", ines)
    assert [run.score for run in runs] == [3, 2, 3, 1]
    records = [point.run for point in points(runs) if point.record]
    assert [run.score for run in records] == [1, 3]
    best = store.best(ines, drill.fingerprint)
    assert best is not None
    assert records[-1].run == best.run


async def test_an_empty_history_says_what_to_do(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        stand_on(app, "miss-total")
        await pilot.press("0")
        await pilot.pause()
        assert "No runs yet" in shown(app)
        await pilot.press("enter", "4", "6", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_run_opens_to_its_shots_and_an_open_one_goes_on(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    playing = store.begin(ines, catalogue.drill("miss-total"))
    from drillrunner.rules import keypad

    for text in ("-15", "+35", "undo", "0", "void", "15"):
        playing.append(keypad.read(text, playing.run.game.ask))
    playing.append(Entry(Kind.NOTE, "wind from the left"))
    run = store.run(playing.id)
    assert run is not None
    app = make_app()
    async with app.run_test(size=(100, 32)) as pilot:
        await ready(pilot)
        app.push_screen(RunScreen(run))
        await pilot.pause()
        rows = [(left.split(), right) for left, right in _rows(app)]
        assert [left[0] for left, _ in rows] == ["1.", "-", "-", "-", "-", "2.", "-"]
        assert [" ".join(left[1:]) for left, _ in rows] == [
            "15 left",
            "35 right",
            "undo",
            "dead on",
            "void",
            "15 off, side not seen",
            "noted: wind from the left",
        ]
        assert rows[1][1] == "undone"
        assert rows[3][1] == "void"
        await pilot.press("5")
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.id == playing.id


async def test_what_is_kept_of_a_player_changes_at_once(
    store: Store, ines: str, make_app: MakeApp
) -> None:
    store.add_player("Tobi")
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.open(doors.AboutPlayer())
        await pilot.pause()
        assert isinstance(app.screen, PlayerScreen)
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press(*"tobi", "enter")
        assert "is here already" in shown(app)
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("6")
        assert "Enter changes this one" in shown(app)
        await pilot.press("2", "6", "2", "4", "2", "enter")
        await pilot.pause()
        await pilot.press("delete", "backspace", "enter")
        await pilot.pause()
        await pilot.press("2", "6", "2", "enter")
        await pilot.pause()
        await pilot.press(*"20", "enter")
        await pilot.pause()
    player = store.player("Ines")
    assert player is not None
    assert (player.unit, player.hand, player.column) == ("m", "left", "men")
    assert (player.index, player.pace) == (None, 20)


async def test_a_club_of_ones_own(store: Store, ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.push_screen(ClubsScreen())
        await pilot.pause()
        assert app.screen.query_one(OptionList).highlighted == 0
        await pilot.press("5")
        await pilot.pause()
        await pilot.press(*"Driver", "enter")
        assert "is here already" in shown(app)
        app.screen.query_one(Input).value = ""
        await pilot.press(*"Old cleek", "enter")
        await pilot.pause()
        await pilot.press("1", "8", "enter", "enter")
        await pilot.pause()
        await pilot.press(*"far", "enter")
        assert "expected a carry" in shown(app)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, ClubsScreen)
    club = next(club for club in store.clubs(ines) if club.id == "old-cleek")
    assert (club.label, club.usual_carry) == ("Old cleek", None)
    assert identifier("Ü 1") == "1"
    assert identifier("---") == "club"


async def test_records_elsewhere_are_read_through_the_store(
    ines: str, make_app: MakeApp, database: str
) -> None:
    app = make_app(database=f"sqlite:///{database}")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.player is not None
        assert app.player.name == "Ines"
        said = shown(app)
        assert "best 3" in said
        assert "last 2 · 3 · 1" in said


async def test_going_back_from_a_screen_that_cannot_be_read_leads_home(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        full = StoreError("the disk is full: make room, then try again")
        monkeypatch.setattr(Store, "history", Mock(side_effect=full))
        stand_on(app, "hold-the-corridor")
        await pilot.press("0")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        await pilot.press("slash")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        await pilot.press("0")
        await pilot.pause()
        # No digit that is meant for a ball closes the app.
        await pilot.press("2", "2")
        assert isinstance(app.screen, Choice)
        await pilot.press("down", "enter")
    assert app.return_code == 0


@pytest.mark.usefixtures("asked")
async def test_who_was_made_by_being_named_is_asked_once_and_after_what_was_asked_for(
    store: Store, make_app: Callable[..., DrillrunnerApp]
) -> None:
    app = make_app(player="Mara", drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        await pilot.press("5", "escape")
        await ready(pilot)
        assert "Mara: index and card" in shown(app)
        await pilot.press(*"24 women", "enter")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert app.player is not None
        assert (app.player.index, app.player.column) == (24, "women")
    for keys in (("enter",), ("escape",)):
        later = make_app(player="Ole" if keys == ("enter",) else "Pia")
        async with later.run_test() as pilot:
            await ready(pilot)
            assert isinstance(later.screen, Question)
            await pilot.press(*keys)
            await pilot.press("8", "2")
            await ready(pilot)
            assert isinstance(later.screen, HomeScreen)
    for name in ("Ole", "Mara"):
        known = make_app(player=name)
        async with known.run_test() as pilot:
            await ready(pilot)
            assert isinstance(known.screen, HomeScreen)
    ole = store.player("Ole")
    assert ole is not None
    assert (ole.index, ole.column) == (None, None)
