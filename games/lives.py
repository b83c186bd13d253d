"""Hold the aim as often as you can before your lives are gone."""

from dataclasses import dataclass

from drillrunner.rules import Field, Game, Settings, Shot


class LivesSettings(Settings):
    """lives: misses until the end. balls: the most balls, if the bucket is small.

    within: strokes to hole out that still hold, where strokes are asked; one unless said.
    """

    lives: int = Field(3, ge=1, le=9)
    balls: int | None = Field(None, ge=1, le=500)
    within: int | None = Field(None, ge=1, le=8)


@dataclass(frozen=True)
class LivesState:
    """Lives left, and balls that held."""

    lives: int
    held: int = 0


class Lives(Game[LivesSettings, LivesState]):
    """Score: balls that held before the lives are gone."""

    id = "lives"
    title = "Lives on an aim"
    summary = "Every ball that holds scores one; every miss costs a life."
    asks = "verdict"
    also_asks = ("strokes",)
    better = "higher"
    Settings = LivesSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if self.settings.within is not None and self.stations[0].asks != "strokes":
            wrong["within"] = 'expected asks = "strokes" beside it'
        return wrong

    @property
    def endless(self) -> bool:
        return self.settings.balls is None

    def start(self) -> LivesState:
        return LivesState(self.settings.lives)

    def after(self, state: LivesState, shot: Shot) -> LivesState:
        if self.aim.holds(shot, self.settings.within or 1):
            return LivesState(state.lives, state.held + 1)
        return LivesState(state.lives - 1, state.held)

    def over(self, state: LivesState) -> bool:
        return self.ended(state) is not None

    def score(self, state: LivesState) -> int:
        return state.held

    def ended(self, state: LivesState) -> str | None:
        if state.lives == 0:
            return "out of lives"
        return "out of balls" if self._used(state) == self.settings.balls else None

    def readout(self, state: LivesState) -> dict[str, int | str]:
        values: dict[str, int | str] = {
            "held": state.held,
            "lives left": state.lives,
            "balls": self._used(state),
        }
        if self.settings.balls is not None:
            values["balls left"] = self.settings.balls - self._used(state)
        return values

    def _used(self, state: LivesState) -> int:
        return state.held + self.settings.lives - state.lives
