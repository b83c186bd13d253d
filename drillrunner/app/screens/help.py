"""Help: what the screen before this one shows, and every key that works there."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from drillrunner.app.actions import acts
from drillrunner.app.help import TEXTS
from drillrunner.app.screens.base import BaseScreen


class HelpScreen(BaseScreen):
    """The help of `about`, the screen it was asked on."""

    topic = "help"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("2,down", "scroll(1)", "Down", show=False, id="help.down", tooltip="Further"),
        Binding("8,up", "scroll(-1)", "Up", show=False, id="help.up", tooltip="Back up"),
    ]

    def __init__(self, about: Screen[object]) -> None:
        super().__init__()
        topic = getattr(about, "topic", "home")
        self.title = f"Help · {about.title or 'drillrunner'}"
        self.text = TEXTS[topic]
        self.keys = [(" ".join(act.keys), act.name, act.tip) for act in acts(about)]

    def body(self) -> ComposeResult:
        width = max((len(keys) for keys, _, _ in self.keys), default=0)
        lines = [f"{keys:<{width}}  {name}: {tip}" for keys, name, tip in self.keys]
        with VerticalScroll(id="help"):
            yield Static(self.text, id="help-text", markup=False)
            yield Static("\n".join(lines), id="help-keys", markup=False)

    def action_scroll(self, by: int) -> None:
        """Scroll by some lines."""
        self.query_one("#help").scroll_relative(y=by * 3, animate=False)
