"""Before a session: how long, how many balls, which plan, and why each block is in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors
from drillrunner.app.dialog import Question
from drillrunner.app.keys import key
from drillrunner.app.plan_words import planned
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.plans import (
    MOST_BALLS,
    MOST_MINUTES,
    Plan,
    Plans,
    load_plans,
)
from drillrunner.practice.sessions.compose import COMPOSED, Facts, compose
from drillrunner.practice.sessions.plan import Wanted, limits_for
from drillrunner.practice.sessions.session import Limits, new

if TYPE_CHECKING:
    from drillrunner.store.store import Store

MINUTES, BALLS = "+minutes", "+balls"
"""The rows of the two limits."""
STEP = 5
"""What one turn of a limit adds."""


class SessionSetupScreen(BaseScreen):
    """wanted: what was asked for on the command line; the cautions then open over this at once."""

    topic = "session_setup"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("next", "setup.more", "turn(1)", shown=True, tip="Five minutes more, or balls"),
        key("previous", "setup.fewer", "turn(-1)", tip="Five minutes fewer, or balls"),
        key("history", "setup.last", "last", shown=True),
    ]

    def __init__(self, wanted: Wanted | None = None) -> None:
        super().__init__()
        self.title = "Session"
        self.wanted = wanted
        self.plans: Plans = Plans()
        self.chosen: Limits | None = None
        """The limits as they were turned here; `None` while the plan's own hold."""
        self._facts: Facts | None = None
        self._asked_for = wanted is not None
        self._kept = COMPOSED if wanted is None or wanted.plan is None else wanted.plan
        """The plan that the cursor was on last."""

    def body(self) -> ComposeResult:
        yield Static("", id="limits", markup=False)
        with Container(id="planning"):
            yield BlockList(id="plans")
            with VerticalScroll(id="plan-blocks", can_focus=False):
                yield Static("", id="plan-text")

    def on_mount(self) -> None:
        app = self.drillrunner
        self.plans = load_plans(app.drills.folders, app.drills.catalogue, CLUBS)
        if self.wanted is not None and self.wanted.plan is None:
            self.chosen = self.wanted.limits
        rows = self.query_one(BlockList)
        rows.fill(
            [
                *self._limit_rows(),
                Option(ListRow("Put together for you", "", "from what you have"), id=COMPOSED),
                *(
                    Option(ListRow(plan.title, f"{plan.minutes} min", plan.about), id=plan.id)
                    for plan in self.plans.plans
                ),
            ],
            self._kept,
        )
        rows.focus()
        if self.plans.problems:
            self.say(f"{len(self.plans.problems)} plan can't be used: {self.plans.problems[0]}")
        self._show()

    def read(self, store: Store) -> None:
        from drillrunner.services.ledger import known

        app = self.drillrunner
        if app.player is not None:
            self._facts = known(store, app.player, app.drills.catalogue, app.clock())
            self._show()
            if self._asked_for:
                self._asked_for = False
                self._chosen_plan()

    @property
    def _file(self) -> Plan | None:
        """The plan that is shown; `None` for the one put together."""
        return next((plan for plan in self.plans.plans if plan.id == self._kept), None)

    @property
    def limits(self) -> Limits:
        """The limits that hold for what is under the cursor."""
        plan, wanted = self._file, self.wanted
        if self.chosen is not None:
            return self.chosen
        if wanted is not None and plan is not None and wanted.plan == plan.id:
            return wanted.limits
        return limits_for(plan, None, None)

    @property
    def plan(self) -> Plan | None:
        """The plan as it stands; `None` until what it is put together from has been read."""
        if (plan := self._file) is not None:
            return plan
        return None if self._facts is None else compose(self._facts, self.limits)

    def _show(self) -> None:
        limits, plan = self.limits, self.plan
        self.query_one("#limits", Static).update(limits.said)
        for row in self._limit_rows():
            self.query_one(BlockList).replace_option_prompt(row.id or "", row.prompt)
        self.query_one("#plan-text", Static).update(
            Content("opening your records")
            if plan is None
            else planned(plan, limits, self.drillrunner.clock())
        )

    @on(OptionList.OptionHighlighted)
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_id not in (MINUTES, BALLS, None):
            self._kept = event.option_id
            self._show()

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        if event.option_id in (MINUTES, BALLS):
            self._ask(event.option_id)
        else:
            self._chosen_plan()

    def _chosen_plan(self) -> None:
        plan = self.plan
        if plan is None:
            self.say("still opening your records")
        elif not new(plan, self.limits, self.drillrunner.clock()).forecast.shares:
            self.say("nothing of this plan fits: take more minutes or more balls")
        else:
            self.drillrunner.open(doors.Cautions(plan, self.limits))

    def _limit_rows(self) -> list[Option]:
        limits = self.limits
        return [
            Option(ListRow("Minutes", f"{limits.minutes}"), id=MINUTES),
            Option(ListRow("Balls", f"{limits.balls}"), id=BALLS),
        ]

    def action_turn(self, by: int) -> None:
        """Turn the minutes, or in their row the balls."""
        row = self.query_one(BlockList).highlighted_option
        which = BALLS if row is not None and row.id == BALLS else MINUTES
        now = self.limits.balls if which == BALLS else self.limits.minutes
        self._limit(which, (now // STEP + by) * STEP)

    def _ask(self, which: str) -> None:
        most = MOST_BALLS if which == BALLS else MOST_MINUTES

        def wrong(text: str) -> str | None:
            fine = text.isascii() and text.isdigit() and 1 <= int(text) <= most
            return None if fine else f"{text or 'nothing'}: expected a number from 1 to {most}"

        def answered(text: str | None) -> None:
            if text is not None:
                self._limit(which, int(text), 1)

        title = "How many balls?" if which == BALLS else "How many minutes?"
        now = self.limits.balls if which == BALLS else self.limits.minutes
        self.app.push_screen(Question(title, "", str(now), wrong), answered)

    def _limit(self, which: str, wanted: int, least: int = STEP) -> None:
        limits = self.limits
        if which == BALLS:
            self.chosen = Limits(limits.minutes, min(max(wanted, least), MOST_BALLS))
        else:
            self.chosen = Limits(min(max(wanted, least), MOST_MINUTES), limits.balls)
        self._show()

    def action_last(self) -> None:
        """What your last session came to."""
        self.drillrunner.records.with_store(self._show_last)

    def _show_last(self, store: Store) -> None:
        player = self.drillrunner.player
        found = store.sessions(None if player is None else player.id, 10)
        last = next((info for info in found if info.events), None)
        if last is None:
            self.say("no session yet")
        else:
            self.drillrunner.open(doors.Summary(last.id))
