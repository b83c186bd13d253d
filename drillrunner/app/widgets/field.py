"""One line to type, done with Enter."""

from __future__ import annotations

from collections.abc import Callable

from textual import events
from textual.widgets import Input


class Field(Input):
    """Calls `done` on Enter.

    Keys that come in one burst may be waiting here while Enter moves the focus on: those typed
    after it go where the focus went.
    """

    def __init__(
        self,
        value: str = "",
        *,
        done: Callable[[], object],
        id: str,
        max_length: int = 0,
        placeholder: str = "",
        hidden: bool = False,
    ) -> None:
        super().__init__(value, placeholder, id=id, max_length=max_length, password=hidden)
        self.done = done

    def on_key(self, event: events.Key) -> None:
        here = self.app.screen is self.screen and self.screen.focused is self
        if here and event.key != "enter":
            return
        event.stop()
        event.prevent_default()
        if here:
            self.done()
        else:
            self.app.post_message(events.Key(event.key, event.character))
