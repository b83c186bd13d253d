"""What is painted sparingly is what would be painted whole."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

import pyte
import pytest
from textual.app import App, ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Label, Static

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.drills import Drills
from drillrunner.app.painting import Sparing
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.themes import THEMES
from drillrunner.app.widgets.lists import BlockList
from tests.app.conftest import ready
from tests.shipped import CATALOGUE

pytestmark = pytest.mark.usefixtures("watched")

SIZE = 44, 16


class Painted(Screen[None]):
    """Widgets beside, within and over one another."""

    CSS = """
    Painted { layers: below top; }
    #left { width: 20; border: round red; }
    #right { padding: 1 2; }
    #c { height: 3; border: heavy blue; }
    #over { layer: top; offset: 12 2; width: 14; height: 4; background: green; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._compositor: Any = Sparing()

    def compose(self) -> ComposeResult:
        with Horizontal():
            with Vertical(id="left"):
                yield Label("a", id="a")
                yield Static("b", id="b")
            with Vertical(id="right"):
                yield Static("c", id="c")
                yield Label("d\nd\nd", id="d")
        yield Static("over", id="over")


class Paints(App[None]):
    """Keeps what a terminal would show, and how often a widget was asked for lines."""

    def __init__(self) -> None:
        super().__init__()
        self.terminal = pyte.Screen(*SIZE)
        self.stream = pyte.Stream(self.terminal)

    def _display(self, screen: Screen[object], renderable: Any) -> None:
        if screen is self.screen and hasattr(renderable, "render_segments"):
            self.stream.feed(renderable.render_segments(self.console).replace("\n", "\r\n"))

    @property
    def whole(self) -> list[str]:
        """What a full painting shows."""
        return [strip.text for strip in self.screen._compositor.render_strips()]


async def test_after_any_changes_the_terminal_shows_what_a_full_painting_would() -> None:
    app, random = Paints(), Random(5)
    async with app.run_test(size=SIZE) as pilot:
        await app.push_screen(Painted())
        await pilot.pause()
        for step in range(40):
            for widget in app.screen.query(Static):
                if random.random() < 0.4:
                    lines = random.randint(1, 3)
                    said = "\n".join(str(step) * random.randint(1, 30) for _ in range(lines))
                    widget.update(said, layout=random.random() < 0.3)
            if random.random() < 0.1:
                over = app.screen.query_one("#over")
                over.display = not over.display
            await pilot.pause()
            assert app.terminal.display == app.whole, step


async def test_a_widget_is_not_asked_for_what_did_not_change() -> None:
    app = Paints()
    async with app.run_test(size=SIZE) as pilot:
        await app.push_screen(Painted())
        await pilot.pause()
        asked: list[str | None] = []
        for widget in (app.screen, *app.screen.query("*")):
            old = widget.render_lines

            def note(crop: Any, old: Any = old, name: str | None = widget.id) -> Any:
                asked.append(name)
                return old(crop)

            widget.render_lines = note  # type: ignore[method-assign]
        app.screen.query_one("#b", Static).update("new", layout=False)
        app.screen.query_one("#c", Static).update("new", layout=False)
        await pilot.pause()
        # What lies over them is asked too, and nothing that lies under them.
        assert set(asked) <= {"b", "c", "over"}
        assert {"b", "c"} <= set(asked)


@pytest.mark.parametrize("door", [doors.History(None, "all"), doors.Pattern("driver")])
async def test_a_screen_that_is_opened_has_its_styles_though_it_gets_them_once(
    door: doors.Door,
    ines: str,
    make_app: Callable[..., DrillrunnerApp],
) -> None:
    styled: list[Screen[Any]] = []

    class Watched(DrillrunnerApp):
        def update_styles(self, node: Any, animate: bool = True) -> None:
            # Before there is anything in it, it takes the classes of its size.
            if isinstance(node, Screen) and node.children:
                styled.append(node)
            super().update_styles(node, animate)

    app = make_app()
    app.__class__ = Watched
    async with app.run_test() as pilot:
        await ready(pilot)
        app.open(door)
        await ready(pilot)
        assert app.screen not in styled
        opened = app.export_screenshot(simplify=True)
        app.screen.update_node_styles()
        await ready(pilot)
        assert app.export_screenshot(simplify=True) == opened


async def test_a_screen_that_is_come_back_to_wears_the_colours_of_now(
    ines: str, make_app: Callable[..., DrillrunnerApp]
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.open(doors.History(None, "all"))
        await ready(pilot)
        app.theme = list(THEMES)[1]
        await pilot.press("escape")
        await ready(pilot)
        assert app.at == "home"
        ground = app.screen.styles.background.hex
        assert ground == THEMES[app.theme].background


async def test_a_start_does_nothing_twice(
    make_app: Callable[..., DrillrunnerApp], ines: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Home is filled once before the records are open and once after; the drills are listed once;
    no screen is laid out again for a size that it was told of."""
    done: list[str] = []

    def noted(of: type, name: str) -> None:
        whole = getattr(of, name)

        def begun(*given: Any) -> Any:
            done.append(name)
            return whole(*given)

        monkeypatch.setattr(of, name, begun)

    noted(HomeScreen, "show")
    noted(Drills, "fitted")
    noted(Screen, "_screen_resized")
    async with make_app(player="Ines").run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        rows = pilot.app.screen.query_one(BlockList).options
        drills = [row for row in rows if (row.id or "").startswith("drill:")]
        assert len(drills) == len(CATALOGUE.drills)
        # Before it is mounted, which costs nothing.
        assert done.count("_screen_resized") == 1
        pilot.app.open(doors.History(None, "all"))  # type: ignore[attr-defined]
        await ready(pilot)
        assert done.count("_screen_resized") == 1, "neither it nor home under it"
    assert done.count("show") == 2
    assert done.count("fitted") < 2 * len(CATALOGUE.drills)
