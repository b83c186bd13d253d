"""Games whose target moves: what conformance says of them, and what a run keeps of each ball."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest

from drillrunner.rules import Aim, AnyGame, Field, Game, Run, Settings, Shot, Station
from drillrunner.rules.conformance import MOVES, faults
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Entry, Kind
from tests.rules.bundled import make

D = Decimal
UNDO, VOID = Entry(Kind.UNDO), Entry(Kind.VOID)


class TurnsSettings(Settings):
    """balls: how many."""

    balls: int = Field(8, ge=1, le=50)


@dataclass(frozen=True)
class TurnsState:
    """Balls played, and how many of them held."""

    balls: int = 0
    held: int = 0


class Turns(Game[TurnsSettings, TurnsState]):
    """Two stations, turn about."""

    id = "turns"
    title = "Turn about"
    summary = "One club, then the other."
    asks = "verdict"
    better = "higher"
    several = True
    Settings = TurnsSettings

    def station(self, state: TurnsState) -> Station:
        return self.stations[state.balls % len(self.stations)]

    def start(self) -> TurnsState:
        return TurnsState()

    def after(self, state: TurnsState, shot: Shot) -> TurnsState:
        held = self.station(state).aim.holds(shot)
        return TurnsState(state.balls + 1, state.held + held)

    def over(self, state: TurnsState) -> bool:
        return state.balls >= self.settings.balls

    def score(self, state: TurnsState) -> int:
        return state.held

    def ended(self, state: TurnsState) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: TurnsState) -> dict[str, Decimal | int | str]:
        return {"held": state.held, "balls": state.balls}


class MovesByItself(Turns):
    """Another station each time that it is asked for one."""

    asked_for = 0

    def station(self, state: TurnsState) -> Station:
        self.asked_for += 1
        return self.stations[self.asked_for % 2]


class Remembers(Turns):
    """The station follows from something kept beside the state."""

    last = 0

    def after(self, state: TurnsState, shot: Shot) -> TurnsState:
        self.last += 1
        return super().after(state, shot)

    def station(self, state: TurnsState) -> Station:
        return self.stations[self.last // 7 % 2]


class AsksOtherwise(Turns):
    """A station that asks what the game does not say that it may ask."""

    def station(self, state: TurnsState) -> Station:
        return Station(Aim(carry=D(60)), "carry")


class HasNoEdge(Turns):
    """A corridor without a width."""

    def station(self, state: TurnsState) -> Station:
        return self.stations[0].aimed(width=None)


def turns(cls: type[Turns] = Turns) -> AnyGame:
    stations = [
        Station(Aim(width=D(40)), "verdict", D(5), "driver"),
        Station(Aim(width=D(16)), "verdict", D(5), "9-iron", "half"),
    ]
    return cls(TurnsSettings(), stations[0].aim, D(5), "yd", stations)


def test_a_sound_game_with_stations_passes() -> None:
    assert faults(turns()) == []


@pytest.mark.parametrize(
    ("cls", "said"),
    [
        (MovesByItself, MOVES),
        (Remembers, "station: no function of the state"),
        (AsksOtherwise, "station: asks 'carry'"),
        (HasNoEdge, "width"),
    ],
)
def test_each_wrong_way_to_move_is_named(cls: type[Turns], said: str) -> None:
    found = faults(turns(cls))
    assert any(said in fault for fault in found), found


def played(game: AnyGame, *typed: str | Entry) -> Run:
    run = Run.begin(game)
    for what in typed:
        run = run.add(read(what, run.ask) if isinstance(what, str) else what)
    return run


def clubs(run: Run) -> list[Any]:
    return [(ball.ask.club, ball.ask.swing, ball.aim.width) for ball in run.balls]


def test_each_ball_keeps_what_it_was_asked() -> None:
    run = played(turns(), "5", "4", "+15")
    first, second = ("driver", "full", D(40)), ("9-iron", "half", D(16))
    assert clubs(run) == [first, second, first]
    assert run.score == 2
    assert run.ask.club == "9-iron"
    # A number is judged by the aim of its own station: 15 is in the wide one, not in the narrow.
    assert played(turns(), "+15", "+15").score == 1


def test_undo_and_void_go_back_to_the_station_of_the_state() -> None:
    run = played(turns(), "5", "4", VOID)
    assert (run.ask.club, clubs(run)) == ("9-iron", [("driver", "full", D(40))])
    run = played(turns(), "5", UNDO)
    assert (run.ask.club, run.balls) == ("driver", ())


def test_the_corridor_narrows_by_each_held_ball_and_stops() -> None:
    game = make("narrowing", Aim(width=D(30)), narrower=D(8), floor=D(12), lives=2)
    widths = []
    run = Run.begin(game)
    for text in ("5", "4", "+11", "5", "5"):
        widths.append(run.ask.aim.width)
        run = run.add(read(text, run.ask))
    # 11 off is out of a corridor 22 wide by nothing: its edge lies at 11 and holds.
    assert widths == [30, 22, 22, 14, 12]
    assert (run.score, run.ask.aim.width) == (4, 12)
    ended = run.add(read("0", run.ask))
    assert (ended.ended, ended.ask.aim.width) == ("out of lives", 12)


def test_a_ladder_is_climbed_in_order() -> None:
    game = make("ladder", tolerance=D(3), limit=6)
    run = played(game, "60", "46", "60.4", "72.5")
    assert [ball.aim.carry for ball in run.balls] == [45, 45, 60, D("72.5")]
    assert (run.score, run.ended) == (4, "all rungs climbed")
    lost = played(game, *["200"] * 6)
    assert (lost.score, lost.ended) == (None, "out of balls")
