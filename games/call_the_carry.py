"""Carries that are called off the face, and how far off each call was."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, PositiveDistance, Settings, Shot, Station, spoken


class CallTheCarrySettings(Settings):
    """balls: how many count. cap: the most that one ball can count; no limit unless said."""

    balls: int = Field(10, ge=1, le=60)
    cap: PositiveDistance | None = None


@dataclass(frozen=True)
class CallTheCarryState:
    """Balls played, and the sum of the differences."""

    balls: int = 0
    total: Decimal = Decimal(0)


class CallTheCarry(Game[CallTheCarrySettings, CallTheCarryState]):
    """Score: the sum of the differences between the carries and what was called."""

    id = "call_the_carry"
    title = "Call the carry"
    summary = "Say how far it flew before you look; the nearer your calls, the better."
    asks = "call"
    better = "lower"
    several = True
    fewest = 1
    Settings = CallTheCarrySettings

    def station(self, state: CallTheCarryState) -> Station:
        """The stations in turn, as often as there are balls."""
        return self.stations[state.balls % len(self.stations)]

    def start(self) -> CallTheCarryState:
        return CallTheCarryState()

    def after(self, state: CallTheCarryState, shot: Shot) -> CallTheCarryState:
        off = Decimal(0) if shot.off_call is None else shot.off_call.size or Decimal(0)
        cap = self.settings.cap
        return CallTheCarryState(
            state.balls + 1, state.total + (off if cap is None else min(off, cap))
        )

    def over(self, state: CallTheCarryState) -> bool:
        return state.balls == self.settings.balls

    def score(self, state: CallTheCarryState) -> Decimal:
        return state.total

    def ended(self, state: CallTheCarryState) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: CallTheCarryState) -> dict[str, Decimal | int | str]:
        return {
            f"{spoken(self.unit)} off": state.total,
            "balls": state.balls,
            "balls left": self.settings.balls - state.balls,
        }
