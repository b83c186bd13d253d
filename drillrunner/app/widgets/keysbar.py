"""The footer: the keys of the screen, cut to what fits."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.widget import Widget
from textual.widgets import Footer

CRAMPED = 60
"""Columns under which keys stand close together."""

STAYING = ("menu", "back", "app.help")
"""What is always there to be clicked: it leads to all the rest."""


class KeysBar(Footer):
    """Textual's footer, but keys are dropped from the left until the rest fits.

    Those nearest to the hand come first (Enter on a row) and are the best known; the menu has all,
    so that it stays.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._cut_to: int | None = None

    def compose(self) -> ComposeResult:
        keys: list[Widget] = list(super().compose())
        self._cut_to = room = self.app.size.width
        self.compact = room < CRAMPED
        for key in [key for key in keys if getattr(key, "action", "") not in STAYING]:
            if sum(map(self._columns, keys)) <= room + 1:
                break
            keys.remove(key)
        yield from keys

    async def on_resize(self, event: events.Resize) -> None:
        """Cut again where the room has changed."""
        if event.size.width != self._cut_to:
            await self.recompose()

    def _columns(self, key: Widget) -> int:
        """The columns that a key takes, with the gap after it."""
        gap = 2 if self.compact else 3
        return len(getattr(key, "key_display", "")) + len(getattr(key, "description", "")) + gap
