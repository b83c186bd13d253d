"""Home: the drills by club, each with your best, your last scores and what it takes."""

from __future__ import annotations

from textual.app import ComposeResult

from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList


class HomeScreen(BaseScreen):
    """The drills."""

    topic = "home"

    def body(self) -> ComposeResult:
        yield BlockList(id="drills")

    def reread(self) -> None:
        """Read the figures again."""
