"""Which runs are looked at: by player, drill, club and dates."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from drillrunner.app import words
from drillrunner.app.dialog import Choice
from drillrunner.app.fields import bad_days, days_of
from drillrunner.app.screens.form import AskItem, FormScreen, Item
from drillrunner.practice.looking_back.progress import EVERYONE, Shown

if TYPE_CHECKING:
    from drillrunner.store.shapes import StoredRun
    from drillrunner.store.store import Store

SPANS = (30, 90, 365)
TYPED = "typed"


class WhichRunsScreen(FormScreen):
    """shown: which ones now. narrow: takes the others that are chosen, once this is left."""

    topic = "which_runs"
    TITLE = "Which runs?"
    turns = False

    def __init__(self, shown: Shown, narrow: Callable[[Shown], object]) -> None:
        super().__init__()
        self.shown = shown
        self.narrow = narrow
        self.settings: tuple[StoredRun, ...] = ()
        self.names: dict[str, str] = {}

    def read(self, store: Store) -> None:
        self.settings = store.settings(None, self.shown.whose(self.drillrunner.player))
        players = store.players(hidden=True)
        self.names = {one.id: one.name for one in players} | {EVERYONE: "everyone"}
        self.show()

    def items(self) -> list[Item]:
        shown, take = self.shown, self._take
        drills = {run.drill: run.title for run in reversed(self.settings)}
        titles: dict[Any, str] = {None: "all drills", **dict(reversed(drills.items()))}
        clubs = dict.fromkeys(club for run in self.settings for club, _ in run.swings)
        named: dict[Any, str] = {None: "all clubs", **{club: words.club(club) for club in clubs}}
        today = self.drillrunner.clock().date()
        days: dict[Any, str] = {
            (None, None): "any date",
            **{(today - timedelta(n - 1), None): f"the last {n} days" for n in SPANS},
            TYPED: "type the days, as 2025-04-01",
        }
        whose = shown.whose(self.drillrunner.player) or EVERYONE
        dates = " to ".join(str(day) for day in (shown.first, shown.last) if day) or "any"
        # A drill and a club that have nothing to do with each other would show nothing.
        return [
            self._row("Player", self.names, whose, lambda id: take(player=id)),
            self._row(
                "Drill",
                titles,
                shown.drill,
                lambda id: take(drill=id, title=titles[id], club=None),
                # One that was never played is none of them.
                shown.drill and shown.title,
            ),
            self._row("Club", named, shown.club, lambda id: take(club=id, drill=None)),
            self._row("Dates", days, (shown.first, shown.last), self._dated, dates),
            Item("clear", "All of mine", "", "every drill, club and date", act=self._clear),
        ]

    def _row(
        self,
        label: str,
        values: Mapping[Any, str],
        now: object,
        take: Callable[[Any], object],
        said: str | None = None,
    ) -> Item:
        """A row whose value is chosen out of all. said: the one of now, if not in their words."""
        keys = list(values)

        def choose() -> None:
            rows = [(str(at), words, "") for at, words in enumerate(values.values())]
            at = str(keys.index(now)) if now in values else None
            self.app.push_screen(Choice(f"{label}?", rows, current=at), answered)

        def answered(choice: str | None) -> None:
            if choice is not None:
                take(keys[int(choice)])

        return Item(label, label, said or values.get(now, "another"), act=choose)

    def _dated(self, chosen: Any) -> None:
        if chosen != TYPED:
            self._take(first=chosen[0], last=chosen[1])
            return
        now = " ".join(str(day) for day in (self.shown.first, self.shown.last) if day)
        about = "the first day, and the last if you like"
        self.ask(AskItem("From and to", now, self._typed, bad_days, about))

    def _typed(self, text: str) -> None:
        first, last = days_of(text)
        self._take(first=first, last=last)

    def _clear(self) -> None:
        self.shown = Shown()
        self._take()

    def _take(self, **fields: Any) -> None:
        self.narrow(replace(self.shown, **fields))
        self.action_back()
