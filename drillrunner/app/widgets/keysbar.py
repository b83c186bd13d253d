"""The footer: the keys of the screen, cut to what fits."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widget import Widget
from textual.widgets import Footer
from textual.widgets._footer import FooterKey

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
        self._drawn: object = None
        """What the keys were drawn from."""

    def _to_draw(self) -> object:
        """All that the keys hang on. Textual makes all of them anew whenever one might differ."""
        ready = self._bindings_ready
        shown = self.screen.active_bindings.values() if ready else ()
        keys = [(binding, enabled) for _, binding, enabled, _ in shown if binding.show]
        return self.app.size.width, ready, keys

    async def recompose(self) -> None:
        # A screen that is going has none any more.
        if self.is_attached and self._to_draw() != self._drawn:
            await super().recompose()

    def compose(self) -> ComposeResult:
        self._drawn = self._to_draw()
        keys: list[Widget] = list(super().compose())
        room = self.app.size.width
        self.compact = room < CRAMPED
        for key in keys:
            # Textual has each key told of it twice once it stands: styles made anew both times.
            if isinstance(key, FooterKey):
                key.set_reactive(FooterKey.compact, self.compact)
                key.set_class(self.compact, "-compact", update=False)
        for key in [key for key in keys if getattr(key, "action", "") not in STAYING]:
            if sum(map(self._columns, keys)) <= room + 1:
                break
            keys.remove(key)
        yield from keys

    async def on_resize(self) -> None:
        """Cut again where the room has changed."""
        await self.recompose()

    def _columns(self, key: Widget) -> int:
        """The columns that a key takes, with the gap after it."""
        gap = 2 if self.compact else 3
        return len(getattr(key, "key_display", "")) + len(getattr(key, "description", "")) + gap
