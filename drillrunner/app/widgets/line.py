"""Lines of text that cost a layout only when their room changes."""

from __future__ import annotations

from textual.reactive import Reactive
from textual.widgets import Static


class TextLine(Static):
    """A text that is shown anew only when it differs, in a place that seldom changes its size."""

    auto_links = Reactive(False)
    """Nothing in it is a link: Textual would make the style of one with every change."""

    def __init__(self, *, id: str) -> None:
        super().__init__("", id=id, markup=False)
        self.text = ""

    def show(self, text: str) -> None:
        """Show a text. Its place is laid out again only if it has another extent."""
        if text == self.text:
            return
        before, now = _extent(self.text), _extent(text)
        room = (self.styles.width, self.styles.height)
        moves = any(
            old != new and (scalar is None or scalar.is_auto)
            for old, new, scalar in zip(before, now, room, strict=True)
        )
        self.text = text
        self.update(text, layout=moves)


class HidingLine(TextLine):
    """A line that takes no room while it has nothing to say."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.display = False

    def show(self, text: str) -> None:
        """Show a text; an empty one hides the line."""
        super().show(text)
        self.display = bool(text)


def _extent(text: str) -> tuple[int, int]:
    """The length of the longest line, and the number of lines."""
    lines = text.split("\n")
    return max(map(len, lines)), len(lines)
