"""The target from above, with every ball where it finished."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import ClassVar, NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

from drillrunner.app.widgets.canvas import Cell, CellCanvas
from drillrunner.app.widgets.green import draw_green
from drillrunner.app.words import SPANS
from drillrunner.practice.looking_back.run_words import reading, zone
from drillrunner.rules.run import Ball
from drillrunner.rules.shot import WORDS, Direction, Seen, Side
from drillrunner.rules.station import HOLING, Ask
from drillrunner.rules.units import text

SIDE_SHAPES = {-1: "◀", 0: "●", 1: "▶"}
DEPTH_SHAPES = {-1: "▼", 0: "●", 1: "▲"}
CORNER_SHAPES = {(-1, 1): "◤", (1, 1): "◥", (-1, -1): "◣", (1, -1): "◢"}
LOST, UNSEEN = "✕", "◇"
"""A lost ball, and a ball whose distance was seen but not its side (drawn on both)."""

ROLES = {-1: "left", 0: "in", 1: "right"}
"""Side to role; a role is a colour of the style sheet. The shape says the same."""

CHARACTER, STYLE = itemgetter(0), itemgetter(1, 2)
"""Of a cell: what stands in it, and what its colour goes by."""

FAR_SHAPES = {-1: "«", 1: "»"}
"""A ball beyond the second trouble of its side."""


def in_line(ask: Ask, balls: Iterable[Ball]) -> tuple[Ball, ...]:
    """The balls that belong on the picture of this target; those at another one do not.

    A ball at a corridor that was wider then does: it is told in or out by the aim it was hit at.
    """
    return tuple(ball for ball in balls if ball.ask is ask or ask.in_line_with(ball.ask))


def half_across(ask: Ask, balls: Iterable[Ball]) -> Decimal:
    """Half the width of the picture, in the drill's unit: room for the aim and for every ball."""
    shown = in_line(ask, balls)
    return _span(ask, (reading(ask, ball.shot, ask.direction) for ball in shown))


def _span(ask: Ask, readings: Iterable[Seen | None]) -> Decimal:
    edge = ask.aim.edge(ask.direction)
    need = edge * Decimal("1.7") if edge is not None else Decimal(0)
    if edge is None:
        need = Decimal(30)
        if ask.asks == "call":
            need = Decimal(20)
        elif ask.aim.carry is not None and ask.direction == "depth":
            need = ask.aim.carry / 4
    for far in ask.aim.fars:
        if far is not None:
            need = max(need, far * Decimal("1.3"))
    for seen in readings:
        if seen is not None and seen.size is not None:
            need = max(need, seen.size)
        if seen is not None and seen.lost and ask.lost_counts is not None:
            need = max(need, ask.lost_counts)
    return next((Decimal(span) for span in SPANS if span >= need), Decimal(SPANS[-1]))


def draw(
    ask: Ask,
    balls: Sequence[Ball],
    width: int,
    height: int,
    density: Sequence[float] | None = None,
) -> CellCanvas:
    """Draw the balls on their target.

    A verdict that judges depth is drawn as the window seen from the bay, and balls to the hole by
    their lengths; anything else on one line, left to right, or short to long. density: how likely
    the ball is to finish there, evenly spaced from `-half_across` to `+half_across`; only its shape
    matters.
    """
    return _draw(ask, balls, width, height, density)[0]


def _draw(
    ask: Ask,
    balls: Sequence[Ball],
    width: int,
    height: int,
    density: Sequence[float] | None,
) -> tuple[CellCanvas, _Line | None]:
    """The picture, and the line that takes one more ball, where it is one."""
    canvas = CellCanvas(width, height)
    if width < 9 or height < 2:
        return canvas, None
    shown = in_line(ask, balls)
    latest = bool(shown) and shown[-1] is balls[-1]
    if ask.asks in HOLING:
        draw_green(canvas, ask, shown)
    elif ask.asks == "verdict" and "depth" in ask.aim.judged:
        _window(canvas, ask, shown, latest)
    else:
        return canvas, _Line(canvas, ask, shown, latest, density)
    return canvas, None


# ---- one direction: a corridor, or a number line ----


Place = tuple[int, int]
"""A column and a row of the canvas."""


@lru_cache(maxsize=8)
def _backdrop(
    density: tuple[float, ...], width: int, rows: range
) -> Mapping[tuple[int, int], Cell]:
    """The cells of a pattern that stands on the last of these rows. It outlives many balls."""
    most = max(density, default=0.0)
    if most <= 0:
        return {}
    cell, cells = Cell("░", "density"), {}
    for x in range(width):
        reach = round(density[round(x * (len(density) - 1) / (width - 1))] / most * len(rows))
        cells.update({(x, y): cell for y in rows[len(rows) - reach :]})
    return cells


