"""Hole out from one place after another, every stroke counted."""

from dataclasses import dataclass

from drillrunner.rules import Field, Game, Settings, Shot, Station


class HoleOutSettings(Settings):
    """times: how often the stations are gone round."""

    times: int = Field(1, ge=1, le=20)


@dataclass(frozen=True)
class HoleOutState:
    """Balls holed out, and strokes they took."""

    holed: int = 0
    strokes: int = 0


class HoleOut(Game[HoleOutSettings, HoleOutState]):
    """Score: the strokes of all the balls together."""

    id = "hole_out"
    title = "Hole out"
    summary = "Hole out from every station in turn; the strokes add up."
    asks = "strokes"
    better = "lower"
    several = True
    Settings = HoleOutSettings

    def station(self, state: HoleOutState) -> Station:
        return self.stations[state.holed % len(self.stations)]

    def start(self) -> HoleOutState:
        return HoleOutState()

    def after(self, state: HoleOutState, shot: Shot) -> HoleOutState:
        return HoleOutState(state.holed + 1, state.strokes + (shot.strokes or 0))

    def over(self, state: HoleOutState) -> bool:
        return state.holed == self._balls

    def score(self, state: HoleOutState) -> int:
        return state.strokes

    def ended(self, state: HoleOutState) -> str | None:
        return "all holed out" if self.over(state) else None

    def readout(self, state: HoleOutState) -> dict[str, int | str]:
        return {
            "strokes": state.strokes,
            "holed out": f"{state.holed} of {self._balls}",
            "balls left": self._balls - state.holed,
        }

    @property
    def _balls(self) -> int:
        return len(self.stations) * self.settings.times
