"""A screen with the drawn keypad: a key of the block and a click on a drawn one are the same."""

from __future__ import annotations

from textual import events, on

from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Refused
from drillrunner.rules.station import Ask


class KeypadScreen(BaseScreen):
    """A subclass answers `press`; `entry` reads what was typed.

    typed: the line being typed.
    """

    typed = ""
    _unsure = ""
    """What was too far to be taken at once, and is taken if it is entered again."""

    def on_key(self, event: events.Key) -> None:
        if self.is_typed(event):
            event.stop()
            event.prevent_default()
            self.press(event.key, event.character)

    @on(Keypad.Pressed)
    def _drawn_one_pressed(self, event: Keypad.Pressed) -> None:
        event.stop()
        self.press(event.key, event.character)

    def is_typed(self, event: events.Key) -> bool:
        """Whether a key goes to `press`: those of the block, and what means nothing else here."""
        return (
            keypad.belongs(event.key, event.character)
            # While a number is being typed no letter does anything of its own.
            or (bool(self.typed) and event.is_printable)
            or event.key not in self.active_bindings
        )

    def press(self, key: str, character: str | None) -> None:
        """One key, from the block or drawn."""
        raise NotImplementedError

    def entry(self, text: str, ask: Ask) -> Entry | None:
        """What a typed text means; `None`, with the reason said, leaves it in the line."""
        try:
            found = keypad.read(text, ask, sure=text == self._unsure)
        except keypad.TooFar as far:
            self._unsure = self.typed = text
            self.say(f"{far}. Enter takes it all the same, Backspace corrects")
        except Refused as refused:
            self.typed = text
            # What is typed stays to be corrected, and so does the reason.
            (self.say if text else self.hint)(str(refused))
        else:
            self._unsure = ""
            return found
        return None
