"""The calendar of practice: balls by day, a week a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.css.styles import RulesMap
from textual.strip import Strip
from textual.visual import RenderOptions, Visual
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.base import ListScreen
from drillrunner.app.widgets.lists import BlockList, heading
from drillrunner.practice.looking_back.progress import (
    BALL_EVENTS,
    EVERYONE,
    Week,
    balls_of_days,
    weeks,
)
from drillrunner.rules.units import numbered

if TYPE_CHECKING:
    from textual.style import Style

    from drillrunner.store.store import Store

DAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")
CELL = 4
BESIDE = 3
"""Columns at the two edges of the list, and for its bar."""
BAR_FROM = 12
"""Columns of room from which a week has a bar."""


def columns(label: str, cells: tuple[str, ...], total: str, width: int) -> str:
    """A row of the calendar: a label, seven days, and the week.

    On a phone the first day stands closer to the label, so that no figure is cut.
    """
    first, *others = (*cells, total)
    room = max(min(CELL, width - 6 - CELL * len(others)), 2)
    return f"{label:>6}{first:>{room}}" + "".join(f"{cell:>{CELL}}" for cell in others)


@dataclass(frozen=True)
class WeekRow(Visual):
    """A week, with a bar as long as its balls where there is room. most: of any week."""

    week: Week
    most: int

    def render_strips(
        self, width: int, height: int | None, style: Style, options: RenderOptions
    ) -> list[Strip]:
        week = self.week
        cells = tuple(str(count) if count else "·" for count in week.balls)
        day = f"{week.monday.day} {week.monday:%b}"
        line = columns(day, cells, str(week.total) if week.total else "·", width)
        room = width - len(line) - 2
        if room >= BAR_FROM:
            halves = round(week.total * room * 2 / max(self.most, 1))
            line += "  " + "━" * (halves // 2) + "╸" * (halves % 2)
        return Content(line[:width].ljust(width)).render_strips(width, 1, style, options)

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        return container_width

    def get_height(self, rules: RulesMap, width: int) -> int:
        return 1


class CalendarScreen(HasQuestions, ListScreen):
    """The practice of the player of now, or of everyone."""

    topic: ClassVar[str] = "calendar"
    TITLE = "Calendar"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("everyone", "calendar.everyone", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.everyone = False
        self.weeks: tuple[Week, ...] = ()

    def body(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)
        yield Static("", id="calendar-head", markup=False)
        yield BlockList(id="weeks")

    def read(self, store: Store) -> None:
        player = self.drillrunner.player
        mine = None if self.everyone or player is None else player.id
        self.questions.ask(
            lambda: balls_of_days(store.days(mine), store.events_by_day(BALL_EVENTS, mine)),
            self._show,
            lambda error: self.say(str(error)),
        )

    def _show(self, by_day: dict[date, int]) -> None:
        today = self.drillrunner.clock().date()
        self.weeks = weeks(by_day, today)
        self.query_one("#headline", Static).update(headline(self.weeks, by_day, today))
        self._show_days()
        most = max((week.total for week in self.weeks), default=0)
        rows: list[Option] = []
        for name, month in groupby(self.weeks, key=lambda week: f"{week.monday:%B %Y}"):
            found = list(month)
            rows.append(heading(name))
            rows += [Option(WeekRow(week, most), id=str(week.monday)) for week in found]
        self.block.fill(rows)

    def _show_days(self) -> None:
        width = self.size.width - BESIDE
        self.query_one("#calendar-head", Static).update(columns("", DAYS, "all", width))

    def refit(self) -> None:
        self._show_days()

    def action_everyone(self) -> None:
        """The balls of all players, or yours alone."""
        self.everyone = not self.everyone
        self.drillrunner.records.read(self)

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        week = next(week for week in self.weeks if str(week.monday) == event.option_id)
        days = [(week.monday + timedelta(days=at), balls) for at, balls in enumerate(week.balls)]
        played = [(day, balls) for day, balls in days if balls]

        def answered(choice: str | None) -> None:
            if choice is not None:
                self._open_day(date.fromisoformat(choice))

        if not played:
            self.hint("no balls in this week")
        elif len(played) == 1:
            self._open_day(played[0][0])
        else:
            rows = [
                (day.isoformat(), f"{day:%A} {day.day} {day:%B}: {numbered(balls, 'ball')}", "")
                for day, balls in played
            ]
            self.app.push_screen(Choice("Which day?", rows), answered)

    def _open_day(self, day: date) -> None:
        whose = EVERYONE if self.everyone else None
        self.drillrunner.open(doors.History(None, "", player=whose, day=day))


def headline(found: tuple[Week, ...], by_day: dict[date, int], today: date) -> str:
    """How much practice there was lately, in one plain sentence."""
    if not found:
        return "No balls yet."
    lately = [count for day, count in by_day.items() if 0 <= (today - day).days < 28]
    before = [count for day, count in by_day.items() if 28 <= (today - day).days < 56]
    said = f"{numbered(sum(lately), 'ball')} on {_days(len(lately))} in the last four weeks"
    return f"{said}, {sum(before)} on {_days(len(before))} in the four before"


def _days(count: int) -> str:
    return f"{numbered(count, 'day')}"
