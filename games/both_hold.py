"""Two balls that belong together: a pair counts if both hold."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, Settings, Shot, Station


class BothHoldSettings(Settings):
    """pairs: how many are played, two balls each."""

    pairs: int = Field(6, ge=1, le=50)


@dataclass(frozen=True)
class BothHoldState:
    """Balls played, pairs of which both held, and whether the first ball of a pair has held."""

    balls: int = 0
    both: int = 0
    first: bool = False


class BothHold(Game[BothHoldSettings, BothHoldState]):
    """Score: pairs of which both balls held."""

    id = "both_hold"
    title = "Both must hold"
    summary = "One ball at each of two targets, in turn; a pair counts one if both balls hold."
    asks = "verdict"
    better = "higher"
    several = True
    Settings = BothHoldSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if len(self.stations) > 2:
            wrong["stations"] = f"expected at most two of them, not {len(self.stations)}"
        return wrong

    def station(self, state: BothHoldState) -> Station:
        return self.stations[min(state.balls % 2, len(self.stations) - 1)]

    def start(self) -> BothHoldState:
        return BothHoldState()

    def after(self, state: BothHoldState, shot: Shot) -> BothHoldState:
        held = self.station(state).aim.holds(shot)
        if state.balls % 2 == 0:
            return BothHoldState(state.balls + 1, state.both, held)
        return BothHoldState(state.balls + 1, state.both + (state.first and held))

    def over(self, state: BothHoldState) -> bool:
        return state.balls == 2 * self.settings.pairs

    def score(self, state: BothHoldState) -> int:
        return state.both

    def ended(self, state: BothHoldState) -> str | None:
        return "all pairs played" if self.over(state) else None

    def readout(self, state: BothHoldState) -> dict[str, Decimal | int | str]:
        ball = "first of two"
        if state.balls % 2 == 1:
            ball = f"second, first {'held' if state.first else 'missed'}"
        return {
            "pairs held": state.both,
            "ball": ball,
            "balls left": 2 * self.settings.pairs - state.balls,
        }
