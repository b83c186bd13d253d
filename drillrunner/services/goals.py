"""A player's goals, and how far each still is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.carries import stock
from drillrunner.practice.rounds.words import index_text
from drillrunner.practice.sessions.plan import as_played
from drillrunner.rules.score import Better, beats
from drillrunner.rules.units import numbered, text
from drillrunner.services.rounds import current_index
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store


@dataclass(frozen=True)
class GoalStanding:
    """A goal and where the player stands. now: the index, or the best on the drill as written.

    fingerprint: of that drill.
    """

    kind: str
    drill: str | None
    title: str
    value: Decimal
    by: date | None
    now: Decimal | None
    better: Better
    fingerprint: str | None = None

    @property
    def reached(self) -> bool:
        """Whether it is met."""
        return self.now is not None and not beats(self.better, self.value, self.now)

    def said(self, value: Decimal) -> str:
        """An index or a score as it is written."""
        return index_text(value) if self.drill is None else text(value)

    @property
    def distance(self) -> str:
        """How far it is."""
        if self.now is None:
            return "not known yet where you stand"
        if self.reached:
            return f"reached with {self.said(self.now)}"
        return f"{text(abs(self.now - self.value))} to go from {self.said(self.now)}"

    def day(self, today: date) -> str:
        """The day, and how many are left; empty without one."""
        if self.by is None:
            return ""
        days = (self.by - today).days
        left = "the day is past" if days < 0 else f"{numbered(days, 'day')} left"
        year = "" if self.by.year == today.year else f" {self.by.year}"
        return f"by {self.by.day} {self.by:%B}{year}, {left if days else 'today'}"

    def line(self, today: date | None, named: bool = True) -> str:
        """How far it is, in a line. today: `None` leaves out its day. named: what it is of."""
        what = f"{self.title} {self.said(self.value)}" if named else self.said(self.value)
        day = "" if today is None else self.day(today)
        return "; ".join(filter(None, (f"goal: {what}", self.distance, day)))


def goal_standings(
    store: Store, player: PlayerInfo, catalogue: Catalogue
) -> tuple[GoalStanding, ...]:
    """The goals in force, the index first, then by their day. Raises StoreError."""
    found = []
    known = {drill.id: drill for drill in catalogue.drills}
    stocks = stock.in_force(store.stock_carries(player.id))
    for goal in store.intents.goals(player.id):
        title, now, fingerprint = "index", None, None
        better: Better = "lower"
        if goal.drill is None:
            now = current_index(store, player)
            now = player.index if now is None else now
        else:
            title = goal.drill
            if (written := known.get(goal.drill)) is not None:
                title = written.title
                try:
                    drill = as_played(written, player.unit, stocks)
                    better, fingerprint = drill.game().better, drill.fingerprint
                    best = store.best(player.id, fingerprint)
                    now = None if best is None else best.score
                except ValueError:
                    pass  # its stock carry is not known: nothing was played
        found.append(
            GoalStanding(
                goal.kind, goal.drill, title, goal.value, goal.by, now, better, fingerprint
            )
        )
    return tuple(found)


def nearest(goals: tuple[GoalStanding, ...], today: date) -> GoalStanding | None:
    """The goal whose day comes next, else the first; those that are past come last."""
    return min(
        goals,
        key=lambda goal: (
            goal.reached,
            goal.by is not None and goal.by < today,
            goal.by or date.max,
        ),
        default=None,
    )
