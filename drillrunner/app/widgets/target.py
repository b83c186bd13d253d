"""The target from above, with every ball where it finished."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from drillrunner.practice.run_words import reading, zone
from drillrunner.rules.game import Ask
from drillrunner.rules.shot import WORDS, Direction, Shot
from drillrunner.rules.units import text

SPANS = (4, 6, 8, 10, 12, 16, 20, 30, 40, 50, 60, 80, 100, 120, 160, 200, 300, 400, 600, 1000)
"""Half-widths that a picture may have, in the drill's unit, so that it seldom changes its scale."""

SIDE_SHAPES = {-1: "◀", 0: "●", 1: "▶"}
DEPTH_SHAPES = {-1: "▼", 0: "●", 1: "▲"}
CORNER_SHAPES = {(-1, 1): "◤", (1, 1): "◥", (-1, -1): "◣", (1, -1): "◢"}
LOST, UNSEEN = "✕", "◇"
"""A lost ball, and a ball whose distance was seen but not its side (drawn on both)."""

ROLES = {-1: "left", 0: "in", 1: "right"}
"""Side to role; a role is a colour of the style sheet. The shape says the same."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One character of the picture, what it is, and whether it belongs to the latest ball."""

    character: str
    role: str
    latest: bool = False


@dataclass
class Canvas:
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


def span_of(ask: Ask, shots: Iterable[Shot]) -> Decimal:
    """Half the width of the picture, in the drill's unit: room for the aim and for every ball."""
    edge = ask.aim.edge(ask.direction)
    need = edge * Decimal("1.7") if edge is not None else Decimal(0)
    if edge is None:
        need = Decimal(30)
        if ask.aim.carry is not None and ask.direction == "depth":
            need = ask.aim.carry / 4
    for shot in shots:
        seen = reading(ask, shot, ask.direction)
        if seen is not None and seen.size is not None:
            need = max(need, seen.size)
        if seen is not None and seen.lost and ask.lost_counts is not None:
            need = max(need, ask.lost_counts)
    return next((Decimal(span) for span in SPANS if span >= need), Decimal(SPANS[-1]))


def draw(
    ask: Ask,
    shots: Sequence[Shot],
    width: int,
    height: int,
    density: Sequence[float] | None = None,
) -> Canvas:
    """Draw the balls on their target.

    A verdict that judges depth is drawn as the window seen from the bay; anything else on one
    line, left to right, or short to long. density: how likely the ball is to finish there, evenly
    spaced from `-span_of` to `+span_of`; only its shape matters.
    """
    canvas = Canvas(width, height)
    if width < 9 or height < 1:
        return canvas
    if ask.asks == "verdict" and "depth" in ask.aim.judged:
        _window(canvas, ask, shots)
    else:
        _line(canvas, ask, shots, density)
    return canvas


# ---- one direction: a corridor, or a number line ----


def _line(canvas: Canvas, ask: Ask, shots: Sequence[Shot], density: Sequence[float] | None) -> None:
    direction = ask.direction
    span, edge = span_of(ask, shots), ask.aim.edge(direction)
    low, _, high = WORDS[direction]

    def column(miss: Decimal) -> int:
        across = (miss + span) / (2 * span) * (canvas.width - 1)
        return min(max(int(across + Decimal("0.5")), 0), canvas.width - 1)

    top, bottom = 1, canvas.height - 1 if canvas.height > 3 else canvas.height
    middle = column(Decimal(0))
    left = column(-edge) if edge is not None else middle
    right = column(edge) if edge is not None else middle
    for y in range(top, bottom):
        for x in range(left + 1, right):
            canvas.put(x, y, Cell(" ", "inside"))
    _backdrop(canvas, density, top, bottom)
    for y in range(top, bottom):
        canvas.put(middle, y, Cell("┊" if edge is not None else "│", "middle"))
        if edge is not None:
            canvas.put(left, y, Cell("┃", "edge"))
            canvas.put(right, y, Cell("┃", "edge"))
    _place(canvas, ask, shots, top, bottom, left, right, column)
    _counts(canvas, ask, shots, left, right, (low, high))
    if bottom < canvas.height:
        _axis(canvas, ask, span, column)


