"""How many balls until a number of them in a row have held the aim."""

from dataclasses import dataclass

from drillrunner.rules import Field, Game, Settings, Shot


class InARowSettings(Settings):
    """length: balls that must hold one after another. limit: balls.

    within: strokes to hole out that still hold, where strokes are asked; one unless said.
    """

    length: int = Field(3, ge=1, le=20)
    limit: int = Field(40, ge=1, le=200)
    within: int | None = Field(None, ge=1, le=8)


@dataclass(frozen=True)
class InARowState:
    """Balls used, and how many of the latest have held in a row."""

    balls: int = 0
    held: int = 0


class InARow(Game[InARowSettings, InARowState]):
    """Score: balls up to and including the one that completes the row; none if none does."""

    id = "in_a_row"
    title = "So many in a row"
    summary = "Hold the aim a number of times in a row in as few balls as you can."
    asks = "verdict"
    also_asks = ("strokes",)
    better = "lower"
    Settings = InARowSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if self.settings.limit < self.settings.length:
            wrong["limit"] = f"expected at least the length of the row, {self.settings.length}"
        if self.settings.within is not None and self.stations[0].asks != "strokes":
            wrong["within"] = 'expected asks = "strokes" beside it'
        return wrong

    def start(self) -> InARowState:
        return InARowState()

    def after(self, state: InARowState, shot: Shot) -> InARowState:
        return InARowState(
            state.balls + 1,
            state.held + 1 if self.aim.holds(shot, self.settings.within or 1) else 0,
        )

    def over(self, state: InARowState) -> bool:
        return self.ended(state) is not None

    def score(self, state: InARowState) -> int | None:
        return None if self.ended(state) == "out of balls" else state.balls

    def ended(self, state: InARowState) -> str | None:
        if state.held == self.settings.length:
            return f"{self.settings.length} in a row"
        return "out of balls" if state.balls == self.settings.limit else None

    def readout(self, state: InARowState) -> dict[str, int | str]:
        return {
            "in a row": state.held,
            "wanted": self.settings.length,
            "balls": state.balls,
            "balls left": self.settings.limit - state.balls,
        }
