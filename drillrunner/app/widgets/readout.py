"""The one number that matters, large, and the rest of what a game reads out, in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from textual.app import ComposeResult, RenderResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Digits

from drillrunner.app.widgets.line import TextLine
from drillrunner.rules.units import text

Value = Decimal | int | str
MOST_PIPS = 10

BLOCKS = {
    "0": "111 101 101 101 111",
    "1": "010 110 010 010 111",
    "2": "111 001 111 100 111",
    "3": "111 001 111 001 111",
    "4": "101 101 111 001 001",
    "5": "111 100 111 001 111",
    "6": "111 100 111 101 111",
    "7": "111 001 001 001 001",
    "8": "111 101 111 101 111",
    "9": "111 101 111 001 111",
    "-": "000 000 111 000 000",
    "+": "000 010 111 010 000",
    ".": "0 0 0 0 1",
}
"""Each figure as five rows of dots."""
ROWS = 5


class LargeDigits(Digits):
    """Figures as large as there is room: thin ones of three lines, or solid ones of five or ten.

    Solid strokes are the ones that can be read at arm's length in the sun.
    """

    auto_links = Reactive(False)
    scale = 0
    """Lines in a dot; 0 for the thin figures."""

    def fit(self, room: Size, most: int = 0) -> None:
        """Take the largest scale that leaves most of `room` (cells) to the rest.

        most: cells across that there are for the figures, if that is known.
        """
        # A narrow window stacks the number over the target and the keypad: it needs more height.
        lines = 20 if room.width >= 60 else 40
        solid = bool(self.value) and set(self.value) <= BLOCKS.keys()
        fitting = (
            scale
            for scale in (2, 1)
            if room.height >= lines * scale and self._wide(scale) <= (most or room.width // 2)
        )
        scale = next(fitting, 0) if solid else 0
        if scale != self.scale:
            self.scale = scale
            self.refresh(layout=True)

    def _wide(self, scale: int) -> int:
        dots = sum(len(BLOCKS[figure].split()[0]) + 1 for figure in self.value) - 1
        return 2 * scale * dots

    def get_content_width(self, container: Size, viewport: Size) -> int:
        if self.scale:
            return self._wide(self.scale)
        return super().get_content_width(container, viewport)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        if self.scale:
            return ROWS * self.scale
        return super().get_content_height(container, viewport, width)

    def render(self) -> RenderResult:
        if not self.scale:
            return super().render()
        lines = []
        for row in range(ROWS):
            dots = "0".join(BLOCKS[figure].split()[row] for figure in self.value)
            across = 2 * self.scale
            line = dots.replace("1", "█" * across).replace("0", " " * across)
            lines += [line] * self.scale
        return Content("\n".join(lines))


def value_words(value: Value) -> str:
    """A value of a readout as it is written."""
    return value if isinstance(value, str) else text(value)


def pips(value: Value, whole: Value | None) -> str:
    """A small stock that runs down, as shapes: filled ones are left. Empty where it is none."""
    if not isinstance(value, int) or not isinstance(whole, int):
        return ""
    if not 0 <= value <= whole <= MOST_PIPS:
        return ""
    return "●" * value + "○" * (whole - value)


def lines(readout: Mapping[str, Value], start: Mapping[str, Value]) -> list[str]:
    """The rest of a readout, a line each; what counts down gets its shapes beside the number."""
    said = []
    for label, value in list(readout.items())[1:]:
        shapes = pips(value, start.get(label)) if label.endswith("left") else ""
        said.append(f"{label} {value_words(value)} {shapes}".rstrip())
    return said


class Readout(Horizontal):
    """Label and large digits on the left; the rest, the time, and what there is to beat beside."""

    def compose(self) -> ComposeResult:
        with Vertical(id="figure"):
            yield TextLine(id="plain")
            yield LargeDigits("", id="digits")
        with Vertical(id="rest"):
            yield TextLine(id="lines")
            yield TextLine(id="elapsed")

    def show(self, readout: Mapping[str, Value], start: Mapping[str, Value]) -> None:
        """Show a game's readout; `start` is the one from before the first ball."""
        label, value = next(iter(readout.items()))
        said = value_words(value)
        drawable = bool(said) and set(said) <= BLOCKS.keys()
        self.query_one("#plain", TextLine).show(f"{label} {said}")
        digits = self.query_one(LargeDigits)
        digits.display = drawable
        if drawable and digits.value != said:
            digits.update(said)
            self._fit()
        self.query_one("#lines", TextLine).show("\n".join(lines(readout, start)))

    def on_resize(self) -> None:
        self._fit()

    def _fit(self) -> None:
        """Figures that are not cut: a fraction has more of them than a count."""
        figure = self.query_one("#figure")
        share = figure.styles.max_width
        most = 0
        if self.size.width and share is not None:
            most = int(self.size.width * share.value / 100) - figure.styles.gutter.width
        self.query_one(LargeDigits).fit(self.screen.size, most)

    def show_elapsed(self, said: str) -> None:
        """Show the time."""
        self.query_one("#elapsed", TextLine).show(said)
