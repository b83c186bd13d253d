"""The board of a match: whose turn it is, large, and everyone in a line each."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from decimal import Decimal

from rich.cells import cell_len, set_cell_size
from textual.app import RenderResult
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget
from textual.widgets import Static

from drillrunner.app import odds_words, words
from drillrunner.app.widgets.readout import BLOCKS, pips
from drillrunner.app.widgets.readout import value_words as written
from drillrunner.odds.words import share
from drillrunner.practice.matches.match import BoardLine

LETTERS = {
    **BLOCKS,
    "A": "010 101 111 101 101",
    "B": "110 101 110 101 110",
    "C": "011 100 100 100 011",
    "D": "110 101 101 101 110",
    "E": "111 100 110 100 111",
    "F": "111 100 110 100 100",
    "G": "011 100 101 101 011",
    "H": "101 101 111 101 101",
    "I": "111 010 010 010 111",
    "J": "001 001 001 101 010",
    "K": "101 101 110 101 101",
    "L": "100 100 100 100 111",
    "M": "10001 11011 10101 10001 10001",
    "N": "1001 1101 1011 1001 1001",
    "O": "0110 1001 1001 1001 0110",
    "P": "110 101 110 100 100",
    "Q": "0110 1001 1001 1011 0111",
    "R": "110 101 110 101 101",
    "S": "011 100 010 001 110",
    "T": "111 010 010 010 010",
    "U": "101 101 101 101 111",
    "V": "101 101 101 101 010",
    "W": "10001 10001 10101 11011 10001",
    "X": "101 101 010 101 101",
    "Y": "101 101 010 010 010",
    "Z": "111 001 010 100 111",
    "'": "1 1 0 0 0",
    " ": "00 00 00 00 00",
}
"""Each letter as five rows of dots."""

HALVES = {"00": " ", "10": "▀", "01": "▄", "11": "█"}
"""An upper and a lower dot in one cell."""

CROWD = 4
"""More players than this stand closer together."""
WIDEST_NAME = 14
UP, WON, OUT, GONE = "▶", "★", "✕", "‖"
AWAY = "○ away"


def drawn(text: str, dot: int) -> list[str] | None:
    """A text in large letters; `None` if one of them can't be drawn.

    dot: 0 draws two dots in a cell, so three lines; else each dot is so many lines high.
    """
    plain = unicodedata.normalize("NFKD", text).upper()
    letters = [c for c in plain if not unicodedata.combining(c)]
    if not set(letters) <= LETTERS.keys():
        return None
    rows = ["0".join(LETTERS[letter].split()[row] for letter in letters) for row in range(5)]
    if dot:
        lines = ["".join("█" * 2 * dot if d == "1" else " " * 2 * dot for d in row) for row in rows]
        return [line for line in lines for _ in range(dot)]
    rows.append("0" * len(rows[0]))
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return ["".join(HALVES[a + b] for a, b in zip(*pair, strict=True)) for pair in pairs]


class LargeName(Static):
    """A name that can be read from the mat: as large as there is room, and as plain text too."""

    def __init__(self, *, id: str) -> None:
        super().__init__("", id=id, markup=False)
        self.text = ""
        self.note = ""

    def show(self, text: str, note: str = "") -> None:
        """Show a name, and a few words after it as plain text."""
        if (text, note) != (self.text, self.note):
            self.text, self.note = text, note
            self.fit(self.screen.size)

    def fit(self, room: Size) -> None:
        """Draw it for a window of this size (cells)."""
        across = self.size.width or room.width
        lines = None
        for dot in (1, 0):
            high = 34 if dot else 0
            found = drawn(self.text, dot) if self.text and room.height >= high else None
            if found is not None and len(found[0]) <= across:
                lines = found
                break
        said = f"{self.text} {self.note}".strip()
        self.update("\n".join([said, *(lines or [])]))

    def on_resize(self) -> None:
        self.fit(self.screen.size)


class Board(Widget):
    """Everyone in a line each: marker, name, score, what is left, chance to win.

    A narrow window puts a crowd in two columns. Shapes stand beside the colours.
    """

    COMPONENT_CLASSES = {"board--up", "board--out", "board--won", "board--head"}

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.lines: tuple[BoardLine, ...] = ()
        self.chances: Mapping[str, float] | None = {}
        self.level: frozenset[str] = frozenset()
        self.away: frozenset[str] = frozenset()

    def show(
        self,
        lines: Sequence[BoardLine],
        chances: Mapping[str, float] | None,
        level: frozenset[str] = frozenset(),
        away: frozenset[str] = frozenset(),
    ) -> None:
        """Show the board. chances: to win, by player; `None` while they are worked out.

        level: those who play the decider. away: those whose screens have gone.
        """
        grown = len(lines) != len(self.lines)
        self.lines, self.chances, self.level = tuple(lines), chances, level
        self.away = away
        self.refresh(layout=grown)

    @property
    def plain(self) -> str:
        """What stands on the board, as text."""
        return self._content(self.size.width or 80).plain

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return self._content(width).plain.count("\n") + 1

    def render(self) -> RenderResult:
        return self._content(self.size.width)

    def _content(self, width: int) -> Content:
        if width < 46 and len(self.lines) > CROWD:
            return self._columns(width)
        name = min(
            max((cell_len(line.entrant.name) for line in self.lines), default=0), WIDEST_NAME
        )
        rows = [self._row(line, name, width) for line in self.lines]
        return Content("\n").join(rows)

    def _row(self, line: BoardLine, name: int, width: int) -> Content:
        label, value = self._left(line)
        score = self._score(line)
        said = f"{self._mark(line)} {set_cell_size(line.entrant.name, name)} {score:>5}  "
        stock = value if width < 46 else f"{label} {value}".strip()
        rest = f"{stock:<{6 if width < 46 else 22}} {self._chance(line):>8}"
        text = (said + rest)[:width].ljust(width)
        return self._styled(line, text)

    def _columns(self, width: int) -> Content:
        each = width // 2
        cells = []
        for line in self.lines:
            _, value = self._left(line)
            score, chance = self._score(line), self._chance(line).replace(" %", "%")
            room = max(each - 14, 1)
            text = f"{self._mark(line)}{set_cell_size(line.entrant.name, room)}{score:>3} "
            cells.append(self._styled(line, f"{text}{value[:3]:<3}{chance:>5}"[: each - 1] + " "))
        rows = [Content.assemble(*cells[at : at + 2]) for at in range(0, len(cells), 2)]
        return Content("\n").join(rows)

    def _styled(self, line: BoardLine, text: str) -> Content:
        kind = "up" if line.up else "won" if line.won else "out" if line.out else ""
        if not kind:
            return Content(text)
        style = self.get_visual_style(f"board--{kind}")
        return Content.styled(text, style)

    def _mark(self, line: BoardLine) -> str:
        if line.up:
            return UP
        if line.won:
            return WON
        if not line.present:
            return GONE
        return OUT if line.out else " "

    def _waits(self, line: BoardLine) -> bool:
        """Whether somebody's decider is still to begin: the run shown is the one before it."""
        return line.entrant.id in self.level and line.run.over

    def _score(self, line: BoardLine) -> str:
        return "-" if self._waits(line) else words.score(line.run.score)

    def _left(self, line: BoardLine) -> tuple[str, str]:
        """What a player has left, or else the second thing that the game reads out."""
        run = line.run
        if line.entrant.id in self.away and line.present:
            return "", AWAY
        if self._waits(line):
            return "", ""
        start = run.opening.readout
        for label, value in line.readout.items():
            if label.endswith("left") and isinstance(value, int | Decimal):
                return label, pips(value, start.get(label)) or written(value)
        rest = list(line.readout.items())[1:2]
        return (rest[0][0], written(rest[0][1])) if rest else ("", "")

    def _chance(self, line: BoardLine) -> str:
        if line.won:
            return "wins"
        if line.out:
            return "out"
        if line.entrant.id in self.level:
            return "tied"
        if self.chances is None:
            return odds_words.WAITING
        chance = self.chances.get(line.entrant.id)
        return "" if chance is None else share(chance)
