"""What the `.` menu of a run opens besides the actions themselves: the notes.

The menu lists what is bound on the screen (see `actions`), so that keys, menu, palette and help
can't drift apart.
"""

from __future__ import annotations

from textual import on
from textual.widgets import OptionList

from drillrunner.app.dialog import BACK, Choice, Question

LONGEST_NOTE = 200

READY = (
    "the wind got up",
    "ball or mat was wet",
    "my mind was elsewhere",
    "another swing thought",
    "cold or tired",
)
"""Notes that a gloved hand can choose without a keyboard."""

WRITE = "write"


class NoteChoice(Choice):
    """A ready note or one's own words; the answer is the text, or `None`."""

    def __init__(self) -> None:
        rows = [(note, note, "") for note in READY]
        super().__init__("Note", [*rows, (WRITE, "in your own words …", "")])

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        event.prevent_default()
        if event.option_id == WRITE:
            self.app.push_screen(Question("Note", check=too_long), self._answer)
        else:
            self.dismiss(None if event.option_id == BACK else event.option_id)

    def _answer(self, text: str | None) -> None:
        self.dismiss(text)


def too_long(text: str) -> str | None:
    """Why a note can't be taken."""
    if len(text) > LONGEST_NOTE:
        return f"{len(text)} characters: expected at most {LONGEST_NOTE}"
    return None
