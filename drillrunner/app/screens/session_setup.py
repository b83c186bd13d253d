"""Before a session: how long, how many balls, which plan, and why each block is in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app import doors
from drillrunner.app.plan_words import planned
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, Row
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

MINUTES, BALLS = 5, 5
"""Steps of the two limits."""


class SessionSetupScreen(BaseScreen):
    """wanted: what was asked for on the command line; the cautions then open over this at once."""

    topic = "session_setup"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "4,left",
            "minutes(-1)",
            "Shorter",
            key_display="4",
            show=False,
            id="setup.shorter",
            tooltip="Five minutes less",
        ),
        Binding(
            "6,right",
            "minutes(1)",
            "Minutes",
            key_display="4 6",
            id="setup.longer",
            tooltip="Five minutes more; 4 takes five off",
        ),
        Binding(
            "minus,subtract",
            "balls(-1)",
            "Fewer balls",
            key_display="-",
            show=False,
            id="setup.fewer",
            tooltip="Five balls fewer",
        ),
        Binding(
            "plus,add",
            "balls(1)",
            "Balls",
            key_display="- +",
            id="setup.more",
            tooltip="Five balls more; - takes five off",
        ),
        Binding(
            "0",
            "last",
            "Last session",
            id="setup.last",
            tooltip="What your last session came to",
        ),
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
                Option(Row("Put together for you", "", "from what you have"), id=COMPOSED),
                *(
                    Option(Row(plan.title, f"{plan.minutes} min", plan.about), id=plan.id)
                    for plan in self.plans.plans
                ),
            ],
            None if self.wanted is None else self.wanted.plan,
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
        """The plan under the cursor; `None` for the one put together."""
        option = self.query_one(BlockList).highlighted_option
        return next((p for p in self.plans.plans if option and p.id == option.id), None)

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
        self.query_one("#plan-text", Static).update(
            Content("opening your records")
            if plan is None
            else planned(plan, limits, self.drillrunner.clock())
        )

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._show()

    @on(OptionList.OptionSelected)
    def _chosen_plan(self) -> None:
        plan = self.plan
        if plan is None:
            self.say("still opening your records")
        elif not new(plan, self.limits, self.drillrunner.clock()).forecast.shares:
            self.say("nothing of this plan fits: take more minutes or more balls")
        else:
            self.drillrunner.open(doors.Cautions(plan, self.limits))

    def action_minutes(self, by: int) -> None:
        """Turn the minutes."""
        limits = self.limits
        minutes = min(max(limits.minutes // MINUTES + by, 1) * MINUTES, MOST_MINUTES)
        self.chosen = Limits(minutes, limits.balls)
        self._show()

    def action_balls(self, by: int) -> None:
        """Turn the balls."""
        limits = self.limits
        count = min(max(limits.balls // BALLS + by, 1) * BALLS, MOST_BALLS)
        self.chosen = Limits(limits.minutes, count)
        self._show()

    def action_last(self) -> None:
        """What the latest session came to."""
        self.drillrunner.records.with_store(self._show_last)

    def _show_last(self, store: Store) -> None:
        player = self.drillrunner.player
        found = store.sessions(None if player is None else player.id, 10)
        last = next((info for info in found if info.events), None)
        if last is None:
            self.say("no session yet")
        else:
            self.drillrunner.open(doors.Summary(last.id))
