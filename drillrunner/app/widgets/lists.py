"""Lists that the number block works: 8 and 2 move, Enter opens; and rows that fit any width."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
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

PAGING = ("page_up", "page_down")
ROOMY = 56
"""Columns from which a row has room for its second line."""
WITH_UNIT = re.compile(r"(?<=\d) (?=(?:%|min|yd|m|ft|balls?)(?:\W|$))")
"""The space between a number and its unit, which belong on one line."""
MOST_LINES = 3
"""Lines that a name or a word on it may take."""


@dataclass(frozen=True)
class ListRow(Visual):
    """A row of a list: a bold `left`, a `right` at the edge, and the same `below` where it fits.

    below_from: the columns from which there is a second line. narrow: what stands in it under
    that; empty for no such line. right_narrow: what stands at the edge under that, if not `right`.
    Where both do not fit in a line the left goes on in the next: nothing is cut.
    """

    left: str
    right: str = ""
    below: str = ""
    below_right: str = ""
    below_from: int = ROOMY
    narrow: str = ""
    right_narrow: str | None = None

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        lines = _lines(self, width)[:height]
        return [line.render_strips(width, 1, style, options)[0] for line in lines]

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return container_width

    def get_height(self, rules: RulesMap, width: int) -> int:
        return len(_lines(self, width))


@lru_cache(maxsize=512)
def _lines(row: ListRow, width: int) -> list[Content]:
    """A row in lines. A list asks each for its height, and for its lines once it is seen."""
    short = row.right_narrow is not None and width < row.below_from
    lines = _spread(row.left, row.right_narrow or "" if short else row.right, width, "bold")
    if width >= row.below_from and (row.below or row.below_right):
        lines += _spread(f"  {row.below}", row.below_right, width)
    elif row.narrow and width < row.below_from:
        lines += _spread(f"  {row.narrow}", "", width)
    return lines


def _spread(left: str, right: str, width: int, style: str = "") -> list[Content]:
    """Two texts at the two edges of a line; what the left has no room for stands in more lines."""
    at_edge = Content.styled(right, style).truncate(max(width - 8, 0), ellipsis=True)
    room = max(width - at_edge.cell_length - (2 if right else 0), 1)
    indent = " " * (len(left) - len(left.lstrip()))
    kept = WITH_UNIT.sub("\N{NO-BREAK SPACE}", left)
    parts = textwrap.wrap(kept, room, subsequent_indent=f"{indent}  ") or [""]
    lines: list[Content] = []
    for part in parts[:MOST_LINES]:
        text = Content.styled(part.replace("\N{NO-BREAK SPACE}", " "), style).truncate(
            room, ellipsis=True
        )
        rest = at_edge if not lines else Content("")
        lines.append(
            Content.assemble(text.pad_right(width - text.cell_length - rest.cell_length), rest)
        )
    return lines


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


class SteadyList(OptionList):
    """A list that has no room in a window too small is not paged through: it knows no page then."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return has_room(self) if action in PAGING else super().check_action(action, parameters)


def has_room(rows: OptionList) -> bool:
    """Whether any row of a list can be seen."""
    return bool(rows.scrollable_content_region.area)


class BlockList(Keyed, SteadyList):
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

    def fill(
        self, options: Sequence[Option], keep: str | None = None, from_top: bool = False
    ) -> None:
        """Show these rows, and stay on the row with the id `keep` if it is still there.

        The row that the cursor is on stays at its line of the screen, whatever came above it: who
        looks at it may press Enter now. from_top: the rows are come to anew, and begin at the top.
        """
        here = self.highlighted_option
        keep = keep or (here.id if here else None)
        seen = None if here is None or here.id != keep else self._line
        scrolled = self.scroll_offset.y
        self.set_options(options)
        ids = [option.id for option in options]
        if keep is None or keep not in ids:
            self.action_first()
            return
        self.highlighted = ids.index(keep)
        if seen is not None and not from_top and (now := self._line) is not None:
            self.scroll_to(y=scrolled + now - seen, animate=False, force=True, immediate=True)

    @property
    def _line(self) -> int | None:
        """The first line of the row under the cursor, counted from the top of all rows."""
        return None if self.highlighted is None else self._index_to_line.get(self.highlighted)
