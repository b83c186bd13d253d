"""A hole from above: fairway, what lies beside it, and a pattern at its aim."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.geometry import Size

from drillrunner.app.widgets.canvas import Cell, CellCanvas
from drillrunner.app.widgets.target import TargetWidget

if TYPE_CHECKING:
    from drillrunner.odds.strokes.tee import TeeHole

SPAN = 60
"""Yards that are shown to each side of the middle."""
MARKS = {"fairway": " ", "rough": "·", "trees": "^", "water": "~", "out": "x"}
ROLES = {"rough": "middle", "trees": "in", "water": "right", "out": "left"}
GREEN = "( green )"


class HoleView(TargetWidget):
    """Draws the landing area of a hole, and where a club finishes when aimed at a line."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._hole: TeeHole | None = None
        self._zones: tuple[str, ...] = ()
        self._aim = 0
        self._finish: tuple[float, ...] = ()

    def show_hole(
        self, hole: TeeHole, zones: Sequence[str], aim: int, finish: Sequence[float]
    ) -> None:
        """Draw a hole. zones: what lies at each yard from `-SPAN` to `SPAN`; finish: how likely a
        ball is to finish there, aimed `aim` yards right of the middle.
        """
        self._hole, self._zones, self._aim = hole, tuple(zones), aim
        self._finish = tuple(finish)
        self._canvas = None
        self.refresh()

    def _drawn(self, size: Size) -> CellCanvas:
        if self._canvas is None or (self._canvas.width, self._canvas.height) != size:
            width, height = size
            self._canvas = CellCanvas(width, height)
            if self._hole is not None and width >= 20 and height >= 6:
                self._paint(self._canvas)
        return self._canvas

    def _paint(self, canvas: CellCanvas) -> None:
        width, last = canvas.width, canvas.height - 1
        rows = range(1, last)
        most = max(self._finish, default=0.0) or 1.0
        for x in range(width):
            at = round(x * (len(self._zones) - 1) / (width - 1))
            zone = self._zones[at]
            for y in rows:
                canvas.put(x, y, Cell(MARKS[zone], ROLES.get(zone, "")))
            # The pattern stands on the landing area, as high as a ball is likely there.
            reach = round(self._finish[at] / most * (len(rows) - 1))
            for y in list(rows)[len(rows) - reach :]:
                canvas.put(x, y, Cell("░", "density"))
            if x and zone != self._zones[round((x - 1) * (len(self._zones) - 1) / (width - 1))]:
                for y in rows:
                    canvas.put(x, y, Cell("┃", "edge"))
        for y in rows:
            canvas.put(self._column(self._aim), y, Cell("│", "label"))
        canvas.centred(0, width, 0, GREEN)
        for yards in (-40, -20, 0, 20, 40):
            mark = str(abs(yards))
            canvas.write(self._column(yards) - len(mark) // 2, last, mark, "axis")
        canvas.put(self._column(self._aim), last, Cell("▲", "label"))

    def _column(self, yards: float) -> int:
        return round((yards + SPAN) / (2 * SPAN) * (self.size.width - 1))
