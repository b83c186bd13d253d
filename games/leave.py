"""Putt close from far away: what is left, added up."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, GreenDistance, Settings, Shot, Station


class LeaveSettings(Settings):
    """times: how often the stations are gone round. cap: the most that one putt counts."""

    times: int = Field(1, ge=1, le=20)
    cap: GreenDistance = Decimal(12)


@dataclass(frozen=True)
class LeaveState:
    """Putts, and what they left."""

    putts: int = 0
    left: Decimal = Decimal(0)


class Leave(Game[LeaveSettings, LeaveState]):
    """Score: what every putt left to the hole, added up; holed leaves nothing."""

    id = "leave"
    title = "Leave it close"
    summary = "One putt from every station in turn; what it leaves adds up."
    asks = "leave"
    better = "lower"
    several = True
    Settings = LeaveSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if not self.settings.cap:
            wrong["cap"] = "expected more than 0, or every putt counts alike"
        return wrong

    def station(self, state: LeaveState) -> Station:
        return self.stations[state.putts % len(self.stations)]

    def start(self) -> LeaveState:
        return LeaveState()

    def after(self, state: LeaveState, shot: Shot) -> LeaveState:
        left = min(shot.leave or Decimal(0), self.settings.cap)
        return LeaveState(state.putts + 1, state.left + left)

    def over(self, state: LeaveState) -> bool:
        return state.putts == self._balls

    def score(self, state: LeaveState) -> Decimal:
        return state.left

    def ended(self, state: LeaveState) -> str | None:
        return "all putted" if self.over(state) else None

    def readout(self, state: LeaveState) -> dict[str, Decimal | int | str]:
        return {
            "left so far": state.left,
            "putts": f"{state.putts} of {self._balls}",
            "putts left": self._balls - state.putts,
        }

    @property
    def _balls(self) -> int:
        return len(self.stations) * self.settings.times
