"""The latest balls with one club from above, and the stretch that holds two in three."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.color import Color
from textual_plotext import PlotextPlot

from drillrunner.app.widgets.target import ROLES
from drillrunner.app.words import SPANS

if TYPE_CHECKING:
    from drillrunner.odds.portrait import Finish, PatternSide

COLOURS = {"left": "error", "in": "success", "right": "primary"}
"""Role to a colour of the theme, as on the target."""


class PatternView(PlotextPlot):
    """Draws a `PatternSide`: left and right run across with the newest ball on top, short and long
    run upwards with the newest ball on the right.

    A ball that was read as a number is a dot; one of which only a zone was seen is a stroke as
    long as that zone.
    """

    can_focus = False

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._side: PatternSide | None = None

    def on_mount(self) -> None:
        self.app.theme_changed_signal.subscribe(self, lambda _: self._draw())

    def show(self, side: PatternSide) -> None:
        """Draw this direction of a pattern."""
        self._side = side
        self._draw()

    @property
    def span(self) -> int:
        """Half of what the picture shows, in the unit of the side."""
        side = self._side
        if side is None:
            return SPANS[0]
        ends = [abs(side.bias.median) + side.half_width.median * 1.5]
        ends += [
            abs(end)
            for finish in side.finishes
            for stretch in finish.spans
            for end in stretch
            if end is not None
        ]
        return next((span for span in SPANS if span >= max(ends)), SPANS[-1])

    def _draw(self) -> None:
        side, plt = self._side, self.plt
        plt.clear_figure()
        if side is None:
            return
        span, count = self.span, max(len(side.finishes), 1)
        across = side.direction == "lateral"
        (plt.vline if across else plt.hline)(0, self._colour("foreground"))
        for age, finish in enumerate(side.finishes):
            self._finish(finish, count - age, span, across)
        limits, order = (-span, span), (0, count + 1)
        for end in (-side.half_width.median, side.half_width.median):
            line = [side.bias.median + end] * 2
            colour = self._colour("warning")
            plt.plot(*((line, order) if across else (order, line)), marker="braille", color=colour)
        places = [-span, -span / 2, 0, span / 2, span]
        named = [f"{abs(place):g}" for place in places]
        if across:
            plt.xlim(*limits)
            plt.ylim(*order)
            plt.xticks(places, named)
            plt.yticks([])
        else:
            plt.ylim(*limits)
            plt.xlim(*order)
            plt.yticks(places, [f"{place:+g}" if place else "0" for place in places])
            plt.xticks([])
        self.refresh()

    def _finish(self, finish: Finish, at: int, span: int, across: bool) -> None:
        for low, high in finish.spans:
            left, right = (-span if low is None else low), (span if high is None else high)
            middle = (left + right) / 2
            role = ROLES[0 if left <= 0 <= right else _sign(middle)]
            colour = self._colour(COLOURS[role])
            along = [middle] if finish.read else [left, right]
            order = [at] * len(along)
            xs, ys = (along, order) if across else (order, along)
            if finish.read:
                self.plt.scatter(xs, ys, marker="●", color=colour)
            else:
                self.plt.plot(xs, ys, marker="braille", color=colour)

    def _colour(self, name: str) -> tuple[int, int, int]:
        return Color.parse(self.app.theme_variables[name]).rgb


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)
