"""A player's goals, and how far each still is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.carries import stock
from drillrunner.practice.sessions.plan import as_played
from drillrunner.rules.game import Better, beats
from drillrunner.rules.units import text
from drillrunner.services.rounds import current_index
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store


@dataclass(frozen=True)
class GoalStanding:
    """A goal and where the player stands. now: the index, or the best on the drill as written."""

    kind: str
    drill: str | None
    title: str
    value: Decimal
    by: date | None
    now: Decimal | None
    better: Better

    @property
    def reached(self) -> bool:
        """Whether it is met."""
        return self.now is not None and not beats(self.better, self.value, self.now)

    def line(self, today: date) -> str:
        """How far it is, in a line."""
        what = f"goal: {self.title} {text(self.value)}"
        if self.by is not None:
            days = (self.by - today).days
            when = (
                f"{days} days left" if days > 1 else "by today" if days >= 0 else "the day is past"
            )
            what += f" by {self.by:%d %B}, {when}"
        if self.now is None:
            return f"{what}; not known yet where you stand"
        if self.reached:
            return f"{what}: reached with {text(self.now)}"
        return f"{what}; {text(abs(self.now - self.value))} to go from {text(self.now)}"


def standings(store: Store, player: PlayerInfo, catalogue: Catalogue) -> tuple[GoalStanding, ...]:
    """The goals in force, the index first, then by their day. Raises StoreError."""
    found = []
    known = {drill.id: drill for drill in catalogue.drills}
    stocks = stock.in_force(store.stock_carries(player.id))
    for goal in store.intents.goals(player.id):
        title, now = "index", None
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
                    better = drill.game().better
                    best = store.best(player.id, drill.fingerprint)
                    now = None if best is None else best.score
                except ValueError:
                    pass  # its stock carry is not known: nothing was played
        found.append(GoalStanding(goal.kind, goal.drill, title, goal.value, goal.by, now, better))
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
