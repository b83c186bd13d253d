"""A chart of signs that stand low, in the middle or high in their row, with a truthful axis.

Each figure at the side stands for exactly the middle of its row, and a line, a dot or a score lies
within a sixth of a row of its value.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from textual.content import Content

UP = 3
"""Heights in a row."""

LINE, DOT, SCORE = "▁─▔", ".·˙", "▄■▀"
"""Each sign at the three heights, from the lowest."""

UPRIGHT = "│"

WHOLE = (1, 2, 5)
APART = (2, 3, 4, 5, 1)
"""Rows from one figure at the side to the next, the likeliest first."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Axis:
    """The values of the rows. bottom: of the lowest. unit: from one row to the next.

    step: from one figure at the side to the next, a whole number.
    """

    bottom: float
    unit: float
    step: int
    rows: int

    @property
    def top(self) -> float:
        """The value of the highest row."""
        return self.bottom + self.unit * (self.rows - 1)

    def row(self, value: float) -> float:
        """How many rows above the lowest a value lies."""
        return (value - self.bottom) / self.unit

    def figures(self) -> dict[int, int]:
        """Row from the bottom to the figure that stands there."""
        named = {}
        for row in range(self.rows):
            value = self.bottom + row * self.unit
            if math.isclose(value / self.step, round(value / self.step), abs_tol=1e-9):
                named[row] = round(value)
        return named


def axis_for(low: float, high: float, rows: int) -> Axis:
    """The finest axis of so many rows that holds all values and has whole figures on its rows."""
    rows = max(rows, 2)
    power = 1
    while True:
        found = []
        for step in (power * whole for whole in WHOLE):
            for apart in APART:
                unit = step / apart
                bottom = math.floor(low / unit + 1e-9) * unit
                if math.ceil(high / unit - 1e-9) * unit - bottom <= unit * (rows - 1) + 1e-9:
                    axis = Axis(bottom, unit, step, rows)
                    if len(axis.figures()) >= min(2, rows - 1):
                        found.append((unit, APART.index(apart), axis))
        if found:
            return min(found, key=lambda one: one[:2])[2]
        power *= 10


class Canvas:
    """What is drawn, each cell in a colour of the theme; what comes later lies on top."""

    def __init__(self, width: int, axis: Axis, first: float, last: float) -> None:
        self.width, self.axis = max(width, 1), axis
        self._first, self._last = first, max(last, first + 1e-9)
        self._cells: dict[tuple[int, int], tuple[str, str]] = {}

    def place(self, point: Point) -> tuple[int, int]:
        """Column from the left and height from the bottom, three heights to a row."""
        x, y = point
        share = (x - self._first) / (self._last - self._first)
        return round(share * (self.width - 1)), round(self.axis.row(y) * UP + (UP - 1) / 2)

    def line(
        self, points: Sequence[Point], signs: str, colour: str, on: int = 1, off: int = 0
    ) -> None:
        """Straight lines from point to point. on, off: columns that are drawn, then left out."""
        for one, other in pairwise(points):
            (left, low), (right, high) = self.place(one), self.place(other)
            for row in range(min(low, high) // UP + 1, max(low, high) // UP):
                if abs(high - low) > UP * max(right - left, 1):
                    self._put(left + round((right - left) / 2), row, UPRIGHT, colour)
            for column in range(left, right + 1):
                share = (column - left) / max(right - left, 1)
                if column % (on + off) < on:
                    self._sign(column, round(low + (high - low) * share), signs, colour)

    def score(self, point: Point, colour: str) -> None:
        """A score at its height."""
        self._sign(*self.place(point), SCORE, colour)

    def mark(self, point: Point, mark: str, colour: str) -> None:
        """A mark in the row of its value."""
        column, up = self.place(point)
        self._put(column, up // UP, mark, colour)

    def _sign(self, column: int, up: int, signs: str, colour: str) -> None:
        self._put(column, up // UP, signs[up % UP], colour)

    def _put(self, column: int, row: int, sign: str, colour: str) -> None:
        if 0 <= column < self.width and 0 <= row < self.axis.rows:
            self._cells[column, row] = sign, colour

    def lines(self) -> Iterable[Content]:
        """The rows from the top, with the figures at the side."""
        figures = self.axis.figures()
        room = max(map(len, map(str, figures.values())), default=0)
        for row in reversed(range(self.axis.rows)):
            figure = figures.get(row)
            side = f"{'' if figure is None else figure:>{room}}{'│' if figure is None else '┤'}"
            empty = " ", "foreground"
            cells = [self._cells.get((column, row), empty) for column in range(self.width)]
            yield Content.assemble(
                Content.styled(side, "$quiet"),
                *(
                    Content.styled("".join(text for text, _ in run), f"${colour}")
                    for colour, run in groupby(cells, lambda cell: cell[1])
                ),
            )


def room_beside(axis: Axis) -> int:
    """Columns that the figures at the side take, with the line of the axis."""
    return max(map(len, map(str, axis.figures().values())), default=0) + 1


def below(
    labels: Sequence[tuple[float, str]], width: int, first: float, last: float, indent: int
) -> Content:
    """The line under a chart: each label under its place, those that would meet left out."""
    text = [" "] * (indent + width)
    free = 0
    for x, label in labels:
        middle = indent + round((x - first) / max(last - first, 1e-9) * (width - 1))
        start = min(max(middle - len(label) // 2, 0), len(text) - len(label))
        if start >= free:
            text[start : start + len(label)] = label
            free = start + len(label) + 1
    return Content.styled("".join(text).rstrip(), "$quiet")
