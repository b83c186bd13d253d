"""Charts in the terminal: scores over time, two running scores, a pattern then and now."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from textual.color import Color
from textual_plotext import PlotextPlot

if TYPE_CHECKING:
    from drillrunner.app.looking_back import ThenNow, Verdict
    from drillrunner.practice.looking_back.progress import Ball, Point
    from drillrunner.rules.game import Score

SCORE, RECORD, NONE, TREND, LUCK = "●", "▲", "✕", "╌", "·"
BEST = "━┃"
"""Along and upwards."""
KEY = (
    f"{SCORE} score  {RECORD} best then  ━━ best so far  {TREND * 2} trend  {LUCK * 3} best by luck"
)
EVERYONES_KEY = "letter: whose score it is  ━━ best of all so far"
MOST_TICKS = 8
DATES = 26
"""Columns that a date under the chart may take, with room around it."""


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

    def heights(self, values: Sequence[float]) -> tuple[float, float]:
        """Room above and below these values, and a few whole numbers named at the side."""
        low, high = min(values), max(values)
        if 0 <= low <= (high - low) / 2:
            low = 0.0
        room = max((high - low) * 0.08, 0.5)
        step = even_step(high - low, min(max(self.size.height // 2 - 1, 2), MOST_TICKS))
        at: list[float] = list(range(-int(-low // step) * step, int(high) + 1, step))
        self.plt.yticks(at, [f"{value:g}" for value in at])
        self.plt.ylim(low - room, high + room)
        return low - room, high + room


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


def even_step(reach: float, most: int) -> int:
    """The smallest of 1, 2, 5, 10, 20 and so on that parts a reach at most so often."""
    size = 1
    while True:
        for step in (size, 2 * size, 5 * size):
            if reach / step <= most:
                return step
        size *= 10


class ScoreChart(Chart):
    """Scores of one drill as set, run by run, the best as a step line, and what luck would do."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._points: Sequence[Point] = ()
        self._verdict: Verdict | None = None
        self._initials = False

    def show(
        self, points: Sequence[Point], verdict: Verdict | None, initials: bool = False
    ) -> None:
        """Draw these runs. initials: mark each by its player's first letter."""
        self._points, self._verdict, self._initials = points, verdict, initials
        self.draw()

    def plot(self) -> None:
        points = self._points
        scored = [(at, point) for at, point in enumerate(points, 1) if point.run.score is not None]
        if not scored:
            self.plt.xticks([])
            self.plt.yticks([])
            return
        values = [float(point.run.score) for _, point in scored]  # type: ignore[arg-type]
        found = self._verdict
        if found is not None:
            ends = found.trend
            values += [min(max(y, min(values)), max(values)) for _, y in ends]
        low, high = self.heights(values)
        self.plt.xlim(0.5, len(points) + 0.5)
        if found is not None:
            self._luck(found)
            self._trend(found, low, high)
        self._best(steps([point.best for point in points]))
        worst = low if points[0].run.better == "higher" else high
        marks: dict[tuple[str, str], list[tuple[float, float]]] = {}
        for at, point in enumerate(points, 1):
            score = worst if point.run.score is None else float(point.run.score)
            marks.setdefault(self._mark(point), []).append((at, score))
        for (mark, colour), where in marks.items():
            self.dots(where, mark, colour)
        self._dates()

    def _mark(self, point: Point) -> tuple[str, str]:
        if point.run.score is None:
            return NONE, "warning"
        if self._initials:
            return point.run.player[:1].upper(), "foreground"
        return (RECORD, "success") if point.record else (SCORE, "foreground")

    def _best(self, line: Sequence[tuple[float, float]]) -> None:
        """In whole cells, as the marks are, so that a mark stands on its line."""
        for (x0, y0), (x1, y1) in pairwise(line):
            count = max(self.size.width if x1 > x0 else self.size.height, 2)
            shares = [k / (count - 1) for k in range(count)]
            between = [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in shares]
            self.dots(between, BEST[x1 == x0], "primary")

    def _luck(self, found: Verdict) -> None:
        line = steps(found.by_luck)
        self.dots(_spaced(line, max(self.size.width, 20)), LUCK, "quiet")

    def _trend(self, found: Verdict, low: float, high: float) -> None:
        if len(found.trend) == 2:
            spaced = _spaced(found.trend, max(self.size.width // 2, 10))
            inside = [(x, y) for x, y in spaced if low <= y <= high]
            self.dots(inside, TREND, "warning")

    def _dates(self) -> None:
        points = self._points
        count = max(min(self.size.width // DATES + 1, len(points)), 1)
        at: list[float] = sorted(
            {round(1 + k * (len(points) - 1) / max(count - 1, 1)) for k in range(count)}
        )
        dates = [points[int(place) - 1].run.started for place in at]
        self.plt.xticks(at, [f"{date.day} {date:%b}" for date in dates])


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


class RunsChart(Chart):
    """Two running scores, ball by ball."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._runs: tuple[Sequence[Ball], Sequence[Ball]] = ((), ())

    def show(self, one: Sequence[Ball], other: Sequence[Ball]) -> None:
        """Draw these two."""
        self._runs = one, other
        self.draw()

    def plot(self) -> None:
        drawn = [
            [
                (float(at), float(ball.score))
                for at, ball in enumerate(balls, 1)
                if ball.score is not None
            ]
            for balls in self._runs
        ]
        known = [y for line in drawn for _, y in line]
        if not known:
            self.plt.xticks([])
            self.plt.yticks([])
            return
        self.heights(known)
        most = max(map(len, self._runs))
        self.plt.xlim(0.5, most + 0.5)
        step = max(-(-most // max(self.size.width // 8, 1)), 1)
        at: list[float] = list(range(1, most + 1, step))
        self.plt.xticks(at, [f"{ball:g}" for ball in at])
        for line, mark, colour in reversed(
            tuple(zip(drawn, ("●", "○"), ("primary", "warning"), strict=True))
        ):
            self.dots(line, mark, colour)


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
