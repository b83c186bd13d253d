"""A ladder of numbers up and back down, one ball at each rung."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Game, PositiveDistance, Settings, Shot, Station, spoken


class UpAndBackSettings(Settings):
    """cap: the most that one ball can count."""

    cap: PositiveDistance = Decimal(20)


@dataclass(frozen=True)
class UpAndBackState:
    """Balls played, and the sum of how far each was short or long."""

    balls: int = 0
    total: Decimal = Decimal(0)


class UpAndBack(Game[UpAndBackSettings, UpAndBackState]):
    """Score: the sum of the misses in depth; the top rung is played once."""

    id = "up_and_back"
    title = "Up the numbers and back"
    summary = "One ball at each number, up the ladder and back down; short and long add up."
    asks = "carry"
    better = "lower"
    several = True
    Settings = UpAndBackSettings

    def station(self, state: UpAndBackState) -> Station:
        top = len(self.stations) - 1
        return self.stations[top - abs(top - min(state.balls, 2 * top))]

    def start(self) -> UpAndBackState:
        return UpAndBackState()

    def after(self, state: UpAndBackState, shot: Shot) -> UpAndBackState:
        wanted, carry = self.station(state).aim.carry, shot.carry
        cap = self.settings.cap
        off = cap if carry is None or wanted is None else min(abs(carry - wanted), cap)
        return UpAndBackState(state.balls + 1, state.total + off)

    def over(self, state: UpAndBackState) -> bool:
        return state.balls == 2 * len(self.stations) - 1

    def score(self, state: UpAndBackState) -> Decimal:
        return state.total

    def ended(self, state: UpAndBackState) -> str | None:
        return "up and back" if self.over(state) else None

    def readout(self, state: UpAndBackState) -> dict[str, Decimal | int | str]:
        return {
            f"{spoken(self.unit)} off": state.total,
            "carry": self.station(state).aim.carry or Decimal(0),
            "balls left": 2 * len(self.stations) - 1 - state.balls,
        }
