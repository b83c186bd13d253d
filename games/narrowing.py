"""A corridor that grows narrower with every ball that it holds."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, PositiveDistance, Settings, Shot, Station, spoken


class NarrowingSettings(Settings):
    """narrower: what each held ball takes off the width, down to `floor`. lives: misses."""

    narrower: PositiveDistance = Decimal(2)
    floor: PositiveDistance = Decimal(10)
    lives: int = Field(3, ge=1, le=9)


@dataclass(frozen=True)
class NarrowingState:
    """Lives left, and balls that held."""

    lives: int
    held: int = 0


class Narrowing(Game[NarrowingSettings, NarrowingState]):
    """Score: balls that held before the lives are gone."""

    id = "narrowing"
    title = "A corridor that narrows"
    summary = "Every ball that holds scores one and narrows the corridor; a miss costs a life."
    asks = "verdict"
    better = "higher"
    Settings = NarrowingSettings

    @property
    def endless(self) -> bool:
        return True

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if self.aim.width is None:
            return {**wrong, "aim.width": "expected a width: this game makes it narrower"}
        if self.settings.floor > self.aim.width:
            wrong["floor"] = f"expected at most the width, {self.aim.width}"
        return wrong

    def station(self, state: NarrowingState) -> Station:
        width = (self.aim.width or Decimal(0)) - state.held * self.settings.narrower
        return self.stations[0].aimed(width=max(width, self.settings.floor))

    def start(self) -> NarrowingState:
        return NarrowingState(self.settings.lives)

    def after(self, state: NarrowingState, shot: Shot) -> NarrowingState:
        if self.station(state).aim.holds(shot):
            return NarrowingState(state.lives, state.held + 1)
        return NarrowingState(state.lives - 1, state.held)

    def over(self, state: NarrowingState) -> bool:
        return state.lives == 0

    def score(self, state: NarrowingState) -> int:
        return state.held

    def ended(self, state: NarrowingState) -> str | None:
        return "out of lives" if self.over(state) else None

    def readout(self, state: NarrowingState) -> dict[str, Decimal | int | str]:
        return {
            "held": state.held,
            f"{spoken(self.unit)} wide": self.station(state).aim.width or Decimal(0),
            "lives left": state.lives,
            "balls": state.held + self.settings.lives - state.lives,
        }
