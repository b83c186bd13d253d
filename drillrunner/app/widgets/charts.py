"""Charts in the terminal: scores over time, two running scores, a pattern then and now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from textual.app import ComposeResult, RenderResult
from textual.color import Color
from textual.containers import Container, Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static
from textual_plotext import PlotextPlot

from drillrunner.app.widgets.lists import BlockList
from drillrunner.app.widgets.plot import DOT, LINE, Canvas, axis_for, below, room_beside

if TYPE_CHECKING:
    from drillrunner.app.looking_back import ThenNow, Verdict
    from drillrunner.practice.looking_back.progress import Point, ScoredBall
    from drillrunner.rules.score import Score

RECORD, NONE = "▲", "✕"
KEY = f"■ score  {RECORD} best then  ── best so far  ─ ─ trend  · · best by luck"
GOAL_KEY = "─  ─ goal"
EVERYONES_KEY = "letter: whose score it is  ── best of all so far"
DATES = 13
"""Columns that a date under the chart may take, with room around it."""


def with_list(chart: Widget, key: str, rows: str, progress: str = "") -> ComposeResult:
    """What looking back shows: two lines of words, a chart with its key, and a list beside it."""
    yield Static("", id="headline", markup=False)
    yield Static(progress, id="progress", markup=False)
    with Container(id="past"):
        with Vertical(id="chart"):
            yield chart
            yield Static(key, id="chart-key", markup=False)
        yield BlockList(id=rows)


class Chart(PlotextPlot):
    """Base: draws again when the look changes. A subclass writes `plot`."""

    can_focus = False

    def on_mount(self) -> None:
        self.app.theme_changed_signal.subscribe(self, lambda _: self.draw())

    def on_resize(self) -> None:
        self.draw()

    def draw(self) -> None:
        """Draw it anew."""
        self.plt.clear_figure()
        self.plot()
        self.refresh()

    def plot(self) -> None:
        """Put what there is on `self.plt`."""

    def colour(self, name: str) -> tuple[int, int, int]:
        """A colour of the theme."""
        return Color.parse(self.app.theme_variables[name]).rgb

    def dots(self, points: Sequence[tuple[float, float]], marker: str, colour: str) -> None:
        """A mark at each of these points."""
        if points:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            self.plt.scatter(xs, ys, marker=marker, color=self.colour(colour))


def steps(bests: Sequence[Score]) -> tuple[tuple[float, float], ...]:
    """The best so far as a step line: it moves on at the run that set it."""
    corners: list[tuple[float, float]] = []
    for at, best in enumerate(bests, 1):
        if best is None:
            continue
        if not corners:
            corners.append((float(at), float(best)))
        elif corners[-1][1] != float(best):
            corners += [(float(at), corners[-1][1]), (float(at), float(best))]
    if corners and corners[-1][0] < len(bests):
        corners.append((float(len(bests)), corners[-1][1]))
    return tuple(corners)


class PlotView(Widget):
    """Base of what is drawn in signs. A subclass says `drawn`."""

    can_focus = False
    DEFAULT_CSS = "PlotView { height: 1fr; }"

    def render(self) -> RenderResult:
        if self.size.width < 8 or self.size.height < 3:
            return ""
        return Content("\n").join(self.drawn(self.size.width, self.size.height))

    def drawn(self, width: int, height: int) -> Iterable[Content]:
        """The lines of it."""
        raise NotImplementedError


class ScoreChart(PlotView):
    """Scores of one drill as set, run by run, the best as a step line, and what luck would do."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._points: Sequence[Point] = ()
        self._verdict: Verdict | None = None
        self._initials = False
        self._goal: Score = None

    def show(
        self,
        points: Sequence[Point],
        verdict: Verdict | None,
        initials: bool = False,
        goal: Score = None,
    ) -> None:
        """Draw these runs. initials: mark each by its player's first letter. goal: a line."""
        self._points, self._verdict, self._initials = points, verdict, initials
        self._goal = goal
        self.refresh()

    def drawn(self, width: int, height: int) -> Iterable[Content]:
        points = self._points
        values = [float(p.run.score) for p in points if p.run.score is not None]
        if not values:
            return ()
        goal = [] if self._goal is None else [float(self._goal)]
        low, high = min(values + goal), max(values + goal)
        if 0 <= low <= (high - low) / 2:
            low = 0.0
        axis = axis_for(low, high, height - 1)
        indent = room_beside(axis)
        canvas = Canvas(width - indent, axis, 0.5, len(points) + 0.5)
        if self._verdict is not None:
            canvas.line(steps(self._verdict.by_luck), DOT, "quiet", on=1, off=1)
            canvas.line(_cut(self._verdict.trend, low, high), LINE, "warning", on=2, off=2)
        for value in goal:
            ends = [(0.5, value), (len(points) + 0.5, value)]
            canvas.line(ends, LINE, "success", on=1, off=2)
        canvas.line(steps([point.best for point in points]), LINE, "primary")
        worst = low if points[0].run.better == "higher" else high
        for at, point in enumerate(points, 1):
            where = float(at), worst if point.run.score is None else float(point.run.score)
            if point.run.score is None:
                canvas.mark(where, NONE, "warning")
            elif self._initials:
                canvas.mark(where, point.run.player[:1].upper(), "foreground")
            elif point.record:
                canvas.mark(where, RECORD, "success")
            else:
                canvas.score(where, "foreground")
        dates = [(float(at), _date(point)) for at, point in _spread(points, width // DATES)]
        return (*canvas.lines(), below(dates, canvas.width, 0.5, len(points) + 0.5, indent))


def _spread(points: Sequence[Point], most: int) -> list[tuple[int, Point]]:
    """So many of the runs with their numbers, evenly spread, the first and the last with them."""
    count = max(min(most, len(points)), 1)
    at = {round(1 + k * (len(points) - 1) / max(count - 1, 1)) for k in range(count)}
    return [(place, points[place - 1]) for place in sorted(at)]


def _date(point: Point) -> str:
    return f"{point.run.started.day} {point.run.started:%b}"


def _cut(line: Sequence[tuple[float, float]], low: float, high: float) -> list[tuple[float, float]]:
    """A straight line as far as it lies between two heights."""
    if len(line) != 2 or line[0][1] == line[1][1]:
        return [(x, y) for x, y in line if low <= y <= high]
    (x0, y0), (x1, y1) = line
    shares = sorted((y - y0) / (y1 - y0) for y in (low, high))
    first, last = max(shares[0], 0.0), min(shares[1], 1.0)
    if first >= last:
        return []
    return [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in (first, last)]


def _spaced(line: Sequence[tuple[float, float]], count: int) -> tuple[tuple[float, float], ...]:
    """So many points evenly along a line from left to right."""
    if len(line) < 2:
        return tuple(line)
    found, first, last = [], line[0][0], line[-1][0]
    at = 0
    for k in range(count):
        x = first + (last - first) * k / (count - 1)
        while at < len(line) - 2 and line[at + 1][0] <= x:
            at += 1
        (x0, y0), (x1, y1) = line[at], line[at + 1]
        found.append((x, y1 if x1 == x0 else y0 + (y1 - y0) * (x - x0) / (x1 - x0)))
    return tuple(found)


class RunsChart(PlotView):
    """Two running scores, ball by ball."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._runs: tuple[Sequence[ScoredBall], Sequence[ScoredBall]] = ((), ())

    def show(self, one: Sequence[ScoredBall], other: Sequence[ScoredBall]) -> None:
        """Draw these two."""
        self._runs = one, other
        self.refresh()

    def drawn(self, width: int, height: int) -> Iterable[Content]:
        lines = [
            [
                (float(at), float(ball.score))
                for at, ball in enumerate(balls, 1)
                if ball.score is not None
            ]
            for balls in self._runs
        ]
        known = [y for line in lines for _, y in line]
        if not known:
            return ()
        axis = axis_for(min(known), max(known), height - 1)
        most, indent = max(map(len, self._runs)), room_beside(axis)
        canvas = Canvas(width - indent, axis, 0.5, most + 0.5)
        for line, mark, colour in zip(reversed(lines), "○●", ("warning", "primary"), strict=True):
            canvas.line(line, DOT, colour)
            for point in line:
                canvas.mark(point, mark, colour)
        step = max(-(-most // max(width // 8, 1)), 1)
        balls = [(float(at), str(at)) for at in range(1, most + 1, step)]
        return (*canvas.lines(), below(balls, canvas.width, 0.5, most + 0.5, indent))


class ThenNowChart(Chart):
    """How likely a ball is to finish at each place, by the older half and by the newer half."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: ThenNow | None = None

    def show(self, found: ThenNow | None) -> None:
        """Draw this one."""
        self._shown = found
        self.draw()

    def plot(self) -> None:
        found = self._shown
        self.plt.yticks([])
        if found is None:
            self.plt.xticks([])
            return
        span, bins = found.span, len(found.now.density)
        places = [-span + 2 * span * k / (bins - 1) for k in range(bins)]
        then = tuple(zip(places, found.then.density, strict=True))
        now = tuple(zip(places, found.now.density, strict=True))
        self.plt.vline(0, self.colour("quiet"))
        self.dots(_spaced(now, max(self.size.width, 10)), "•", "primary")
        self.dots(_spaced(then, max(self.size.width // 4, 10)), "○", "warning")
        self.plt.xlim(-span, span)
        self.plt.ylim(0, max(*found.then.density, *found.now.density) * 1.1)
        ends = ("left", "right") if found.direction == "lateral" else ("short", "long")
        ticks: list[float] = [-span, -span / 2, 0, span / 2, span]
        names = [f"{abs(tick):g}" for tick in ticks]
        names[0], names[-1] = f"{names[0]} {ends[0]}", f"{names[-1]} {ends[1]}"
        self.plt.xticks(ticks, names)
