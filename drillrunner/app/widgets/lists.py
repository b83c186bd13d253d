"""Lists that the number block works: 8 and 2 move, Enter opens; and rows that fit any width."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.binding import BindingType
from textual.content import Content
from textual.css.styles import RulesMap
from textual.message import Message
from textual.strip import Strip
from textual.visual import RenderOptions, Visual
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from drillrunner.app.keys import Keyed, key

if TYPE_CHECKING:
    from textual.style import Style

ROOMY = 56
"""Columns from which a row has room for its second line."""


@dataclass(frozen=True)
class ListRow(Visual):
    """A row of a list: a bold `left`, a `right` at the edge, and the same `below` where it fits.

    below_from: the columns from which there is a second line. narrow: what stands in it under
    that; empty for no such line.
    The left gives way to the right when both do not fit: the number matters more than the name.
    """

    left: str
    right: str = ""
    below: str = ""
    below_right: str = ""
    below_from: int = ROOMY
    narrow: str = ""

    def _lines(self, width: int) -> list[Content]:
        left, right = (Content.styled(text, "bold") for text in (self.left, self.right))
        lines = [_spread(left, right, width)]
        if width >= self.below_from and (self.below or self.below_right):
            lines.append(_spread(Content(f"  {self.below}"), Content(self.below_right), width))
        elif self.narrow and width < self.below_from:
            lines.append(_spread(Content(f"  {self.narrow}"), Content(""), width))
        return lines

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        lines = self._lines(width)[:height]
        return [line.render_strips(width, 1, style, options)[0] for line in lines]

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return container_width

    def get_height(self, rules: RulesMap, width: int) -> int:
        return len(self._lines(width))


def _spread(left: Content, right: Content, width: int) -> Content:
    """Two texts at the two edges of a line."""
    right = right.truncate(max(width - 8, 0), ellipsis=True)
    room = max(width - right.cell_length - (2 if right else 0), 0)
    left = left.truncate(room, ellipsis=True)
    return Content.assemble(left.pad_right(width - left.cell_length - right.cell_length), right)


@dataclass(frozen=True)
class Heading(Visual):
    """A line between the rows: a name, and a rule to the edge."""

    text: str

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        line = Content.styled(f"{self.text.upper()} ".ljust(width, "─"), "bold")
        return line.render_strips(width, 1, style, options)

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return container_width

    def get_height(self, rules: RulesMap, width: int) -> int:
        return 1


def heading(text: str) -> Option:
    """A line between the rows, which can't be chosen."""
    return Option(Heading(text), disabled=True)


class BlockList(Keyed, OptionList):
    """A list for the number block, the arrows and the mouse. Emits OptionList's own messages."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("up", "list.up", "cursor_up"),
        key("down", "list.down", "cursor_down"),
        key("page_up", "list.page_up"),
        key("page_down", "list.page_down"),
        key("first", "list.first"),
        key("last", "list.last"),
        key("do", "list.open", "select", shown=True),
    ]

    @dataclass
    class Meaningless(Message):
        """A key that means nothing in a list."""

        key: str

    def on_key(self, event: events.Key) -> None:
        if event.is_printable and event.key not in self.screen.active_bindings:
            self.post_message(self.Meaningless(event.character or event.key))

    def fill(self, options: list[Option], keep: str | None = None) -> None:
        """Show these rows, and stay on the row with the id `keep` if it is still there."""
        keep = keep or (self.highlighted_option.id if self.highlighted_option else None)
        self.set_options(options)
        ids = [option.id for option in options]
        if keep is not None and keep in ids:
            self.highlighted = ids.index(keep)
        else:
            self.action_first()
