"""How few balls until one carries the exact number."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Ask, Distance, Field, Game, Settings, Shot


class OnTheNumberSettings(Settings):
    """tolerance: how far off still counts; 0 is the whole step of the number. limit: balls."""

    tolerance: Distance = Decimal(0)
    limit: int = Field(20, ge=1, le=200)


@dataclass(frozen=True)
class OnTheNumberState:
    """Balls used, and whether the last one hit the number."""

    balls: int = 0
    hit: bool = False


class OnTheNumber(Game[OnTheNumberSettings, OnTheNumberState]):
    """Score: balls up to and including the one on the number; none if it was never hit."""

    id = "on_the_number"
    title = "On the number"
    summary = "Carry the exact number in as few balls as you can."
    asks = "carry"
    better = "lower"
    Settings = OnTheNumberSettings

    def start(self) -> OnTheNumberState:
        return OnTheNumberState()

    def after(self, state: OnTheNumberState, shot: Shot) -> OnTheNumberState:
        return OnTheNumberState(state.balls + 1, self._hits(shot))

    def goes_by(self, ask: Ask, shot: Shot) -> bool:
        return self._hits(shot)

    def over(self, state: OnTheNumberState) -> bool:
        return state.hit or state.balls == self.settings.limit

    def score(self, state: OnTheNumberState) -> int | None:
        return None if self.over(state) and not state.hit else state.balls

    def ended(self, state: OnTheNumberState) -> str | None:
        if state.hit:
            return "on the number"
        return "out of balls" if self.over(state) else None

    def readout(self, state: OnTheNumberState) -> dict[str, Decimal | int | str]:
        return {
            "balls": state.balls,
            "balls left": self.settings.limit - state.balls,
            "number": self.aim.carry or "",
        }

    def _hits(self, shot: Shot) -> bool:
        if shot.carry is None or self.aim.carry is None:
            return False
        reach = self.settings.tolerance + self.grid / 2
        return self.aim.carry - reach <= shot.carry < self.aim.carry + reach
