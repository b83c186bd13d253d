"""A ladder of numbers, climbed rung by rung."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Ask, Distance, Field, Game, Settings, Shot, Station


class LadderSettings(Settings):
    """tolerance: how far off its number a ball still climbs. limit: balls."""

    tolerance: Distance = Decimal(3)
    limit: int = Field(30, ge=2, le=200)


@dataclass(frozen=True)
class LadderState:
    """Balls used, and rungs climbed."""

    balls: int = 0
    climbed: int = 0


class Ladder(Game[LadderSettings, LadderState]):
    """Score: balls up to and including the one that climbs the last rung; none if none does."""

    id = "ladder"
    title = "Ladder of numbers"
    summary = "Carry one number after another, in order, in as few balls as you can."
    asks = "carry"
    better = "lower"
    several = True
    Settings = LadderSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if self.settings.limit < len(self.stations):
            wrong["limit"] = f"expected at least a ball for each rung, {len(self.stations)}"
        return wrong

    def station(self, state: LadderState) -> Station:
        return self.stations[min(state.climbed, len(self.stations) - 1)]

    def start(self) -> LadderState:
        return LadderState()

    def after(self, state: LadderState, shot: Shot) -> LadderState:
        climbs = self._climbs(self.station(state), shot)
        return LadderState(state.balls + 1, state.climbed + climbs)

    def goes_by(self, ask: Ask, shot: Shot) -> bool:
        return self._climbs(ask, shot)

    def over(self, state: LadderState) -> bool:
        return self.ended(state) is not None

    def score(self, state: LadderState) -> int | None:
        return None if self.ended(state) == "out of balls" else state.balls

    def ended(self, state: LadderState) -> str | None:
        if state.climbed == len(self.stations):
            return "all rungs climbed"
        return "out of balls" if state.balls == self.settings.limit else None

    def readout(self, state: LadderState) -> dict[str, Decimal | int | str]:
        return {
            "carry": self.station(state).aim.carry or Decimal(0),
            "climbed": f"{state.climbed} of {len(self.stations)}",
            "balls": state.balls,
            "balls left": self.settings.limit - state.balls,
        }

    def _climbs(self, due: Station | Ask, shot: Shot) -> bool:
        if shot.carry is None or due.aim.carry is None:
            return False
        reach = self.settings.tolerance + due.grid / 2
        return due.aim.carry - reach <= shot.carry < due.aim.carry + reach
