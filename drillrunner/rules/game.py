"""What a game is: a pure state machine over shots."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping, Sequence
from decimal import Decimal
from typing import Any, ClassVar, Generic, TypeVar

from drillrunner.rules.outcome import Asks, Outcome
from drillrunner.rules.score import Better, Score
from drillrunner.rules.settings import Settings
from drillrunner.rules.shot import Aim, Direction, Shot
from drillrunner.rules.station import Ask, Station
from drillrunner.rules.units import Unit

SettingsT = TypeVar("SettingsT", bound=Settings)
StateT = TypeVar("StateT", bound=Hashable)


class Game(ABC, Generic[SettingsT, StateT]):
    """A set of rules. Subclass it, name the class attributes, and write the six methods.

    The promise, for every state and every counted ball: `score(after(s, ball)) >= score(s)`, and
    the new state was never reached before in the run. Only a game where lower is better may end
    with the score `None`.

    asks: what a station asks unless it says otherwise; also_asks: what it may say instead.
    several: whether a drill has several stations; otherwise it has one. fewest: how few several
    may be.
    """

    id: ClassVar[str]
    title: ClassVar[str]
    summary: ClassVar[str]
    asks: ClassVar[Asks]
    also_asks: ClassVar[tuple[Asks, ...]] = ()
    better: ClassVar[Better]
    several: ClassVar[bool] = False
    fewest: ClassVar[int] = 2
    Settings: ClassVar[type[Settings]] = Settings

    settings: SettingsT

    def __init__(
        self,
        settings: SettingsT,
        aim: Aim,
        grid: Decimal = Decimal(1),
        unit: Unit = "yd",
        stations: Sequence[Station] = (),
    ) -> None:
        """aim, grid: of the only station, where no `stations` are given."""
        self.settings = settings
        self.unit = unit
        self.stations = tuple(stations) or (Station(aim, self.asks, grid),)
        self.aim = self.stations[0].aim
        self.grid = self.stations[0].grid
        self._asked: list[tuple[Station, Ask]] = []

    def station(self, state: StateT) -> Station:
        """What the next ball is asked to do; never called on a state that is over.

        A function of the state alone. The drill's only station unless a game overrides it: to
        take them in an order of its own, or to derive one (`self.stations[0].aimed(width=...)`).
        """
        return self.stations[0]

    @property
    def moves(self) -> bool:
        """Whether what is asked may be another from one ball to the next."""
        return type(self).station is not Game.station

    @property
    def direction(self) -> Direction:
        """The direction that a signed number speaks of; overridden, it is that of every station."""
        return self.stations[0].direction

    @property
    def lost_counts(self) -> Decimal | None:
        """What a lost ball counts; `None` where the game can't count one."""
        return None

    @property
    def inner(self) -> Decimal | None:
        """How far a band within the aim's width reaches to either side; `None` without one.

        The picture draws it; what a ball there is worth is the game's own.
        """
        return None

    @property
    def endless(self) -> bool:
        """Whether the settings allow a run that never ends by itself."""
        return False

    def faults(self) -> Mapping[str, str]:
        """What is wrong with these settings and this aim together: field to reason.

        Of several stations the fields are `stations.0.aim.carry` and so on.
        """
        many = len(self.stations) > 1
        return {
            f"stations.{at}.{field}" if many else field: reason
            for at, station in enumerate(self.stations)
            for field, reason in station.faults()
        }

    @abstractmethod
    def start(self) -> StateT:
        """The state before the first ball."""

    @abstractmethod
    def after(self, state: StateT, shot: Shot) -> StateT:
        """The state after one more counted ball. Never called on a state that is over."""

    def goes_by(self, ask: Ask, shot: Shot) -> Hashable:
        """What of a shot the game goes by: of two alike in it all makes the same.

        The whole shot, unless a game says otherwise: where there are many answers and few meanings
        that spares the odds most of their work.
        """
        return shot

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

    def asked(self, state: StateT) -> Ask:
        """What keypad, picture, journal and odds need to know of the next ball."""
        return self.asked_at(self.station(state))

    def asked_at(self, station: Station) -> Ask:
        """What this game asks at a station; of one of its own it is put together once."""
        for known, ask in self._asked:
            if known is station:
                return ask
        own = type(self).direction is not Game.direction
        asked = Ask(
            station.asks,
            station.aim,
            station.grid,
            self.unit,
            self.direction if own else station.direction,
            self.lost_counts,
            station.club,
            station.swing,
            station.title,
            self.inner,
        )
        if any(station is one for one in self.stations):
            self._asked.append((station, asked))
        return asked

    @property
    def ask(self) -> Ask:
        """What is asked of the first ball."""
        return self.asked(self.start())

    def outcomes(self) -> tuple[Outcome, ...]:
        """Every shot that the first ball can be answered with."""
        return self.ask.outcomes()


AnyGame = Game[Any, Any]
