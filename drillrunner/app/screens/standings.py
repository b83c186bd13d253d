"""Standings: matches won, by drill and head to head, in all or in a season."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app.dialog import Question
from drillrunner.app.keys import key
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.practice.matches.standings import DecidedMatch, Standings, Tally, standings
from drillrunner.services.standings import decided

if TYPE_CHECKING:
    from drillrunner.store.store import Store

Season = tuple[str, date | None, date | None]
DAYS = 90


def seasons(today: date) -> list[Season]:
    """The seasons to turn through: a name, the first day and the last."""
    return [
        ("all matches", None, None),
        (f"this year, {today.year}", date(today.year, 1, 1), None),
        (f"last year, {today.year - 1}", date(today.year - 1, 1, 1), date(today.year - 1, 12, 31)),
        (f"the last {DAYS} days", today - timedelta(DAYS - 1), None),
    ]


def dates(text: str) -> tuple[date | None, date | None]:
    """The days that a text means, as `2025-04-01 2025-09-30`; a dash leaves one open.

    Raises ValueError.
    """
    first, last = (*text.split(), "-")[:2] if text.split() else ("-", "-")
    since, until = (None if one == "-" else date.fromisoformat(one) for one in (first, last))
    if len(text.split()) > 2 or (since and until and since > until):
        raise ValueError(text)
    return since, until


def bad_dates(text: str) -> str | None:
    """Why a text is no season."""
    try:
        dates(text)
    except ValueError:
        return f"{text}: expected two days, the earlier first: 2025-04-01 2025-09-30, or - for one"
    return None


class StandingsScreen(ScrollScreen):
    """The matches that were decided, summed up."""

    topic = "standings"
    scrolled = "#places"
    TITLE = "Standings"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "next",
            "standings.next",
            "season(1)",
            "Season",
            shown=True,
            tip="All, this year, last year, the last 90 days",
        ),
        key(
            "previous",
            "standings.previous",
            "season(-1)",
            "Season before",
            tip="The season before in that list",
        ),
        key("which", "standings.dates", "dates", shown=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.matches: tuple[DecidedMatch, ...] = ()
        self.seasons: list[Season] = []
        self.at = 0

    def body(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)
        with VerticalScroll(id="places", can_focus=False):
            yield Static("", id="ranking", markup=False)

    def on_mount(self) -> None:
        self.seasons = seasons(self.drillrunner.clock().date())
        self._show()

    def read(self, store: Store) -> None:
        self.matches = tuple(decided(store))
        self._show()

    def refit(self) -> None:
        self._show()

    def _show(self) -> None:
        if not self.seasons:
            return
        name, since, until = self.seasons[self.at]
        found = standings(self.matches, since, until)
        count = f"{found.matches} match{'' if found.matches == 1 else 'es'}"
        self.query_one("#progress", Static).update(f"◀ {name} ▶   {count}")
        self.query_one("#ranking", Static).update(self._said(found))

    def _said(self, found: Standings) -> Content:
        if not found.matches:
            return Content("No match decided here: on the home screen - starts one.")
        lines: list[Content] = [_head("players")]
        size = max(len(row.player) for row in found.rows)
        for row in found.rows:
            run = f", {row.run} in a row now" if row.run > 1 else ""
            lines.append(Content(f"{row.player:<{size}}  {_tally(row.total)}{run}"))
        for drill, title in found.titles.items():
            lines += [Content(""), _head(title)]
            lines += [
                Content(f"{row.player:<{size}}  {_tally(row.drills[drill])}")
                for row in found.rows
                if drill in row.drills
            ]
        lines += [Content(""), _head("head to head")]
        for pair in found.pairs:
            level = f", {pair.level} level" if pair.level else ""
            lines.append(Content(f"{pair.one} {pair.won} : {pair.lost} {pair.other}{level}"))
        return Content("\n").join(lines)

    def action_season(self, by: int) -> None:
        """Turn to another season."""
        self.at = (self.at + by) % len(self.seasons)
        self._show()

    def action_dates(self) -> None:
        """A season between two days."""

        def answered(text: str | None) -> None:
            if text is not None:
                since, until = dates(text)
                name = f"{since or 'the first'} to {until or 'today'}"
                own = seasons(self.drillrunner.clock().date())
                self.seasons = [*own, (name, since, until)]
                self.at = len(own)
                self._show()

        _, since, until = self.seasons[self.at]
        now = f"{since or '-'} {until or '-'}"
        self.app.push_screen(
            Question("A season", "Two days, as 2025-04-01 2025-09-30", now, bad_dates), answered
        )


def _head(text: str) -> Content:
    return Content.styled(text.upper(), "bold")


def _tally(tally: Tally) -> str:
    shared = f", shared {tally.shared}" if tally.shared else ""
    return f"won {tally.won} of {tally.played}{shared}"
