"""A picture made of characters."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple


class Cell(NamedTuple):
    """One character of the picture, what it is, and whether it belongs to the latest ball."""

    character: str
    role: str
    latest: bool = False


@dataclass
class CellCanvas:
    """Cells by place; a later cell covers an earlier one."""

    width: int
    height: int
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)

    def put(self, x: int, y: int, cell: Cell) -> None:
        """Draw a cell, if it lies on the canvas."""
        if 0 <= x < self.width and 0 <= y < self.height:
            self.cells[x, y] = cell

    def write(self, x: int, y: int, words: str, role: str = "label") -> None:
        """Write words from a place to the right."""
        for at, character in enumerate(words):
            self.put(x + at, y, Cell(character, role))

    def centred(self, left: int, right: int, y: int, words: str) -> None:
        """Write words in the middle of the columns from `left` up to `right`, cut to fit."""
        room = right - left
        self.write(left + max(room - len(words), 0) // 2, y, words[: max(room, 0)])

    def text(self) -> str:
        """The picture as plain text, for logs and tests."""
        return "\n".join(
            "".join(
                self.cells[x, y].character if (x, y) in self.cells else " "
                for x in range(self.width)
            ).rstrip()
            for y in range(self.height)
        )
