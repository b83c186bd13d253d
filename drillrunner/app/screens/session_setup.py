"""Before a session: how long, how many balls, which plan, and why each block is in it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static

from drillrunner.app import doors
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.plan_words import plan_text
from drillrunner.app.screens.form import AskItem, FormScreen, Item
from drillrunner.app.widgets.lists import BlockList
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

LIMITS = {"minutes": MOST_MINUTES, "balls": MOST_BALLS}
"""The two limits, and the most that each can be; their rows have a `+` before that."""
WEIGHING = "  …how hard each drill is for you"
"""While a plan stands that may still change for that."""
STEP = 5
"""What one turn of a limit adds."""
AS_WRITTEN = "+written:"
"""Before the id of a drill that was turned to fit: its row puts it back as written, or forth."""


class SessionSetupScreen(HasQuestions, FormScreen):
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
        self.starts_on = self._kept

    def body(self) -> ComposeResult:
        yield Static("", id="limits", markup=False)
        with Container(id="planning"):
            yield BlockList(id="form-rows")
            with VerticalScroll(id="plan-blocks", can_focus=False):
                yield Static("", id="plan-text", markup=False)

    def on_mount(self) -> None:
        app = self.drillrunner
        self.plans = load_plans(app.drills.folders, app.drills.catalogue, CLUBS)
        if self.wanted is not None and self.wanted.plan is None:
            self.chosen = self.wanted.limits
        if self.plans.problems:
            self.say(f"{len(self.plans.problems)} plan can't be used: {self.plans.problems[0]}")

    def items(self) -> list[Item]:
        choose = self._chosen_plan
        return [
            *map(self._limit_item, LIMITS),
            Item(COMPOSED, "Put together for you", "", "from what you have", act=choose),
            *map(self._turned_item, self._turned),
            *(
                Item(plan.id, plan.title, f"{plan.minutes} min", plan.about, act=choose)
                for plan in self.plans.plans
            ),
        ]

    def _limit_item(self, which: str) -> Item:
        now, most = getattr(self.limits, which), LIMITS[which]

        def wrong(text: str) -> str | None:
            fine = text.isascii() and text.isdigit() and 1 <= int(text) <= most
            return None if fine else f"{text or 'nothing'}: expected a number from 1 to {most}"

        def take(text: str) -> None:
            self._limit(which, int(text))

        ask = AskItem(f"How many {which}?", str(now), take, wrong)
        return Item(f"+{which}", which.title(), str(now), ask=ask)

    def _turned_item(self, id: str) -> Item:
        """The row of a drill that is played at a setting which fits, or could be."""
        title = self.drillrunner.drills.catalogue.drill(id).title
        stands = "as written" if id in self._written else "as it fits"
        about = "Enter turns it back as written, or forth"
        return Item(AS_WRITTEN + id, f"  {title}", stands, about, act=partial(self._put_back, id))

    def _put_back(self, id: str) -> None:
        self._written ^= {id}
        self.show()

    def read(self, store: Store) -> None:
        from drillrunner.services.planning import known

        app = self.drillrunner
        if app.player is not None:
            self._facts = known(store, app.player, app.drills.catalogue, app.clock())
            self._fits.clear()
            self._weighed = None
            self.show()
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
            self.show()
            self._open_asked_for()

        self.questions.ask(work, fits, lambda _: self._open_asked_for())

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

    def show(self) -> None:
        plan = self.plan
        if self._file is None:
            self._weigh()
            turned = {b.drill for b in plan.blocks if b.drill and b.set} if plan else set()
            # One that was put back keeps its row, so that it can be turned again.
            self._turned = tuple(sorted(turned | self._written))
        super().show()
        waits = self._file is None and plan is not None and not self.weighed
        self.query_one("#limits", Static).update(f"{self.limits.said}{WEIGHING if waits else ''}")
        self.query_one("#plan-text", Static).update(
            Content("opening your records")
            if plan is None
            else plan_text(plan, self.limits, self.drillrunner.clock())
        )

    @on(OptionList.OptionHighlighted)
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        id = event.option_id or ""
        plan = COMPOSED if id.startswith(AS_WRITTEN) else id
        if plan != self._kept and not plan.startswith("+"):
            self._kept = plan
            self.show()

    def _chosen_plan(self) -> None:
        plan = self.plan
        if plan is None:
            self.hint("still opening your records")
        elif not new(plan, self.limits, self.drillrunner.clock()).forecast.shares:
            self.hint("nothing of this plan fits: take more minutes or more balls")
        else:
            self.drillrunner.open(doors.Cautions(plan, self.limits))

    def action_turn(self, by: int) -> None:
        """Turn the minutes, or in their row the balls."""
        which = "balls" if self.item is not None and self.item.id == "+balls" else "minutes"
        self._limit(which, max((getattr(self.limits, which) // STEP + by) * STEP, STEP))

    def _limit(self, which: str, wanted: int) -> None:
        self.chosen = replace(self.limits, **{which: min(wanted, LIMITS[which])})
        self.show()

    def action_last(self) -> None:
        """What your last session came to."""
        self.drillrunner.records.with_store(self._show_last)

    def _show_last(self, store: Store) -> None:
        player = self.drillrunner.player
        found = store.sessions(None if player is None else player.id, 10)
        last = next((info for info in found if info.events), None)
        if last is None:
            self.hint("no session yet")
        else:
            self.drillrunner.open(doors.Summary(last.id))