def _backdrop(canvas: Canvas, density: Sequence[float] | None, top: int, bottom: int) -> None:
    most = max(density, default=0.0) if density is not None else 0.0
    if density is None or most <= 0 or bottom <= top:
        return
    for x in range(canvas.width):
        at = round(x * (len(density) - 1) / max(canvas.width - 1, 1))
        reach = round(density[at] / most * (bottom - top))
        for y in range(bottom - reach, bottom):
            canvas.put(x, y, Cell("░", "density"))


def _place(canvas, ask, shots, top, bottom, left, right, column) -> None:  # type: ignore[no-untyped-def]
    """Numbers stand on their place in a pile; zones are filled in rows, like a tally."""
    taken: set[tuple[int, int]] = set()
    edge = ask.aim.edge(ask.direction)
    zones = {-1: (0, left), 0: (left + 1, right), 1: (right + 1, canvas.width)}
    for at, shot in enumerate(shots):
        latest = at == len(shots) - 1
        seen = reading(ask, shot, ask.direction)
        if shot.out or seen is None:
            continue
        side = zone(ask.aim, seen, ask.direction)
        if seen.lost:
            for s in (-1, 1) if seen.side is None else (seen.side,):
                x = 0 if s < 0 else canvas.width - 1
                _pile(canvas, taken, x, top, bottom, Cell(LOST, ROLES[s], latest))
        elif seen.size is not None and seen.side is None and seen.size > 0:
            role = "in" if side == 0 else "out"
            for miss in (-seen.size, seen.size):
                _pile(canvas, taken, column(miss), top, bottom, Cell(UNSEEN, role, latest))
        elif seen.size is not None:
            shown = side if side is not None else 0
            x = column(seen.signed or Decimal(0))
            cell = Cell(SIDE_SHAPES[shown], ROLES[shown], latest)
            _pile(canvas, taken, x, top, bottom, cell)
        elif edge is not None and side is not None:
            cell = Cell(SIDE_SHAPES[side], ROLES[side], latest)
            _tally(canvas, taken, zones[side], top, bottom, cell)


def _pile(canvas, taken, x, top, bottom, cell) -> None:  # type: ignore[no-untyped-def]
    """The lowest free place of a column; the top one is shared when the pile is full."""
    y = next((y for y in range(bottom - 1, top - 1, -1) if (x, y) not in taken), top)
    taken.add((x, y))
    canvas.put(x, y, cell)


def _tally(canvas, taken, zone, top, bottom, cell) -> None:  # type: ignore[no-untyped-def]
    """The next free place of a zone, from its middle outwards, every other column first.

    Where in its zone the ball lay was not seen; a heap round the middle leans to no side.
    """
    first, last = zone
    middle = (first + last - 1) // 2
    free = sorted(range(first, last), key=lambda x: ((x - middle) % 2, abs(x - middle), x))
    apart = [x for x in free if (x - middle) % 2 == 0]
    for columns in (apart, free):
        for y in range(bottom - 1, top - 1, -1):
            for x in columns:
                if (x, y) not in taken:
                    taken.add((x, y))
                    canvas.put(x, y, cell)
                    return
    canvas.put(middle, top, cell)


