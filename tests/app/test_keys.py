"""Everything by the number block alone, everything by the mouse alone, and help everywhere."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable
from decimal import Decimal

import pytest
from textual.binding import Binding
from textual.pilot import Pilot
from textual.widgets import Button, Input, OptionList

import drillrunner.app.screens
from drillrunner.app.actions import acts
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice, Dialog, Question
from drillrunner.app.help import TEXTS
from drillrunner.app.screens import base
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.screens.clubs import ClubsScreen
from drillrunner.app.screens.help import HelpScreen
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.new_player import NewPlayerScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.player import PlayerScreen
from drillrunner.app.screens.run import RunScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.loader import Catalogue
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown, stand_on

MakeApp = Callable[..., DrillrunnerApp]

for _module in pkgutil.iter_modules(drillrunner.app.screens.__path__):
    importlib.import_module(f"drillrunner.app.screens.{_module.name}")


def _kinds(base: type) -> set[type]:
    return {base} | {kind for child in base.__subclasses__() for kind in _kinds(child)}


SCREENS = sorted(_kinds(BaseScreen) | _kinds(Dialog), key=lambda kind: kind.__name__)
BOUND = [*SCREENS, BlockList, DrillrunnerApp]


def test_every_screen_has_a_help_text() -> None:
    assert [kind for kind in SCREENS if not TEXTS.get(kind.topic, "").strip()] == []


def test_every_binding_has_an_id_and_a_tooltip() -> None:
    bound = [(kind, binding) for kind in BOUND for binding in vars(kind).get("BINDINGS", ())]
    assert bound
    for kind, binding in bound:
        assert isinstance(binding, Binding), kind
        assert binding.id, (kind, binding)
        assert binding.tooltip, (kind, binding)


async def _choose(pilot: Pilot[None], name: str) -> None:
    """Choose a row of the list in front, with 8, 2 and Enter alone."""
    await pilot.pause()
    rows = pilot.app.screen.query_one(BlockList)
    for _ in range(rows.option_count):
        option = rows.highlighted_option
        prompt = getattr(option.prompt if option else None, "left", "")
        if name.casefold() in prompt.casefold():
            await pilot.press("enter")
            await pilot.pause()
            return
        await pilot.press("2")
    raise AssertionError(f"no row {name!r}: {shown(pilot.app)}")  # type: ignore[arg-type]


async def _menu(pilot: Pilot[None], name: str) -> None:
    """Choose from the menu of the screen."""
    await pilot.press("full_stop")
    await pilot.pause()
    assert isinstance(pilot.app.screen, Choice)
    await _choose(pilot, name)


async def test_the_number_block_alone_reaches_everything(
    store: Store, ines: str, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await _menu(pilot, "History")
        assert isinstance(app.screen, HistoryScreen)
        await pilot.press("2", "enter")
        await pilot.pause()
        assert isinstance(app.screen, RunScreen)
        await pilot.press("slash")
        await pilot.pause()
        await _menu(pilot, "Help")
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("2", "8", "slash", "slash")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)

        await _menu(pilot, "Players")
        await _choose(pilot, "name, unit, index")
        assert isinstance(app.screen, PlayerScreen)
        await pilot.press("2", "6")
        assert app.player is not None
        assert app.player.unit == "m"
        await _choose(pilot, "Handicap index")
        assert isinstance(app.screen, Question)
        await pilot.press("end", *(["backspace"] * 4), *"12.1", "enter")
        await pilot.pause()
        assert app.player.index == Decimal("12.1")
        await _choose(pilot, "Clubs")
        assert isinstance(app.screen, ClubsScreen)
        await _choose(pilot, "Driver")
        await _choose(pilot, "usual carry")
        await pilot.press("end", *(["backspace"] * 4), *"215", "enter")
        await pilot.pause()
        await _choose(pilot, "3 wood")
        await _choose(pilot, "retire")
        await pilot.press("slash", "slash")
        await pilot.pause()

        await _menu(pilot, "Look")
        assert app.theme == "light"
        await _menu(pilot, "Players")
        await _choose(pilot, "add a player")
        await pilot.press(*"7", "enter", "enter")
        await pilot.pause()
        assert app.player.name == "7"
        await _choose(pilot, "Hold the corridor")
        assert isinstance(app.screen, PlayScreen)
        await _menu(pilot, "Leave")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        await _menu(pilot, "Quit")
    assert app.return_code == 0
    clubs = {club.id: club for club in store.clubs(ines)}
    assert (clubs["driver"].usual_carry, clubs["driver"].unit) == (Decimal(215), "m")
    assert clubs["3-wood"].retired


@pytest.mark.parametrize(
    ("key", "screen"),
    [("decimal", Choice), ("comma", Choice), ("separator", Choice), ("f10", Choice)],
)
async def test_the_menu_opens_by_every_name_of_its_key(
    ines: str, make_app: MakeApp, key: str, screen: type
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press(key)
        await pilot.pause()
        assert isinstance(app.screen, screen)
        await pilot.press("divide")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def _click_row(pilot: Pilot[None], name: str) -> None:
    """Turn the wheel until a row of the list in front can be seen, and click it."""
    await pilot.pause()
    rows = pilot.app.screen.query_one(BlockList)
    line = 0
    for option in rows.options:
        prompt = option.prompt
        if name.casefold() in getattr(prompt, "left", "").casefold():
            rows.scroll_to(y=line - rows.size.height // 2, animate=False)
            await pilot.pause()
            assert await pilot.click(rows, offset=(6, line - int(rows.scroll_y)))
            await pilot.pause()
            return
        width = rows.scrollable_content_region.width - 2
        line += prompt.get_height(rows.styles, width)  # type: ignore[union-attr]
    raise AssertionError(f"no row {name!r}")


async def _click_footer(pilot: Pilot[None], name: str) -> None:
    """Click a key of the footer."""
    await pilot.pause()
    for key in pilot.app.screen.query("FooterKey"):
        if key.description == name:  # type: ignore[attr-defined]
            assert await pilot.click(key)
            await pilot.pause()
            return
    raise AssertionError(f"no {name!r} in the footer")


@pytest.mark.parametrize("size", [(80, 24), (40, 24)])
async def test_the_mouse_alone_reaches_everything(
    ines: str, make_app: MakeApp, size: tuple[int, int]
) -> None:
    app = make_app()
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.pause()
        await _click_footer(pilot, "Menu")
        await _click_row(pilot, "History")
        assert isinstance(app.screen, HistoryScreen)
        await _click_row(pilot, "today")
        assert isinstance(app.screen, RunScreen)
        await _click_footer(pilot, "Back")
        await _click_footer(pilot, "Back")
        await _click_footer(pilot, "Help")
        assert isinstance(app.screen, HelpScreen)
        await pilot.click("TopBar", offset=(2, 0))
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)

        await pilot.click("TopBar", offset=(size[0] - 3, 0))
        await _click_row(pilot, "add a player")
        assert isinstance(app.screen, NewPlayerScreen)
        await pilot.click("#name")
        app.screen.query_one("#name", Input).value = "Tobi"
        await pilot.click("#start")
        await pilot.pause()
        assert app.player is not None
        assert app.player.name == "Tobi"

        await pilot.click("TopBar", offset=(size[0] - 3, 0))
        await _click_row(pilot, "Tobi: name")
        await _click_row(pilot, "Unit")
        assert app.player.unit == "m"
        await _click_row(pilot, "Name")
        app.screen.query_one(Input).value = "Tobias"
        await pilot.click("#take")
        await pilot.pause()
        assert app.player.name == "Tobias"
        await _click_row(pilot, "Name")
        await pilot.click("#back")
        await _click_footer(pilot, "Back")

        await _click_footer(pilot, "Menu")
        await _click_row(pilot, "close")
        assert isinstance(app.screen, HomeScreen)
        await _click_row(pilot, "Hold the corridor")
        assert isinstance(app.screen, PlayScreen)


async def test_help_opens_on_every_screen_and_lists_its_keys(
    store: Store, ines: str, make_app: MakeApp, catalogue: Catalogue
) -> None:
    played(store, ines, catalogue.drill("hold-the-narrow-corridor"), "5")
    app = make_app()
    async with app.run_test(size=(100, 50)) as pilot:
        await ready(pilot)
        from drillrunner.app.screens.notices import NoticesScreen

        async def helped() -> None:
            about = app.screen
            assert len(acts(about)) >= 2
            await pilot.press("f1" if isinstance(about, Question) else "question_mark")
            await pilot.pause()
            assert isinstance(app.screen, HelpScreen), about
            assert app.screen.text == TEXTS[about.topic]  # type: ignore[attr-defined]
            assert any(name == "Help" for _, name, _ in app.screen.keys)
            await pilot.press("slash")
            await pilot.pause()
            assert app.screen is about

        await helped()
        run = store.history(limit=1)[0]
        for screen in (
            HistoryScreen("hold-the-corridor", "Hold the corridor"),
            RunScreen(run),
            PlayerScreen(),
            ClubsScreen(),
            NoticesScreen(),
            NewPlayerScreen(first=False),
            Choice("One", [("a", "A", "")]),
            Question("What", "", "x"),
        ):
            app.push_screen(screen)
            await pilot.pause()
            if isinstance(screen, NewPlayerScreen):
                app.screen.query_one(Button).focus()
            await helped()
            app.pop_screen()
            await pilot.pause()
        app.runs.go_on(run.run)
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        await helped_play(app, pilot)


async def helped_play(app: DrillrunnerApp, pilot: Pilot[None]) -> None:
    """Help over a run: `?`, and back."""
    about = app.screen
    await pilot.press("question_mark")
    await pilot.pause()
    assert isinstance(app.screen, HelpScreen)
    await pilot.press("escape")
    await pilot.pause()
    assert app.screen is about


async def test_the_palette_offers_what_the_screen_can_do(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        offered = {command.title for command in app.get_system_commands(app.screen)}
        assert {"History", "Players", "Help", "Quit", "Look: sunlight"} <= offered
        assert "Page down" not in offered


async def test_digits_belong_to_the_line_being_typed(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.people.add()
        await pilot.pause()
        await pilot.press(*"0123456789", "full_stop", "slash", "plus", "minus", "asterisk")
        assert app.screen.query_one("#name", Input).value == "0123456789./+-*"
        assert isinstance(app.screen, NewPlayerScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_list_ignores_no_key_silently(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        rows = app.screen.query_one(OptionList)
        at = rows.highlighted
        await pilot.press("percent_sign")
        assert rows.highlighted == at
        assert "8 and 2 move" in shown(app)


async def test_the_keys_fit_a_narrow_window(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test(size=(40, 24)) as pilot:
        await ready(pilot)
        for screen in (
            HistoryScreen("hold-the-corridor", "Hold the corridor"),
            PlayerScreen(),
            ClubsScreen(),
        ):
            app.push_screen(screen)
            await pilot.pause()
            await pilot.pause()
            last = shown(app).rstrip().splitlines()[-1]
            assert ". Menu" in last
            assert "/ Back" in last
            assert last.rstrip().endswith("? Help")
            app.pop_screen()
            await pilot.pause()
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        await pilot.pause()
        assert "Enter Open" in shown(app).rstrip().splitlines()[-1]


async def test_leaving_works_from_a_window_too(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press("full_stop")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        await pilot.press("ctrl+q")
        await pilot.pause()
    assert app.return_code == 0


@pytest.mark.parametrize(
    "way", ["", "0", "r", "plus"], ids=["home", "history", "rounds", "session"]
)
async def test_what_is_said_of_a_key_goes_with_the_next_that_does_something_or_by_itself(
    way: str, ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        if way:
            await pilot.press(way)
            await ready(pilot)
        for key, stays in (("left_curly_bracket", True), ("2", False)):
            await pilot.press("left_square_bracket", key)
            await pilot.pause()
            assert ("means nothing here" in shown(app)) is stays
        monkeypatch.setattr(base, "HINT", 0.05)
        await pilot.press("left_square_bracket")
        await pilot.pause(0.3)
        assert "means nothing here" not in shown(app)
        app.say("kept")
        await pilot.press("8")
        assert "kept" in shown(app), "what is no hint stays"
