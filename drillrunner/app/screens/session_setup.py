"""Before a session: how long, how many balls, which plan, and why each block is in it."""

from __future__ import annotations

from collections.abc import Iterator
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
from drillrunner.app.odds_worker import AsksOdds
from drillrunner.app.plan_words import plan_text
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
from drillrunner.practice.sessions.claims import Facts
from drillrunner.practice.sessions.compose import COMPOSED, compose
from drillrunner.practice.sessions.fitting import EVEN, Chances
from drillrunner.practice.sessions.plan import Wanted, limits_for
from drillrunner.practice.sessions.session import Limits, new

if TYPE_CHECKING:
    from drillrunner.store.store import Store

MINUTES, BALLS = "+minutes", "+balls"
"""The rows of the two limits."""
WEIGHING = "  …how hard each drill is for you"
"""While a plan stands that may still change for that."""
STEP = 5
"""What one turn of a limit adds."""


AS_WRITTEN = "+written:"
"""Before the id of a drill that was turned to fit: its row puts it back as written, or forth."""


class SessionSetupScreen(AsksOdds, BaseScreen):
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
        self._weighed: Chances | None = None
        self._fits: dict[object, Plan] = {}
        """Plans composed with the chances, by limits and what is wanted as written."""
        self._written: frozenset[str] = frozenset()
        self._turned: tuple[str, ...] = ()
        """Drills of the plan that have a row to be put back as written, or forth."""
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
        self._fill()
        rows.focus()
        if self.plans.problems:
            self.say(f"{len(self.plans.problems)} plan can't be used: {self.plans.problems[0]}")
        self._show()

    def _fill(self) -> None:
        self.query_one(BlockList).fill(
            [
                *self._limit_rows(),
                Option(ListRow("Put together for you", "", "from what you have"), id=COMPOSED),
                *self._turned_rows(),
                *(
                    Option(ListRow(plan.title, f"{plan.minutes} min", plan.about), id=plan.id)
                    for plan in self.plans.plans
                ),
            ],
            self._kept,
        )

    def _turned_rows(self) -> Iterator[Option]:
        """A row for each drill that is played at a setting which fits, or could be."""
        for id in self._turned:
            title = self.drillrunner.drills.catalogue.drill(id).title
            stands = "as written" if id in self._written else "as it fits"
            row = ListRow(f"  {title}", stands, "Enter turns it back as written, or forth")
            yield Option(row, id=AS_WRITTEN + id)

    def read(self, store: Store) -> None:
        from drillrunner.services.planning import known

        app = self.drillrunner
        if app.player is not None:
            self._facts = known(store, app.player, app.drills.catalogue, app.clock())
            self._fits.clear()
            self._weighed = None
            self._show()
            if self._asked_for and self._file is not None:
                self._asked_for = False
                self._chosen_plan()

    def _weigh(self) -> None:
        """Ask which drills of a plan put together fit the player; until then it goes without."""
        app = self.drillrunner
        store, player, facts = app.records.store, app.player, self._facts
        key = self._wants
        if key in self._fits or store is None or player is None or facts is None:
            return
        limits, written, weighed, wanted = self.limits, self._written, self._weighed, EVEN
        if self.wanted is not None:
            wanted = self.wanted.chance
        catalogue = app.drills.catalogue

        def work() -> tuple[Facts, Chances, Plan]:
            from drillrunner.services.planning import Weighed, with_sides

            told = facts if weighed is not None else with_sides(facts, store, player)
            chances = weighed or Weighed(catalogue, store, player)
            return told, chances, compose(told, limits, chances, wanted, written)

        def fits(found: tuple[Facts, Chances, Plan]) -> None:
            self._facts, self._weighed, self._fits[key] = found
            self._show()
            self._open_asked_for()

        self.odds.ask(work, fits, lambda _: self._open_asked_for())

    def _open_asked_for(self) -> None:
        if self._asked_for and self.is_current:
            self._asked_for = False
            self._chosen_plan()

    @property
    def weighed(self) -> bool:
        """Whether the plan put together stands as it fits the player."""
        return self._wants in self._fits

    @property
    def _wants(self) -> object:
        """What a composed plan depends on here."""
        return self.limits, self._written

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
        if (found := self._fits.get(self._wants)) is not None:
            return found
        if self._facts is None:
            return None
        return compose(self._facts, self.limits, written=self._written)

    def _show(self) -> None:
        limits, plan = self.limits, self.plan
        if self._file is None:
            self._weigh()
            turned = {b.drill for b in plan.blocks if b.drill and b.set} if plan else set()
            # One that was put back keeps its row, so that it can be turned again.
            shown = tuple(sorted(turned | self._written))
            if shown != self._turned:
                self._turned = shown
                self._fill()
        waits = self._file is None and plan is not None and not self.weighed
        self.query_one("#limits", Static).update(f"{limits.said}{WEIGHING if waits else ''}")
        for row in (*self._limit_rows(), *self._turned_rows()):
            self.query_one(BlockList).replace_option_prompt(row.id or "", row.prompt)
        self.query_one("#plan-text", Static).update(
            Content("opening your records")
            if plan is None
            else plan_text(plan, limits, self.drillrunner.clock())
        )

    @on(OptionList.OptionHighlighted)
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        id = event.option_id
        if id is not None and id not in (MINUTES, BALLS):
            self._kept = COMPOSED if id.startswith(AS_WRITTEN) else id
            self._show()

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        id = event.option_id or ""
        if id in (MINUTES, BALLS):
            self._ask(id)
        elif id.startswith(AS_WRITTEN):
            self._written ^= {id.removeprefix(AS_WRITTEN)}
            self._show()
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
