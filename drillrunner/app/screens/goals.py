"""Goals: an index and scores by a day, how far each is, and the one thing that is worked on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.app.dialog import Choice, Question
from drillrunner.app.fields import (
    bad_day,
    bad_index,
    bad_score,
    bad_thought,
    day_typed,
    index_of,
    score_of,
)
from drillrunner.app.screens.form import AskItem, FormScreen, Item

if TYPE_CHECKING:
    from drillrunner.services.goals import GoalStanding
    from drillrunner.store.shapes import ThoughtInfo
    from drillrunner.store.store import Store

EARLIER = 5
"""Thoughts of before that are shown."""
INDEX = "index"
OTHER = "other"


class GoalsScreen(FormScreen):
    """drill: the id of one on which a score can be set at once; a goal there or not."""

    topic = "goals"
    turns = False
    TITLE = "Goals"

    def __init__(self, drill: str | None = None) -> None:
        super().__init__()
        self.drill = drill
        self.goals: tuple[GoalStanding, ...] = ()
        self.thoughts: tuple[ThoughtInfo, ...] = ()

    @property
    def _today(self) -> date:
        return self.drillrunner.clock().date()

    def read(self, store: Store) -> None:
        from drillrunner.services.goals import goal_standings

        player = self.drillrunner.player
        if player is not None:
            self.goals = goal_standings(store, player, self.drillrunner.drills.catalogue)
            self.thoughts = store.intents.thoughts(player.id, EARLIER + 1)
            self.show()

    def items(self) -> list[Item]:
        return [Item("", "Goals"), *self._goals(), Item("", "One thing"), *self._thought()]

    def _goals(self) -> Iterator[Item]:
        known = {goal.drill: goal for goal in self.goals}
        yield from self._goal(None, known.get(None))
        for goal in self.goals:
            if goal.drill is not None:
                yield from self._goal(goal.drill, goal)
        if self.drill is not None and self.drill not in known:
            yield from self._goal(self.drill, None)
        yield Item(OTHER, "A score on another drill", act=self._choose_drill)

    def _goal(self, drill: str | None, goal: GoalStanding | None) -> Iterator[Item]:
        """The row of a goal, and of its day once it is set."""
        id = INDEX if drill is None else f"drill:{drill}"
        title = "Index" if drill is None else self._title(drill)
        value = "" if goal is None else goal.said(goal.value)
        about = "the handicap index that you want" if drill is None else "the score that you want"
        far = about if goal is None else goal.distance
        yield Item(id, title, value or "none yet", far, ask=self._value(drill, value), narrow=far)
        if goal is not None:
            by = "" if goal.by is None else goal.by.isoformat()
            yield Item(
                f"{id}:by",
                "  by",
                goal.day(self._today).removeprefix("by ") or "no day",
                ask=AskItem(
                    f"{title} {value}: by which day?",
                    by,
                    lambda typed: self._keep(
                        drill, goal.value, day_typed(typed, self._today) if typed.strip() else None
                    ),
                    self._bad_day,
                    "as 1.9. for 1 September, or 2026-09-01; nothing for no day",
                ),
            )

    def _title(self, drill: str) -> str:
        try:
            return self.drillrunner.drills.catalogue.drill(drill).title
        except KeyError:
            return drill

    def _value(self, drill: str | None, now: str) -> AskItem:
        """The question of the value of a goal; nothing takes it back."""
        if drill is None:
            return AskItem(
                "The index that you want",
                now,
                self._taking(None, index_of),
                bad_index,
                "as 18.4; nothing takes it back",
            )
        return AskItem(
            f"{self._title(drill)}: the score that you want",
            now,
            self._taking(drill, lambda text: score_of(text) if text.strip() else None),
            lambda text: bad_score(text) if text.strip() else None,
            "nothing takes it back",
        )

    def _taking(
        self, drill: str | None, read: Callable[[str], Decimal | None]
    ) -> Callable[[str], None]:
        def take(typed: str) -> None:
            was = next((goal.by for goal in self.goals if goal.drill == drill), None)
            self._keep(drill, read(typed), was)

        return take

    def _bad_day(self, typed: str) -> str | None:
        wrong = bad_day(typed, self._today)
        if wrong is None and typed.strip() and day_typed(typed, self._today) < self._today:
            return f"{typed.strip()}: the day is past"
        return wrong

    def _keep(self, drill: str | None, value: Decimal | None, by: date | None) -> None:
        def keep(store: Store) -> None:
            player = self.drillrunner.player
            if player is not None:
                store.intents.set_goal(player.id, value, None if value is None else by, drill)
                self.read(store)
                self.say("taken back" if value is None else "kept")

        self.drillrunner.records.with_store(keep)

    def _choose_drill(self) -> None:
        """Ask on which drill a score is wanted, and which."""

        def answered(choice: str | None) -> None:
            if choice is not None:
                ask = self._value(choice, "")
                self.app.push_screen(
                    Question(ask.title, ask.about, "", ask.check),
                    lambda typed: ask.take(typed) if typed else None,
                )

        drills = self.drillrunner.drills.catalogue.drills
        rows = [(drill.id, drill.title, drill.about) for drill in drills]
        self.app.push_screen(Choice("A score on which drill?", rows), answered)

    def _thought(self) -> Iterator[Item]:
        now = self.thoughts[0] if self.thoughts else None
        words = "" if now is None else now.words or ""
        since = f"since {now.at:%Y-%m-%d}" if now is not None and words else ""
        yield Item(
            "thought",
            words or "What you work on: nothing yet",
            since,
            "a session gives it a block of its own; in your words or your coach's",
            ask=AskItem(
                "The one thing that you work on",
                words,
                self._think,
                bad_thought,
                "in your words or your coach's; nothing takes it back",
            ),
        )
        for at, one in enumerate(self.thoughts[1:]):
            if one.words is not None:
                yield Item(f"before-{at}", f"  {one.words}", f"from {one.at:%Y-%m-%d}", off=True)

    def _think(self, typed: str) -> None:
        def keep(store: Store) -> None:
            player = self.drillrunner.player
            if player is not None:
                store.intents.set_thought(player.id, typed)
                self.read(store)
                self.say("kept" if typed.strip() else "taken back")

        self.drillrunner.records.with_store(keep)