class _Told(NamedTuple):
    """A ball in one direction: what was seen of it, its side of the aim, and whether far off."""

    out: bool
    seen: Seen | None
    side: Side | None
    far: bool

    @classmethod
    def of(cls, ask: Ask, ball: Ball) -> _Told:
        shot, aim = ball.shot, ball.ask.aim
        seen = reading(ask, shot, ask.direction)
        return cls(shot.out, seen, zone(aim, seen, ask.direction), aim.far(shot))


class _Line:
    """One direction drawn left to right: the scale, and the places that are taken already."""

    def __init__(
        self,
        canvas: CellCanvas,
        ask: Ask,
        balls: Sequence[Ball],
        latest: bool,
        density: Sequence[float] | None,
    ) -> None:
        self.canvas = canvas
        self.ask = ask
        every = [_Told.of(ask, ball) for ball in balls]
        self.span = _span(ask, (told.seen for told in every))
        self.edge = ask.aim.edge(ask.direction)
        pairs = zip((-1, 1), ask.aim.fars, strict=True)
        self.fars = {side: far for side, far in pairs if far is not None}
        self.has_axis = canvas.height > 3
        self.rows = range(1, canvas.height - self.has_axis)
        self.taken: set[Place] = set()
        self.free: dict[int, tuple[Iterator[Place], Place | None]] = {}
        """For each zone the places left for its next balls, and the one shared when it is full."""
        self.latest: list[Place] = []
        """Where the latest ball stands."""
        self.sides: Counter[Side | None] = Counter()
        self.beyond: Counter[Side | None] = Counter()
        self.unseen = self.near = 0
        self._scene(density)
        for at, told in enumerate(every, 1):
            self._ball(told, latest and at == len(every))
        self._counts()
        if self.has_axis:
            self._axis()

    def takes(self, ball: Ball) -> bool:
        """Whether one more ball leaves all else where it is."""
        if not in_line(self.ask, (ball,)):
            return False
        return _span(self.ask, (reading(self.ask, ball.shot, self.ask.direction),)) <= self.span

    def add(self, ball: Ball) -> set[int]:
        """Draw the ball that came after all others; the lines that are other ones now."""
        cells, before = self.canvas.cells, self.latest
        for place in before:
            cells[place] = cells[place]._replace(latest=False)
        self.latest = []
        self._ball(_Told.of(self.ask, ball), True)
        self._counts()
        return {0, *(y for _, y in (*before, *self.latest))}

    def _scene(self, density: Sequence[float] | None) -> None:
        """What lies behind the balls, from the back to the front."""
        edges = () if self.edge is None else (self.column(-self.edge), self.column(self.edge))
        inner = self.ask.inner
        within = () if inner is None else (self.column(-inner), self.column(inner))
        if density is not None:
            self.canvas.cells.update(_backdrop(tuple(density), self.canvas.width, self.rows))
        for y in self.rows:
            middle = Cell("┊" if edges else "│", "middle")
            self.canvas.put(self.column(Decimal(0)), y, middle)
            for x in within:
                self.canvas.put(x, y, Cell("│", "edge"))
            for x in edges:
                self.canvas.put(x, y, Cell("┃", "edge"))
            for side, far in self.fars.items():
                self.canvas.put(self.column(side * far), y, Cell("╎", "edge"))

    def column(self, miss: Decimal) -> int:
        """The column of a signed miss."""
        last = self.canvas.width - 1
        across = int((miss + self.span) / (2 * self.span) * last + Decimal("0.5"))
        return min(max(across, 0), last)

    def _ball(self, told: _Told, latest: bool) -> None:
        """A number stands on its place in a pile; a zone is filled in rows, like a tally."""
        out, seen, side, far = told
        self.sides[side] += 1
        self.beyond[side] += far
        self.unseen += out or (seen is not None and side is None)
        if out or seen is None:
            return
        inner = self.ask.inner
        self.near += inner is not None and seen.size is not None and seen.size <= inner
        if seen.lost:
            for s in (-1, 1) if seen.side is None else (seen.side,):
                self._pile(s * self.span, Cell(LOST, ROLES[s], latest))
        elif seen.size is not None and seen.side is None:
            for miss in (-seen.size, seen.size):
                self._pile(miss, Cell(UNSEEN, "in" if side == 0 else "out", latest))
        elif side is not None:
            cell = Cell(SIDE_SHAPES[side], ROLES[side], latest)
            if far:
                cell = Cell(FAR_SHAPES[side], ROLES[side], latest)
            if seen.signed is not None:
                self._pile(seen.signed, cell)
            elif self.edge is not None:
                self._tally(2 * side if far and side in self.fars else side, cell)

    def _put(self, x: int, y: int, cell: Cell) -> None:
        self.taken.add((x, y))
        self.canvas.put(x, y, cell)
        if cell.latest:
            self.latest.append((x, y))

    def _pile(self, miss: Decimal, cell: Cell) -> None:
        """The lowest free place of a column; the top one is shared when the pile is full."""
        x = self.column(miss)
        y = next((y for y in reversed(self.rows) if (x, y) not in self.taken), self.rows[0])
        self._put(x, y, cell)

    def _tally(self, side: int, cell: Cell) -> None:
        """The next free place of a zone, from its middle outwards, every other column first.

        Where in its zone the ball lay was not seen; a heap round the middle leans to no side.
        """
        if side not in self.free:
            near = self._columns(side)
            self.free[side] = (self._places(near), (near[0], self.rows[0]) if near else None)
        free, shared = self.free[side]
        place = next((place for place in free if place not in self.taken), shared)
        if place is not None:
            self._put(*place, cell)

    def _places(self, near: Sequence[int]) -> Iterator[Place]:
        apart = [x for x in near if (x - near[0]) % 2 == 0]
        return ((x, y) for some in (apart, near) for y in reversed(self.rows) for x in some)

    def _columns(self, side: int) -> list[int]:
        """The columns of a zone, from its middle outwards."""
        assert self.edge is not None
        left, right = self.column(-self.edge), self.column(self.edge)
        start, end = 0, self.canvas.width
        if (far := self.fars.get(-1)) is not None:
            start = self.column(-far) + 1
        if (far := self.fars.get(1)) is not None:
            end = self.column(far)
        columns = {
            -2: range(start - 1),
            -1: range(start, left),
            0: range(left + 1, right),
            1: range(right + 1, end),
            2: range(end + 1, self.canvas.width),
        }[side]
        middle = columns[(len(columns) - 1) // 2] if columns else 0
        return sorted(columns, key=lambda x: (abs(x - middle), x))

    def _counts(self) -> None:
        """How many finished on each side, over the picture."""
        ask, width = self.ask, self.canvas.width
        sides, far, unseen = self.sides, self.beyond, self.unseen
        low, _, high = WORDS[ask.direction]
        low, high = f"{low} {sides[-1] - far[-1]}", f"{high} {sides[1] - far[1]}"
        if -1 in self.fars or far[-1]:
            low = f"far {far[-1]} · {low}"
        if 1 in self.fars or far[1]:
            high = f"{high} · far {far[1]}"
        if self.edge is not None:
            middle = "in"
        else:
            middle = (
                f"on {text(ask.aim.carry)}" if ask.asks == "carry" and ask.aim.carry else "on it"
            )
        middle = f"{middle} {sides[0]}"
        if ask.inner is not None:
            middle = f"{middle} · inner {self.near}"
        if unseen:
            longer = f"{middle} · side not seen {unseen}"
            fits = len(longer) <= width - len(low) - len(high) - 2
            middle = longer if fits else f"{middle} {UNSEEN} {unseen}"
        for x in range(width):
            self.canvas.cells.pop((x, 0), None)
        self.canvas.write(0, 0, low)
        self.canvas.write(width - len(high), 0, high)
        self.canvas.centred(len(low) + 1, width - len(high) - 1, 0, middle)

    def _axis(self) -> None:
        """Distances under the picture: off the aim, or the carry itself."""
        width = self.canvas.width
        around = self.ask.aim.carry if self.ask.asks == "carry" else None
        half = 4 if width >= 60 and self.span % 4 == 0 else 2
        for k in range(-half, half + 1):
            miss = self.span * k / half
            at = abs(miss) if around is None else around + miss
            if at < 0:
                continue
            mark = text(at)
            x = self.column(miss) - len(mark) // 2
            self.canvas.write(
                min(max(x, 0), width - len(mark)), self.canvas.height - 1, mark, "axis"
            )


# ---- a window: zones seen from the bay, long at the top ----


def _window(canvas: CellCanvas, ask: Ask, shown: Sequence[Ball], latest: bool) -> None:
    across = (-1, 0, 1) if "lateral" in ask.aim.judged else (0,)
    along = (1, 0, -1)
    width, height = canvas.width // len(across), canvas.height // 3
    if height < 1:
        return
    x0, y0 = (canvas.width - width * len(across)) // 2, (canvas.height - height * 3) // 2
    balls: dict[tuple[int, int], list[Cell]] = {}
    unseen = 0
    for at, ball in enumerate(shown, 1):
        where = _zone(ball)
        if where is None:
            unseen += 1
            continue
        lateral, depth = where
        cell = Cell(_sign(lateral, depth), ROLES[lateral or depth], latest and at == len(shown))
        balls.setdefault(where, []).append(cell)
    for row, depth in enumerate(along):
        for col, lateral in enumerate(across):
            box = (x0 + col * width, y0 + row * height, width, height)
            _box(canvas, box, (lateral, depth) == (0, 0))
            here = balls.get((lateral, depth), [])
            _fill(canvas, box, _name(lateral, depth), _sign(lateral, depth), here)
    if unseen:
        canvas.write(x0 + 2, canvas.height - 1, f" out, side not seen {unseen} ")


def _zone(ball: Ball) -> tuple[int, int] | None:
    shot, ask = ball
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


def _box(canvas: CellCanvas, box: tuple[int, int, int, int], aim: bool) -> None:
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
    places = ((x, y), (x + width - 1, y), (x, y + height - 1), (x + width - 1, y + height - 1))
    for corner, (cx, cy) in zip(corners, places, strict=True):
        canvas.put(cx, cy, Cell(corner, role))


def _fill(
    canvas: CellCanvas, box: tuple[int, int, int, int], name: str, sign: str, cells: list[Cell]
) -> None:
    """A zone's name (its sign, for want of room), its count, and its newest balls in rows."""
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
            "label",
            "axis",
            "density",
        )
    }

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._ask: Ask | None = None
        self._balls: tuple[Ball, ...] = ()
        self._density: tuple[float, ...] | None = None
        self._canvas: CellCanvas | None = None
        self._line: _Line | None = None
        self._styles: dict[tuple[str, bool], Style] = {}

    @property
    def span(self) -> Decimal:
        """Half the width of the picture, in the drill's unit; a `density` runs from - to +."""
        return Decimal(0) if self._ask is None else half_across(self._ask, self._balls)

    @property
    def picture(self) -> str:
        """What is drawn, as plain text."""
        return self._drawn(self.size).text()

    def show(self, ask: Ask, balls: Sequence[Ball], density: Sequence[float] | None = None) -> None:
        """Draw these balls, oldest first, before this backdrop (see `draw`)."""
        was, drawn = (self._ask, self._balls, self._density), self._canvas
        wanted = ask, tuple(balls), None if density is None else tuple(density)
        if drawn is not None and wanted == was:
            return
        self._ask, self._balls, self._density = wanted
        if drawn is None or (drawn.width, drawn.height) != self.size:
            self._canvas = None
            self.refresh()
            return
        line, balls = self._line, self._balls
        goes_on = line is not None and (ask, balls[:-1], self._density) == was
        if line is not None and goes_on and line.takes(balls[-1]):
            changed = line.add(balls[-1])
        else:
            self._canvas = None
            now = self._drawn(self.size)
            changed = {y for (_, y), _ in drawn.cells.items() ^ now.cells.items()}
        # One ball changes a few lines: only those are painted again.
        if changed:
            self.refresh(*(Region(0, y, self.size.width, 1) for y in sorted(changed)))

    def notify_style_update(self) -> None:
        self._styles = {}
        super().notify_style_update()

    def _drawn(self, size: Size) -> CellCanvas:
        if self._canvas is None or (self._canvas.width, self._canvas.height) != size:
            width, height = size
            self._canvas, self._line = CellCanvas(width, height), None
            if self._ask is not None:
                drawn = _draw(self._ask, self._balls, width, height, self._density)
                self._canvas, self._line = drawn
        return self._canvas

    def render_line(self, y: int) -> Strip:
        """One line as runs of one style."""
        canvas = self._drawn(self.size)
        cells, blank = canvas.cells, Cell(" ", "")
        line = [cells.get((x, y), blank) for x in range(canvas.width)]
        return Strip(
            [
                Segment("".join(map(CHARACTER, run)), self._style(*style))
                for style, run in groupby(line, key=STYLE)
            ],
            canvas.width,
        )

    def _style(self, role: str, latest: bool) -> Style:
        if (style := self._styles.get((role, latest))) is None:
            style = self.get_component_rich_style(f"target--{role}") if role else self.rich_style
            if latest:
                style += Style(reverse=True, bold=True)
            self._styles[role, latest] = style
        return style
