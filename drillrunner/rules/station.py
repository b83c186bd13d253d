"""A station: what the next ball is asked to do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, get_args

from drillrunner.rules.outcome import Asks, Outcome, outcomes
from drillrunner.rules.shot import Aim, Direction, NearLie
from drillrunner.rules.units import Measure, Unit, on_green

HOLING: tuple[Asks, ...] = ("strokes", "leave")
"""What is asked of a ball that is played to the hole from a length and a lie."""
ON_GREEN: tuple[Asks, ...] = ("leave",)
"""What is asked of a putt alone. Our choice: what a chip left is told by the putts it took."""
LONGEST = 100
"""The longest way to the hole that is asked about: feet or metres on the green, else yards."""


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
        if self.asks in ("carry", "call") or self.aim.judged == ("depth",):
            return "depth"
        return "lateral"

    def aimed(self, **changed: Decimal | None) -> Station:
        """This station with the aim's `carry`, `width` or `depth` changed."""
        said: dict[str, Any] = {**changed}
        return replace(self, aim=replace(self.aim, **said))

    def faults(self) -> Iterator[tuple[str, str]]:
        """What the aim lacks for what is asked: field and reason."""
        if self.asks == "verdict" and not self.aim.judged:
            yield "aim", "expected a width, a depth or both: this game asks in or out"
        for name, far in zip(("far_left", "far_right"), self.aim.fars, strict=True):
            edge = self.aim.edge("lateral")
            if far is not None and (edge is None or far <= edge):
                yield f"aim.{name}", "expected more than half the width, from the middle"
        if self.asks == "carry" and self.aim.carry is None:
            yield "aim.carry", "expected a carry: this game asks how far the ball flew"
        if self.asks in HOLING:
            if self.aim.length is None:
                yield "aim.length", "expected a length: this game asks about a ball to the hole"
            elif self.aim.length > LONGEST:
                yield "aim.length", f"expected at most {LONGEST}: no longer one is worked out"
            if self.aim.lie is None:
                yield "aim.lie", f"expected {' or '.join(get_args(NearLie))}, where the ball lies"
        if self.asks in ON_GREEN and self.aim.lie not in (None, "green"):
            yield "aim.lie", "expected green: this game asks what a putt left"


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked of the player, all that keypad and picture need to know: a station in a game.

    direction: the one that a signed number speaks of. lost_counts: what a lost ball counts;
    `None` where it is refused. inner: how far an inner band within the width reaches to either
    side, for the picture; `None` without one.
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
    inner: Decimal | None = None

    @property
    def measure(self) -> Measure:
        """What a typed number is in: the drill's unit, or feet for what a putt left."""
        return on_green(self.unit) if self.asks in ON_GREEN else self.unit

    def outcomes(self) -> tuple[Outcome, ...]:
        """Every shot that it can be answered with."""
        return outcomes(self.asks, self.aim, self.grid, self.direction)

    def in_line_with(self, other: Ask) -> bool:
        """Whether misses of both lie on one line: same club, swing, number and direction.

        Balls to the hole stand side by side, whatever their lengths.
        """
        if self.asks in HOLING:
            return self.asks == other.asks
        return (self.club, self.swing, self.aim.carry, self.direction, self.asks) == (
            other.club,
            other.swing,
            other.aim.carry,
            other.direction,
            other.asks,
        )
