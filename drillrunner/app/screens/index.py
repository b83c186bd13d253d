"""The handicap index: where it stands, which rounds count, and what brings it to the goal."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app import doors
from drillrunner.app.fields import bad_index, index_of
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue.courses import Course, Tee, load_courses
from drillrunner.practice.rounds.index import HIGHEST, MOST_GROSS
from drillrunner.practice.rounds.words import NOT_THE_CLUBS, WAITS, index_text
from drillrunner.rules.units import numbered
from drillrunner.services.index_page import IndexPage, highest_gross, index_page

if TYPE_CHECKING:
    from drillrunner.practice.rounds.played import PlayerRounds
    from drillrunner.store.store import Store

WITHIN = (1, 3, 5, 10, 20, 40)
EIGHTEEN = 18
ANY = "any will do"


class IndexScreen(HasQuestions, FormScreen):
    """Of the player of now."""

    topic = "index"
    TITLE = "Index"
    BINDINGS: ClassVar[list[BindingType]] = [key("rounds", "index.rounds", shown=True)]

    def __init__(self) -> None:
        super().__init__()
        self.found: PlayerRounds | None = None
        self.goal: Decimal | None = None
        self.by: date | None = None
        self.within = 10
        self.page: IndexPage | None = None
        self.tees: list[tuple[Course, Tee]] = [
            (course, tee)
            for course in load_courses().courses
            if len(course.holes) == EIGHTEEN
            for tee in course.tees
        ]
        self.at = 0

    def above(self) -> ComposeResult:
        yield Static("", id="headline", markup=False)
        yield Static("", id="progress", markup=False)

    def read(self, store: Store) -> None:
        from drillrunner.services.rounds import player_rounds

        player = self.drillrunner.player
        if player is None:
            return
        self.found = player_rounds(store, player)
        goals = [goal for goal in store.intents.goals(player.id) if goal.kind == "index"]
        self.goal = goals[0].value if goals else None
        self.by = goals[0].by if goals else None
        last = next((one for one in reversed(self.found.rounds) if one.course is not None), None)
        if last is not None and self.page is None:
            played = (last.info.course, last.info.tee)
            known = [(course.id, tee.name) for course, tee in self.tees]
            self.at = known.index(played) if played in known else 0
        self._work_out()

    def _work_out(self) -> None:
        """Show what is there at once; the chance is rolled in a thread."""
        if self.found is None:
            return
        record, goal, today = self.found.record, self.goal, self.drillrunner.clock().date()
        self.page = index_page(record, None, self.within, today)
        self._tell()
        if goal is not None and record.steps:
            self.questions.ask(
                partial(index_page, record, goal, self.within, today), self._worked_out
            )

    def _worked_out(self, page: IndexPage) -> None:
        self.page = page
        self._tell()

    def _tell(self) -> None:
        found, page = self.found, self.page
        if found is None or page is None:
            return
        self.query_one("#headline", Static).update(_headline(found, page))
        lines = [NOT_THE_CLUBS]
        if found.waiting is not None:
            lines.append(f"{found.waiting.info.day}: {WAITS}")
        self.query_one("#progress", Static).update("\n".join(lines))
        self.show()

    def items(self) -> list[Item]:
        page = self.page
        if page is None or self.found is None:
            return []
        rows = [
            Item(
                "goal",
                "Goal",
                index_text(self.goal) or "none yet",
                "the index that you want",
                ask=AskItem(
                    "The index that you want", index_text(self.goal), self._take, bad_index
                ),
            )
        ]
        if self.goal is not None and page.scores:
            rows += self._to_the_goal(page)
        if page.scores:
            rows.append(Item("", f"Rounds that it is worked out from: {len(page.scores[-20:])}"))
        for at, one in enumerate(reversed(page.scores[-20:])):
            said = ", ".join(["counts"] * one.counts + ["drops out with the next one"] * one.drops)
            rows.append(
                Item(f"score-{at}", f"{one.day}  {said}".rstrip(), str(one.differential), off=True)
            )
        rows.append(Item("", "How it is worked out"))
        rows.append(
            Item(
                "association",
                "Your association",
                "open",
                "what the Rules leave to it: few scores, par, allowance",
                act=lambda: self.drillrunner.open(doors.Association()),
            )
        )
        return rows

    def _to_the_goal(self, page: IndexPage) -> list[Item]:
        assert self.found is not None
        assert self.goal is not None
        known = bool(page.chance)
        there = page.index is not None and page.index <= self.goal
        needed = "none can" if page.needed is None else f"{page.needed} or less"
        needed = ANY if page.needed == HIGHEST else needed
        rows = [
            Item(
                "needed",
                "With the next round",
                needed if known else "…",
                "the highest differential that brings your index to the goal",
                off=True,
            )
        ]
        if self.tees:
            course, tee = self.tees[self.at]
            today = self.drillrunner.clock().date()
            gross = highest_gross(self.found.record, self.goal, course, tee, today)
            rows.append(
                Item(
                    "gross",
                    f"A score on {course.title}, {tee.name}",
                    ANY
                    if gross == MOST_GROSS
                    else "none can"
                    if gross is None
                    else f"{gross} or less",
                    "no hole over net double bogey",
                    turn=self._turn_tee,
                )
            )
        rows.append(
            Item(
                "within",
                f"Chance to be there within {numbered(self.within, 'round')}",
                page.within(len(page.chance)) if known else "…",
                "you are there now" if there else "rolled 4,000 times from your own rounds",
                turn=self._turn_within,
            )
        )
        return rows

    def _take(self, said: str) -> None:
        def take(store: Store) -> None:
            player = self.drillrunner.player
            if player is not None:
                store.intents.set_goal(player.id, index_of(said), self.by)
                self.read(store)
                self.say("kept")

        self.drillrunner.records.with_store(take)

    def _turn_tee(self, by: int) -> None:
        self.at = (self.at + by) % len(self.tees)
        self.show()

    def _turn_within(self, by: int) -> None:
        self.within = turned(WITHIN, self.within, by)
        self._work_out()

    def action_rounds(self) -> None:
        """Your rounds on the course."""
        self.drillrunner.open(doors.Rounds())


def _headline(found: PlayerRounds, page: IndexPage) -> str:
    if page.index is None:
        typed = "" if found.typed is None else f"; typed: {index_text(found.typed)}"
        missing = numbered(max(found.record.options.fewest - len(page.scores), 1), "more round")
        return f"No index yet: {missing} that count{typed}"
    low = "" if page.low is None else f"  lowest of the year {index_text(page.low)}"
    return f"Index {index_text(page.index)}{low}"
