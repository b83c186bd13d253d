"""The one number that matters, large, and the rest of what a game reads out, in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Digits, Static

from drillrunner.rules.units import text

Value = Decimal | int | str
MOST_PIPS = 10
DRAWABLE = set("0123456789+-.,: ")


def words(value: Value) -> str:
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
        said.append(f"{label} {words(value)} {shapes}".rstrip())
    return said


class Readout(Horizontal):
    """Label and large digits on the left; the rest, the time, and what there is to beat beside."""

    def compose(self) -> ComposeResult:
        with Vertical(id="figure"):
            yield Static("", id="plain", markup=False)
            yield Digits("", id="digits")
        with Vertical(id="rest"):
            yield Static("", id="lines", markup=False)
            yield Static("", id="elapsed", markup=False)

    def show(self, readout: Mapping[str, Value], start: Mapping[str, Value]) -> None:
        """Show a game's readout; `start` is the one from before the first ball."""
        label, value = next(iter(readout.items()))
        said = words(value)
        drawable = bool(said) and set(said) <= DRAWABLE
        self.query_one("#plain", Static).update(f"{label} {said}")
        digits = self.query_one("#digits", Digits)
        digits.display = drawable
        if drawable:
            digits.update(said)
        self.query_one("#lines", Static).update("\n".join(lines(readout, start)))

    def show_elapsed(self, said: str) -> None:
        """Show the time; the place keeps its size, so that nothing is laid out anew."""
        self.query_one("#elapsed", Static).update(said, layout=False)
