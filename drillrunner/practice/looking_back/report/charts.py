"""The charts of the page: SVG drawn by matplotlib, ready to stand inline in a page.

It is imported when the first is drawn, since that takes its time. Text stays text, at 16 pixels
where a chart is shown `WIDE` pixels wide. Colours: Okabe and Ito; a shape stands beside each.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from html import escape
from typing import TYPE_CHECKING, Any

from drillrunner.odds.portrait import Finish, PatternSide
from drillrunner.practice.carries.stock import TWO_IN_THREE, CarryRow
from drillrunner.practice.looking_back.progress import Week
from drillrunner.practice.looking_back.report.parts import DrillPart

if TYPE_CHECKING:
    from drillrunner.practice.looking_back.report.drawing import Axes, Figure

WIDE = 360
BLUE, ORANGE, GREEN, VERMILLION, GREY, INK = (
    "#0072B2",
    "#B87A00",
    "#007355",
    "#D55E00",
    "#5A6068",
    "#111111",
)
LOOK: dict[Any, Any] = {
    "font.size": 16,
    "font.family": "sans-serif",
    "svg.fonttype": "none",
    "text.parse_math": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
}

# It tells of its fonts on stderr, which is ours for what concerns the person.
logging.getLogger("matplotlib").setLevel(logging.ERROR)


class Drawn:
    """A chart in the making; `svg` once it is done."""

    def __init__(self, figure: Figure, axes: Axes) -> None:
        self.figure = figure
        self.axes = axes
        self.svg = ""


@contextmanager
def drawing(name: str, says: str, height: int) -> Iterator[Drawn]:
    """A chart `WIDE` by `height`. name: unique in the page. says: the same in words."""
    from drillrunner.practice.looking_back.report.drawing import (
        Figure,
        FigureCanvasSVG,
        matplotlib,
    )

    with matplotlib.rc_context({**LOOK, "svg.hashsalt": name}):
        figure = Figure(figsize=(WIDE / 72, height / 72), layout="constrained")
        FigureCanvasSVG(figure)
        drawn = Drawn(figure, figure.add_subplot())
        yield drawn
        drawn.svg = _inline(figure, name, says)


def _inline(figure: Figure, name: str, says: str) -> str:
    """The figure as an `svg` element with ids of its own, sized by the page."""
    out = io.StringIO()
    nothing: dict[str, Any] = dict.fromkeys(("Creator", "Date", "Format", "Type"))
    figure.savefig(out, format="svg", transparent=True, metadata=nothing)
    svg = out.getvalue()
    svg = svg[svg.index("<svg") :]
    head, rest = svg.split(">", 1)
    head = re.sub(r'\s(?:width|height)="[^"]*"', "", head)
    head += f' role="img" aria-label="{escape(says)}"'
    svg = f"{head}>{rest}"
    svg = re.sub(r'\bid="', f'id="{name}-', svg)
    svg = re.sub(r"url\(#", f"url(#{name}-", svg)
    return re.sub(r'xlink:href="#', f'xlink:href="#{name}-', svg)


def score_chart(name: str, part: DrillPart, says: str) -> str:
    """Scores run by run, the best as a step line, the trend and what luck would do."""
    with drawing(name, says, 250) as drawn:
        axes = drawn.axes
        at = {point.run.run: place for place, point in enumerate(part.points, 1)}
        fresh = {point.run.run for point in part.fresh}
        best = [(place, point.best) for place, point in enumerate(part.points, 1)]
        _steps(axes, best, color=BLUE, linewidth=2.5)
        _steps(axes, list(enumerate(part.by_luck, 1)), color=GREY, linestyle=":", linewidth=2)
        if part.trend:
            axes.plot(*zip(*part.trend, strict=True), color=ORANGE, linestyle="--", linewidth=2)
        marks: dict[tuple[bool, bool], list[tuple[int, float]]] = {}
        for point in part.points:
            run = point.run
            if run.score is not None:
                kind = point.record, run.run in fresh
                marks.setdefault(kind, []).append((at[run.run], float(run.score)))
        for (record, new), where in marks.items():
            colour = GREEN if record else INK
            axes.plot(
                *zip(*where, strict=True),
                marker="^" if record else "o",
                markersize=10 if record else 7,
                color=colour,
                markerfacecolor=colour if new else "white",
                linestyle="none",
            )
        _whole(axes.yaxis, 1)
        _dates(axes, part)
        axes.margins(x=0.05, y=0.12)
    return drawn.svg


def _steps(axes: Axes, line: Sequence[tuple[int, Any]], **how: Any) -> None:
    known = [(x, float(y)) for x, y in line if y is not None]
    if known:
        axes.plot(*zip(*known, strict=True), drawstyle="steps-post", **how)


def _whole(axis: Any, least: int) -> None:
    """Mark an axis of matplotlib at whole numbers, at so many of them at least."""
    from drillrunner.practice.looking_back.report.drawing import MaxNLocator

    axis.set_major_locator(MaxNLocator(nbins=5, integer=True, min_n_ticks=least))


def _dates(axes: Axes, part: DrillPart) -> None:
    count = len(part.points)
    places = sorted({1, (count + 1) // 2, count}) if count > 4 else sorted({1, count})
    moments = [part.points[place - 1].run.started for place in places]
    axes.set_xticks(places, [f"{moment.day} {moment:%b}" for moment in moments])


def pattern(name: str, side: PatternSide, says: str) -> str:
    """The latest balls from above, newest on top (depth: newest on the right)."""
    across = side.direction == "lateral"
    with drawing(name, says, 300 if across else 280) as drawn:
        axes, count = drawn.axes, len(side.finishes)
        low, high = (side.bias.median + end * side.half_width.median for end in (-1, 1))
        span = _span(side)
        shade, middle = (axes.axvspan, axes.axvline) if across else (axes.axhspan, axes.axhline)
        shade(low, high, color=ORANGE, alpha=0.18, linewidth=0)
        for end in (low, high):
            middle(end, color=ORANGE, linewidth=1.5, linestyle="--")
        middle(0, color=INK, linewidth=1)
        for age, finish in enumerate(side.finishes):
            _finish(axes, finish, count - age, span, across)
        ends = ("left", "right") if across else ("short", "long")
        ticks = [-span, -span / 2, 0, span / 2, span]
        names = [f"{abs(tick):g}" for tick in ticks]
        if across:
            axes.set_xlim(-span, span)
            axes.set_yticks([])
            axes.set_xticks(ticks, names)
            axes.set_xlabel(f"← {ends[0]}       {ends[1]} →")
            axes.spines["left"].set_visible(False)
        else:
            axes.set_ylim(-span, span)
            axes.set_xticks([])
            axes.set_yticks(ticks, names)
            axes.set_ylabel(f"← {ends[0]}    {ends[1]} →")
            axes.spines["bottom"].set_visible(False)
    return drawn.svg


def _span(side: PatternSide) -> float:
    """Half of what the chart shows, a round number."""
    far = abs(side.bias.median) + side.half_width.median * 1.5
    ends = [abs(e) for f in side.finishes for s in f.spans for e in s if e is not None]
    far = max([far, *ends])
    size = 1.0
    while True:
        for step in (1, 2, 4, 5, 6, 8):
            if step * size >= far:
                return step * size
        size *= 10


def _finish(axes: Axes, finish: Finish, at: int, span: float, across: bool) -> None:
    """A dot for a number, a stroke for a zone that was seen."""
    for low, high in finish.spans:
        left, right = (-span if low is None else low), (span if high is None else high)
        middle = (left + right) / 2
        colour = GREEN if left <= 0 <= right else VERMILLION if middle < 0 else BLUE
        along, order = ([middle], [at]) if finish.read else ([left, right], [at, at])
        xs, ys = (along, order) if across else (order, along)
        if finish.read:
            marker = "o" if left <= 0 <= right else ("<>" if across else "v^")[middle > 0]
            axes.plot(xs, ys, marker=marker, markersize=7, color=colour, linestyle="none")
        else:
            axes.plot(xs, ys, color=colour, linewidth=2, alpha=0.75)


def practice(name: str, weeks: Sequence[Week], says: str) -> str:
    """Balls a week, the oldest on the left."""
    with drawing(name, says, 200) as drawn:
        axes, ordered = drawn.axes, list(reversed(weeks))
        axes.bar(range(len(ordered)), [week.total for week in ordered], color=BLUE, width=0.7)
        last = len(ordered) - 1
        places = sorted({0, last // 2, last}) if last > 3 else sorted({0, last})
        mondays = [ordered[place].monday for place in places]
        axes.set_xticks(places, [f"{day.day} {day:%b}" for day in mondays])
        _whole(axes.yaxis, 1)
    return drawn.svg


def carries(name: str, rows: Sequence[CarryRow], labels: Sequence[str], says: str) -> str:
    """Stock carries along a line: the dot, and where two shots in three finish."""
    with drawing(name, says, 70 + 46 * len(rows)) as drawn:
        axes = drawn.axes
        for at, (row, label) in enumerate(zip(rows, labels, strict=True)):
            carry = float(row.stock.carry)
            reach = float(row.stock.spread) * TWO_IN_THREE
            axes.plot([carry - reach, carry + reach], [at, at], color=BLUE, linewidth=3)
            axes.plot(carry, at, marker="o", markersize=10, color=INK, linestyle="none")
            axes.annotate(
                label, (carry, at), xytext=(0, 9), textcoords="offset points", ha="center"
            )
        axes.set_ylim(-0.5, len(rows) - 0.1)
        axes.margins(x=0.25)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        _whole(axes.xaxis, 2)
    return drawn.svg
