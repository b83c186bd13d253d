"""What a game is: a pure state machine over shots."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar, Generic, Literal, TypeVar

from pydantic import BaseModel, ConfigDict
from pydantic import Field as Field

from drillrunner.rules.outcome import Asks, Outcome, outcomes
from drillrunner.rules.shot import Aim, Direction, Shot
from drillrunner.rules.units import Unit

Better = Literal["higher", "lower"]
Score = Decimal | int | None
"""A game's number; `None` is a run that ended without one, which beats nothing."""


class Settings(BaseModel):
    """Base of a game's settings. Wrong values are refused by name; instances are immutable."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


SettingsT = TypeVar("SettingsT", bound=Settings)
StateT = TypeVar("StateT", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Ask:
    """What is asked of the player, all that the keypad needs to know.

    direction: the one that a signed number speaks of. lost_counts: what a lost ball counts;
    `None` where it is refused.
    """

    asks: Asks
    aim: Aim
    grid: Decimal
    unit: Unit = "yd"
    direction: Direction = "lateral"
    lost_counts: Decimal | None = None


class Game(ABC, Generic[SettingsT, StateT]):
    """A set of rules. Subclass it, name the class attributes, and write the six methods.

    The promise, for every state and every counted ball: `score(after(s, ball)) >= score(s)`, and
    the new state was never reached before in the run. Only a game where lower is better may end
    with the score `None`.
    """

    id: ClassVar[str]
    title: ClassVar[str]
    summary: ClassVar[str]
    asks: ClassVar[Asks]
    better: ClassVar[Better]
    Settings: ClassVar[type[Settings]] = Settings

    settings: SettingsT

    def __init__(
        self, settings: SettingsT, aim: Aim, grid: Decimal = Decimal(1), unit: Unit = "yd"
    ) -> None:
        self.settings = settings
        self.aim = aim
        self.grid = grid
        self.unit = unit

    @property
    def direction(self) -> Direction:
        """The direction that a signed number speaks of."""
        if self.asks == "carry" or self.aim.judged == ("depth",):
            return "depth"
        return "lateral"

    @property
    def lost_counts(self) -> Decimal | None:
        """What a lost ball counts; `None` where the game can't count one."""
        return None

    @property
    def endless(self) -> bool:
        """Whether the settings allow a run that never ends by itself."""
        return False

    def faults(self) -> Mapping[str, str]:
        """What is wrong with these settings and this aim together: field to reason."""
        if self.asks == "verdict" and not self.aim.judged:
            return {"aim": "expected a width, a depth or both: this game asks in or out"}
        if self.asks == "carry" and self.aim.carry is None:
            return {"aim.carry": "expected a carry: this game asks how far the ball flew"}
        return {}

    @abstractmethod
    def start(self) -> StateT:
        """The state before the first ball."""

    @abstractmethod
    def after(self, state: StateT, shot: Shot) -> StateT:
        """The state after one more counted ball. Never called on a state that is over."""

    @abstractmethod
    def over(self, state: StateT) -> bool:
        """Whether the game has ended."""

    @abstractmethod
    def score(self, state: StateT) -> Score:
        """The running score, and the final one once over."""

    @abstractmethod
    def ended(self, state: StateT) -> str | None:
        """Why the game ended, in words; `None` while it goes on."""

    @abstractmethod
    def readout(self, state: StateT) -> Mapping[str, Decimal | int | str]:
        """Labelled values for the screen, the one that matters first. Never empty."""

    @property
    def ask(self) -> Ask:
        """What the keypad needs to know."""
        return Ask(self.asks, self.aim, self.grid, self.unit, self.direction, self.lost_counts)

    def outcomes(self) -> tuple[Outcome, ...]:
        """Every shot that this game can be answered with."""
        return outcomes(self.asks, self.aim, self.grid, self.direction)


AnyGame = Game[Any, Any]


def beats(better: Better, score: Score, other: Score) -> bool:
    """Whether a finished score is strictly better than another; `None` beats nothing."""
    if score is None:
        return False
    if other is None:
        return True
    return score > other if better == "higher" else score < other
