"""What is painted sparingly is what would be painted whole."""

from __future__ import annotations

from random import Random
from typing import Any

import pyte
from textual.app import App, ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Label, Static

from drillrunner.app.painting import Sparing

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
