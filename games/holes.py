"""The tee shots of a course from the bay, and the strokes that they give away."""

from dataclasses import dataclass
from decimal import Decimal

from drillrunner.rules import Field, Game, Settings, Shot, Station

FAR_LEFT, LEFT, RIGHT, FAR_RIGHT = range(4)


class HolesSettings(Settings):
    """costs: for each station what a ball far left, left, right and far right gives away, in
    hundredths of a stroke; worked out from the course that the drill names.
    """

    costs: list[list[int]] = Field(default_factory=list, max_length=36)


@dataclass(frozen=True)
class HolesState:
    """Holes played, and hundredths of a stroke given away."""

    holes: int = 0
    given: int = 0


class Holes(Game[HolesSettings, HolesState]):
    """Score: strokes given away against the middle of every fairway."""

    id = "holes"
    title = "Tee shots of a course"
    summary = "One ball on each hole of a course; count the strokes that its tee shots give away."
    asks = "verdict"
    better = "lower"
    several = True
    Settings = HolesSettings

    def faults(self) -> dict[str, str]:
        wrong = dict(super().faults())
        costs = self.settings.costs
        if len(costs) != len(self.stations):
            wrong["costs"] = f"expected one list a station, {len(self.stations)}, not {len(costs)}"
        if any(len(row) != 4 or min(row) < 0 or max(row) > 1000 for row in costs):
            wrong["costs"] = "expected of each four whole numbers, 0 to 1000"
        for at, station in enumerate(self.stations):
            if station.aim.judged != ("lateral",):
                wrong[f"stations.{at}.aim.width"] = "expected a width, and no depth"
        return wrong

    def station(self, state: HolesState) -> Station:
        return self.stations[min(state.holes, len(self.stations) - 1)]

    def start(self) -> HolesState:
        return HolesState()

    def after(self, state: HolesState, shot: Shot) -> HolesState:
        return HolesState(state.holes + 1, state.given + self._gives(state, shot))

    def over(self, state: HolesState) -> bool:
        return state.holes == len(self.stations)

    def score(self, state: HolesState) -> Decimal:
        return Decimal(state.given) / 100

    def ended(self, state: HolesState) -> str | None:
        return "all holes played" if self.over(state) else None

    def readout(self, state: HolesState) -> dict[str, Decimal | int | str]:
        return {
            "given away": Decimal(state.given) / 100,
            "hole": f"{min(state.holes + 1, len(self.stations))} of {len(self.stations)}",
            "holes left": len(self.stations) - state.holes,
        }

    def _gives(self, state: HolesState, shot: Shot) -> int:
        """What a ball gives away; one whose side was not seen the dearer of left and right."""
        costs, aim = self.settings.costs[state.holes], self.station(state).aim
        if aim.holds(shot):
            return 0
        seen = shot.lateral
        if shot.out or seen is None or not seen.side:
            return max(costs[LEFT], costs[RIGHT])
        left = seen.side < 0
        if aim.far(shot):
            return costs[FAR_LEFT if left else FAR_RIGHT]
        return costs[LEFT if left else RIGHT]
