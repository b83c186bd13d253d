"""The last thing before the terminal: no text on a screen is an order to it."""

from __future__ import annotations

from operator import attrgetter

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from drillrunner.catalogue.escapes import CONTROL, without

TEXT = attrgetter("text")


class Plain(LineFilter):
    """Takes control characters out of every line that a widget draws; they have no width."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        if not CONTROL.search("".join(map(TEXT, segments))):
            return segments
        return [segment._replace(text=without(segment.text)) for segment in segments]


PLAIN = Plain()
