"""A set number of balls, and the sum of how far each one missed."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from drillrunner.rules import Ask, Direction, Field, Game, PositiveDistance, Settings, Shot, spoken


class MissTotalSettings(Settings):
    """balls: how many count. axis: the direction of the miss. cap: the most one ball can count.

    A lost ball counts the cap; without a cap it is refused.
    """

    balls: int = Field(10, ge=1, le=100)
    axis: Literal["lateral", "depth"] = "lateral"
    cap: PositiveDistance | None = None


@dataclass(frozen=True)
class MissTotalState:
    """Balls played, and the sum of the absolute misses in the drill's unit."""

    balls: int = 0
    total: Decimal = Decimal(0)


class MissTotal(Game[MissTotalSettings, MissTotalState]):
    """Score: the sum of the absolute misses."""

    id = "miss_total"
    title = "Total of the misses"
    summary = "Add up how far each ball missed; the smaller the total, the better."
    asks = "miss"
    better = "lower"
    Settings = MissTotalSettings

    @property
    def direction(self) -> Direction:
        return self.settings.axis

    @property
    def lost_counts(self) -> Decimal | None:
        return self.settings.cap

    def start(self) -> MissTotalState:
        return MissTotalState()

    def after(self, state: MissTotalState, shot: Shot) -> MissTotalState:
        return MissTotalState(state.balls + 1, state.total + self._counts(shot))

    def goes_by(self, ask: Ask, shot: Shot) -> Decimal:
        return self._counts(shot)

    def _counts(self, shot: Shot) -> Decimal:
        miss, cap = shot.miss(self.direction), self.settings.cap
        if miss is None:
            return cap or Decimal(0)
        return miss if cap is None else min(miss, cap)

    def over(self, state: MissTotalState) -> bool:
        return state.balls == self.settings.balls

    def score(self, state: MissTotalState) -> Decimal:
        return state.total

    def ended(self, state: MissTotalState) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: MissTotalState) -> dict[str, Decimal | int | str]:
        return {
            f"{spoken(self.unit)} so far": state.total,
            "balls": state.balls,
            "balls left": self.settings.balls - state.balls,
        }
