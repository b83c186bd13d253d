"""Then and now: for each club the older half of the balls beside the newer half."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors, odds_words, words
from drillrunner.app.looking_back import LEAST_BALLS, Half, ThenNow, then_and_now
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.charts import ThenNowChart, with_list
from drillrunner.app.widgets.lists import ListRow
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from drillrunner.store.store import Store

KEY = "○ then  • now: where balls finish"
AXES = {"lateral": "left and right", "depth": "short and long"}


class ThenAndNowScreen(HasQuestions, ListScreen):
    """The clubs of the player of now."""

    topic: ClassVar[str] = "then_and_now"
    TITLE = "Then and now"

    def __init__(self) -> None:
        super().__init__()
        self.found: tuple[ThenNow, ...] | None = None

    def body(self) -> ComposeResult:
        yield from with_list(ThenNowChart(id="then-now"), KEY, "clubs-then", odds_words.WAITING)

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        if player is None:
            return
        self.questions.ask(
            lambda: then_and_now(store, player),
            self._worked_out,
            lambda error: self.query_one("#progress", Static).update(f"no odds: {error}"),
        )

    def _worked_out(self, found: tuple[ThenNow, ...]) -> None:
        self.found = found
        rows = [Option(_row(one), id=str(at)) for at, one in enumerate(found)]
        self.block.fill(rows)
        self._tell()

    @property
    def club(self) -> ThenNow | None:
        """The one under the cursor."""
        return self.found[int(self.under)] if self.under and self.found else None

    @on(OptionList.OptionHighlighted)
    def _tell(self) -> None:
        one = self.club
        self.query_one("#chart").display = one is not None
        self.query_one("#headline", Static).update("" if one is None else one.said)
        if self.found is None:
            return
        text = f"No club with {LEAST_BALLS} balls yet: so many it takes to tell older from newer."
        if one is not None:
            across = one.direction == "lateral"
            text = "\n".join(
                half_words(name, half, across, one.unit)
                for name, half in (("then", one.then), ("now", one.now))
            )
        self.query_one(ThenNowChart).show(one)
        self.query_one("#progress", Static).update(text)

    @on(OptionList.OptionSelected)
    def _opened(self) -> None:
        if one := self.club:
            self.drillrunner.open(doors.Pattern(one.club, one.swing))


def _row(one: ThenNow) -> ListRow:
    then, now = one.then.half_width.median, one.now.half_width.median
    change = f"{then:.1f} → {now:.1f} {one.unit}"
    return ListRow(
        f"{words.title_of(one.club, one.swing)}, {AXES[one.direction]}", change, one.change
    )


def half_words(name: str, half: Half, across: bool, unit: str) -> str:
    """One half in a line: how many balls and when, the average miss and how sure it is."""
    first, last = (f"{day.day} {day:%b}" for day in (half.first, half.last))
    days = first if first == last else f"{first} to {last}"
    bias = half.bias
    return (
        f"{name:<4} {numbered(half.shots, 'ball')}, {days}: centre "
        f"{words.off(bias.median, across, unit)} "
        f"({words.off(bias.low, across)} to {words.off(bias.high, across)})"
    )
