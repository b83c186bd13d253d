"""Help: what the screen before this one shows, and every key that works there."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from drillrunner.app.actions import acts
from drillrunner.app.help import TEXTS
from drillrunner.app.screens.base import BaseScreen, ScrollScreen


class HelpScreen(ScrollScreen):
    """The help of `about`, the screen it was asked on."""

    topic = "help"
    scrolled = "#help"
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, about: Screen[object]) -> None:
        super().__init__()
        topic = getattr(about, "topic", "home")
        self.title = f"Help · {about.title or 'drillrunner'}"
        told = about.first_help() if isinstance(about, BaseScreen) else ""
        self.text = "\n\n".join(filter(None, (told, TEXTS[topic])))
        self.keys = [(" ".join(act.keys), act.name, act.tip) for act in acts(about)]

    def body(self) -> ComposeResult:
        width = max((len(keys) for keys, _, _ in self.keys), default=0)
        lines = [f"{keys:<{width}}  {name}: {tip}" for keys, name, tip in self.keys]
        with VerticalScroll(id="help"):
            yield Static(self.text, id="help-text", markup=False)
            yield Static("\n".join(lines), id="help-keys", markup=False)
