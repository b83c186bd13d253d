"""A set number of balls, and points for each by how near it finished."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, PositiveDistance, Settings, Shot


class BandsSettings(Settings):
    """balls: how many count. inner: width of the inner band; the aim's width is the outer one.

    inner_points, outer_points: what a ball in each is worth. A lost ball is worth none.
    """

    balls: int = Field(10, ge=1, le=100)
    inner: PositiveDistance = Decimal(10)
    inner_points: int = Field(3, ge=1, le=10)
    outer_points: int = Field(1, ge=1, le=10)


@dataclass(frozen=True)
class BandsState:
    """Balls in the inner band, between the two, and outside."""

    inner: int = 0
    outer: int = 0
    outside: int = 0


class Bands(Game[BandsSettings, BandsState]):
    """Score: the points of all balls."""

    id = "bands"
    title = "Points by how near"
    summary = "Most points for a ball in the inner band, some for the outer one, none outside."
    asks = "miss"
    better = "higher"
    Settings = BandsSettings

    @property
    def lost_counts(self) -> Decimal | None:
        return self.aim.width

    @property
    def inner(self) -> Decimal | None:
        return self.settings.inner / 2

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        if self.aim.width is None:
            return {**wrong, "aim.width": "expected a width: it is the outer band"}
        if self.settings.inner >= self.aim.width:
            wrong["inner"] = f"expected less than the width, {self.aim.width}"
        if self.settings.inner_points <= self.settings.outer_points:
            wrong["inner_points"] = f"expected more than {self.settings.outer_points}"
        return wrong

    def start(self) -> BandsState:
        return BandsState()

    def after(self, state: BandsState, shot: Shot) -> BandsState:
        miss = shot.miss("lateral")
        if miss is None or not self.aim.holds(shot):
            return BandsState(state.inner, state.outer, state.outside + 1)
        if miss <= self.settings.inner / 2:
            return BandsState(state.inner + 1, state.outer, state.outside)
        return BandsState(state.inner, state.outer + 1, state.outside)

    def over(self, state: BandsState) -> bool:
        return self._balls(state) == self.settings.balls

    def score(self, state: BandsState) -> int:
        return state.inner * self.settings.inner_points + state.outer * self.settings.outer_points

    def ended(self, state: BandsState) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: BandsState) -> dict[str, Decimal | int | str]:
        return {
            "points": self.score(state),
            "inner band": state.inner,
            "outer band": state.outer,
            "balls left": self.settings.balls - self._balls(state),
        }

    def _balls(self, state: BandsState) -> int:
        return state.inner + state.outer + state.outside