def _counts(canvas, ask, shots, left, right, ends) -> None:  # type: ignore[no-untyped-def]
    """How many finished on each side, over the picture."""
    seen = [reading(ask, shot, ask.direction) for shot in shots]
    sides = [zone(ask.aim, s, ask.direction) for s in seen]
    unseen = sum(shot.out for shot in shots) + sum(
        s is not None and side is None for s, side in zip(seen, sides, strict=True)
    )
    low, high = (f"{word} {sides.count(side)}" for word, side in zip(ends, (-1, 1), strict=True))
    edge = ask.aim.edge(ask.direction)
    if edge is None:
        carry = ask.aim.carry if ask.asks == "carry" else None
        middle = f"{'dead on' if carry is None else f'on {text(carry)}'} {sides.count(0)}"
    else:
        middle = f"in {sides.count(0)}"
    if unseen:
        room = canvas.width - len(low) - len(high) - 2
        longer = f"{middle} · side not seen {unseen}"
        middle = longer if len(longer) <= room else f"{middle} {UNSEEN} {unseen}"
    canvas.write(0, 0, low)
    canvas.write(canvas.width - len(high), 0, high)
    canvas.centred(len(low) + 1, canvas.width - len(high) - 1, 0, middle)


def _axis(canvas, ask, span, column) -> None:  # type: ignore[no-untyped-def]
    """Distances under the picture: off the aim, or the carry itself."""
    around = ask.aim.carry if ask.asks == "carry" and ask.aim.carry is not None else None
    steps = 8 if canvas.width >= 60 and span % 4 == 0 else 4
    y = canvas.height - 1
    for k in range(-steps // 2, steps // 2 + 1):
        miss = span * k / (steps // 2)
        mark = text(abs(miss)) if around is None else text(around + miss)
        if around is not None and around + miss < 0:
            continue
        x = column(miss) - len(mark) // 2
        canvas.write(min(max(x, 0), canvas.width - len(mark)), y, mark, "axis")


# ---- a window: zones seen from the bay, long at the top ----


def _window(canvas: Canvas, ask: Ask, shots: Sequence[Shot]) -> None:
    across = (-1, 0, 1) if "lateral" in ask.aim.judged else (0,)
    along = (1, 0, -1)
    width, height = canvas.width // len(across), canvas.height // 3
    if height < 1:
        return
    x0, y0 = (canvas.width - width * len(across)) // 2, (canvas.height - height * 3) // 2
    balls: dict[tuple[int, int], list[Cell]] = {}
    unseen = 0
    for at, shot in enumerate(shots):
        where = _zone(ask, shot)
        if where is None:
            unseen += 1
            continue
        lateral, depth = where
        cell = Cell(_sign(lateral, depth), ROLES[lateral or depth], at == len(shots) - 1)
        balls.setdefault(where, []).append(cell)
    for row, depth in enumerate(along):
        for col, lateral in enumerate(across):
            box = (x0 + col * width, y0 + row * height, width, height)
            _box(canvas, box, (lateral, depth) == (0, 0))
            here = balls.get((lateral, depth), [])
            _fill(canvas, box, _name(lateral, depth), _sign(lateral, depth), here)
    if unseen:
        canvas.write(x0 + 2, canvas.height - 1, f" out, side not seen {unseen} ")


def _zone(ask: Ask, shot: Shot) -> tuple[int, int] | None:
    sides: dict[Direction, int] = {"lateral": 0, "depth": 0}
    if shot.out:
        return None
    for direction in ask.aim.judged:
        seen = reading(ask, shot, direction)
        if seen is not None:
            side = zone(ask.aim, seen, direction)
            if side is None:
                return None
            sides[direction] = side
    return sides["lateral"], sides["depth"]


def _sign(lateral: int, depth: int) -> str:
    corner = CORNER_SHAPES.get((lateral, depth))
    return corner or (SIDE_SHAPES[lateral] if lateral else DEPTH_SHAPES[depth])


def _name(lateral: int, depth: int) -> str:
    words = []
    if depth:
        words.append(WORDS["depth"][depth + 1])
    if lateral:
        words.append(WORDS["lateral"][lateral + 1])
    return " ".join(words) or "in"


def _box(canvas: Canvas, box: tuple[int, int, int, int], aim: bool) -> None:
    """The outline of a zone; the aim itself is drawn with heavy lines."""
    x, y, width, height = box
    if height < 3:
        if aim:
            for row in range(y, y + height):
                canvas.put(x, row, Cell("┃", "edge"))
                canvas.put(x + width - 1, row, Cell("┃", "edge"))
        return
    across, up, corners = ("━", "┃", "┏┓┗┛") if aim else ("─", "│", "┌┐└┘")
    role = "edge" if aim else "middle"
    for at in range(x + 1, x + width - 1):
        canvas.put(at, y, Cell(across, role))
        canvas.put(at, y + height - 1, Cell(across, role))
    for at in range(y + 1, y + height - 1):
        canvas.put(x, at, Cell(up, role))
        canvas.put(x + width - 1, at, Cell(up, role))
        if aim:
            for inner in range(x + 1, x + width - 1):
                canvas.put(inner, at, Cell(" ", "inside"))
    places = ((x, y), (x + width - 1, y), (x, y + height - 1), (x + width - 1, y + height - 1))
    for corner, (cx, cy) in zip(corners, places, strict=True):
        canvas.put(cx, cy, Cell(corner, role))


def _fill(
    canvas: Canvas, box: tuple[int, int, int, int], name: str, sign: str, cells: list[Cell]
) -> None:
    """A zone's name (its sign, where that has no room) and count, and its balls in rows; the newest stay when it overflows."""
    x, y, width, height = box
    head = f"{name} {len(cells)}"
    if len(head) > width - 3:
        head = f"{sign} {len(cells)}"
    boxed = height >= 3
    canvas.write(x + 1, y, f" {head} "[: width - 2] if boxed else head[: width - 2])
    first = y + 1 if boxed else y
    rows = range(first, y + height - 1) if boxed else range(y, y + height)
    places = []
    for row in rows:
        start = x + 2 if boxed or row > y else x + 2 + len(head)
        places += [(at, row) for at in range(start, x + width - 2, 2)]
    for (at, row), cell in zip(places, cells[-len(places) :] if places else [], strict=False):
        canvas.put(at, row, cell)


class TargetWidget(Widget):
    """Shows `draw` at the size it is given."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"target--{role}"
        for role in (
            "left",
            "in",
            "right",
            "out",
            "edge",
            "middle",
            "inside",
            "label",
            "axis",
            "density",
        )
    }

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._ask: Ask | None = None
        self._shots: tuple[Shot, ...] = ()
        self._density: tuple[float, ...] | None = None
        self._canvas: Canvas | None = None

    @property
    def span(self) -> Decimal:
        """Half the width of the picture, in the drill's unit; a `density` runs from - to +."""
        return Decimal(0) if self._ask is None else span_of(self._ask, self._shots)

    @property
    def picture(self) -> str:
        """What is drawn, as plain text."""
        return self._drawn(self.size).text()

    def show(self, ask: Ask, shots: Sequence[Shot], density: Sequence[float] | None = None) -> None:
        """Draw these balls, oldest first, before this backdrop (see `draw`)."""
        self._ask, self._shots = ask, tuple(shots)
        self._density = None if density is None else tuple(density)
        self._canvas = None
        self.refresh()

    def _drawn(self, size: Size) -> Canvas:
        if self._canvas is None or (self._canvas.width, self._canvas.height) != size:
            width, height = size
            self._canvas = Canvas(width, height)
            if self._ask is not None:
                self._canvas = draw(self._ask, self._shots, width, height, self._density)
        return self._canvas

    def render_line(self, y: int) -> Strip:
        canvas = self._drawn(self.size)
        ground = self.rich_style
        segments = []
        for x in range(canvas.width):
            cell = canvas.cells.get((x, y))
            if cell is None:
                segments.append(Segment(" ", ground))
                continue
            style = self.get_component_rich_style(f"target--{cell.role}")
            if cell.latest:
                style += Style(reverse=True, bold=True)
            segments.append(Segment(cell.character, style))
        return Strip(segments).simplify()
