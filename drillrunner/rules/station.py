"""A station: what the next ball is asked to do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from drillrunner.rules.outcome import Asks, Outcome, outcomes
from drillrunner.rules.shot import Aim, Direction
from drillrunner.rules.units import Unit


@dataclass(frozen=True, slots=True)
class Station:
    """Club, swing, aim, what is asked, and the step on which a number is read.

    Distances are in the drill's unit. title: what the station is called, if it needs a name.
    """

    aim: Aim
    asks: Asks
    grid: Decimal = Decimal(1)
    club: str = ""
    swing: str = "full"
    title: str = ""

    @property
    def direction(self) -> Direction:
        """The direction that a signed number speaks of, as the aim has it."""
        if self.asks == "carry" or self.aim.judged == ("depth",):
            return "depth"
        return "lateral"

    def aimed(self, **changed: Decimal | None) -> Station:
        """This station with the aim's `carry`, `width` or `depth` changed."""
        return replace(self, aim=self.aim.model_copy(update=changed))

    def faults(self) -> Iterator[tuple[str, str]]:
        """What the aim lacks for what is asked: field and reason."""
        if self.asks == "verdict" and not self.aim.judged:
            yield "aim", "expected a width, a depth or both: this game asks in or out"
        if self.asks == "carry" and self.aim.carry is None:
            yield "aim.carry", "expected a carry: this game asks how far the ball flew"


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked of the player, all that keypad and picture need to know: a station in a game.

    direction: the one that a signed number speaks of. lost_counts: what a lost ball counts;
    `None` where it is refused.
    """

    asks: Asks
    aim: Aim
    grid: Decimal
    unit: Unit = "yd"
    direction: Direction = "lateral"
    lost_counts: Decimal | None = None
    club: str = ""
    swing: str = "full"
    title: str = ""

    def outcomes(self) -> tuple[Outcome, ...]:
        """Every shot that it can be answered with."""
        return outcomes(self.asks, self.aim, self.grid, self.direction)

    def in_line_with(self, other: Ask) -> bool:
        """Whether misses of both lie on one line: same club, swing, number and direction."""
        return (self.club, self.swing, self.aim.carry, self.direction, self.asks) == (
            other.club,
            other.swing,
            other.aim.carry,
            other.direction,
            other.asks,
        )
