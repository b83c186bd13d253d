"""Each way of breaking a game is caught, and named, by the suite that ships with the program."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

import pytest

from drillrunner.rules import Aim, AnyGame, Ask, Game, Score, Settings, Shot
from drillrunner.rules import conformance as suite
from drillrunner.rules.conformance import faults


class TenSettings(Settings):
    """balls: how many are played."""

    balls: int = 10


@dataclass(frozen=True)
class TenState:
    """Balls played, balls that held."""

    balls: int = 0
    held: int = 0


class Ten(Game[TenSettings, Any]):
    """A sound game: of ten balls, how many hold."""

    id = "ten"
    title = "Ten"
    summary = "Of ten balls, how many hold."
    asks = "verdict"
    better = "higher"
    Settings = TenSettings

    def start(self) -> Any:
        return TenState()

    def after(self, state: Any, shot: Shot) -> Any:
        return TenState(state.balls + 1, state.held + self.aim.holds(shot))

    def over(self, state: Any) -> bool:
        return bool(state.balls == self.settings.balls)

    def score(self, state: Any) -> Score:
        return int(state.held)

    def ended(self, state: Any) -> str | None:
        return "all balls played" if state.balls == self.settings.balls else None

    def readout(self, state: Any) -> Mapping[str, Decimal | int | str]:
        return {"held": state.held}


class TakesBack(Ten):
    """A miss costs a point."""

    def after(self, state: Any, shot: Shot) -> Any:
        held = self.aim.holds(shot)
        return TenState(state.balls + 1, state.held + (1 if held else -1))


class ForgetsMisses(Ten):
    """A miss changes nothing, so the state was reached before."""

    @property
    def endless(self) -> bool:
        return True

    def after(self, state: Any, shot: Shot) -> Any:
        return replace(state, held=state.held + 1) if self.aim.holds(shot) else state


class GoesRound(Ten):
    """Comes back to the start after three balls."""

    @property
    def endless(self) -> bool:
        return True

    def after(self, state: Any, shot: Shot) -> Any:
        return TenState((state.balls + 1) % 3, 0)


class NeverEnds(Ten):
    """Ends at no ball, and does not say so."""

    def over(self, state: Any) -> bool:
        return False

    def ended(self, state: Any) -> str | None:
        return None


class OverAtOnce(Ten):
    """Over before the first ball."""

    def over(self, state: Any) -> bool:
        return True

    def ended(self, state: Any) -> str | None:
        return "over"


class NoScoreWhenHigher(Ten):
    """Ends without a score though high is better."""

    def score(self, state: Any) -> Score:
        return None if self.over(state) else int(state.held)


class NoScoreOnTheWay(Ten):
    """Low is better, and the score is missing before the end."""

    better = "lower"

    def score(self, state: Any) -> Score:
        return None if state.balls == 3 else int(state.balls)


class Floats(Ten):
    """Scores with a float."""

    def score(self, state: Any) -> Any:
        return state.held / 2


class Thirds(Ten):
    """Scores with more decimals than can be kept."""

    def score(self, state: Any) -> Score:
        return Decimal(state.held) / 3


class NotANumber(Ten):
    """Scores with an infinity."""

    def score(self, state: Any) -> Score:
        return Decimal("Infinity")


class Forgetful(Ten):
    """Two calls of start differ."""

    counter = itertools.count()

    def start(self) -> Any:
        return TenState(0, next(self.counter))


class Random(Ten):
    """Draws its own luck."""

    def after(self, state: Any, shot: Shot) -> Any:
        return TenState(state.balls + 1, state.held + random.randrange(1000))


class Remembers(Ten):
    """Keeps something beside the state."""

    def __init__(self, *args: Any) -> None:
        super().__init__(*args)
        self.calls = 0

    def after(self, state: Any, shot: Shot) -> Any:
        self.calls += 1
        return TenState(state.balls + 1, state.held + self.calls // 20)


@dataclass
class LooseState:
    """Not frozen, and hashable all the same."""

    balls: int = 0
    held: int = 0

    def __hash__(self) -> int:
        return self.balls


class Loose(Ten):
    """Its states can be changed."""

    def start(self) -> Any:
        return LooseState()

    def after(self, state: Any, shot: Shot) -> Any:
        return LooseState(state.balls + 1, state.held)


class Changes(Loose):
    """Changes the state that it was given."""

    def after(self, state: Any, shot: Shot) -> Any:
        state.held += 1
        return LooseState(state.balls + 1, state.held)


@dataclass(frozen=True)
class ListState:
    """Frozen, with a list inside."""

    balls: int = 0
    held: int = 0
    all: list[int] = field(default_factory=list, hash=False)


class ChangesAList(Ten):
    """Changes a list inside the state that it was given."""

    def start(self) -> Any:
        return ListState()

    def after(self, state: Any, shot: Shot) -> Any:
        state.all.append(1)
        return ListState(state.balls + 1, state.held, [*state.all])


class PlainTuple(Ten):
    """Its state is no dataclass."""

    def start(self) -> Any:
        return ()

    def after(self, state: Any, shot: Shot) -> Any:
        return (*state, shot)

    def over(self, state: Any) -> bool:
        return len(state) == 10

    def score(self, state: Any) -> Score:
        return len(state)

    def ended(self, state: Any) -> str | None:
        return "all balls played" if self.over(state) else None

    def readout(self, state: Any) -> Mapping[str, Decimal | int | str]:
        return {"held": len(state)}


class EmptyReadout(Ten):
    """Shows nothing."""

    def readout(self, state: Any) -> Mapping[str, Decimal | int | str]:
        return {}


class NoLabel(Ten):
    """Shows a value without a name."""

    def readout(self, state: Any) -> Mapping[str, Decimal | int | str]:
        return {"": 1}


class StrangeReadout(Ten):
    """Shows something that is neither a number nor a text."""

    def readout(self, state: Any) -> Mapping[str, Any]:
        return {"held": [state.held]}


class NoReason(Ten):
    """Ends without saying why."""

    def ended(self, state: Any) -> str | None:
        return None


class EmptyReason(Ten):
    """Ends with an empty reason."""

    def ended(self, state: Any) -> str | None:
        return "" if self.over(state) else None


class ReasonTooSoon(Ten):
    """Gives a reason while it goes on."""

    def ended(self, state: Any) -> str | None:
        return "all balls played"


class ChangesItsMind(Ten):
    """Over is not a matter of the state."""

    calls = itertools.count()

    def over(self, state: Any) -> bool:
        return next(self.calls) % 2 == 1


class Raises(Ten):
    """Raises on a ball that no outcome stands for, and that a player can type."""

    def after(self, state: Any, shot: Shot) -> Any:
        if shot.out:
            raise KeyError("side")
        return super().after(state, shot)


class RaisesAtOnce(Ten):
    """Raises before the first ball."""

    def start(self) -> Any:
        raise RuntimeError("not ready")


class DroppingSettings(Settings):
    """A setting that never comes back from JSON."""

    balls: int = 10

    def model_dump_json(self, **kwargs: Any) -> str:
        return '{"balls": 9}'


class LosesSettings(Ten):
    """Its settings do not survive a round trip."""

    Settings = DroppingSettings


class TakesAllAlike(Ten):
    """Says that it goes by nothing, and counts what held."""

    def goes_by(self, ask: Ask, shot: Shot) -> bool:
        return True


BROKEN: list[tuple[type[Ten], str]] = [
    (TakesBack, "score: falls after a ball"),
    (ForgetsMisses, "reached before"),
    (GoesRound, "reached before"),
    (NeverEnds, "over: not reached"),
    (OverAtOnce, "over: before the first ball"),
    (NoScoreWhenHigher, "score: None at the end"),
    (NoScoreOnTheWay, "None before the end"),
    (Floats, "score: expected a whole number"),
    (Thirds, "score: expected a whole number"),
    (NotANumber, "score: expected a whole number"),
    (Forgetful, "start: two calls"),
    (Random, "different states"),
    (Remembers, "different states"),
    (Loose, "not frozen"),
    (Changes, "changes the state"),
    (ChangesAList, "changes the state"),
    (PlainTuple, "not a dataclass"),
    (EmptyReadout, "readout: empty"),
    (NoLabel, "without labels"),
    (StrangeReadout, "neither a number"),
    (NoReason, "ended: expected a reason"),
    (EmptyReason, "ended: expected a reason"),
    (ReasonTooSoon, "ended: expected a reason"),
    (ChangesItsMind, "over: two calls differ"),
    (Raises, "raised KeyError: 'side'"),
    (RaisesAtOnce, "raised RuntimeError: not ready"),
    (LosesSettings, "round trip"),
    (TakesAllAlike, "goes_by: two shots alike in it"),
]


def make(cls: type[Ten], settings: Settings | None = None) -> AnyGame:
    return cls(settings or cls.Settings(), Aim(width=Decimal(40)), Decimal(5))  # type: ignore[arg-type]


def test_the_sound_game_passes() -> None:
    assert faults(make(Ten)) == []


@pytest.mark.parametrize(("cls", "said"), BROKEN, ids=[cls.__name__ for cls, _ in BROKEN])
def test_each_way_of_breaking_a_game_is_caught(cls: type[Ten], said: str) -> None:
    found = faults(make(cls), plays=8)
    assert any(said in fault for fault in found), found
    assert all(len(fault.splitlines()) == 1 for fault in found)


def test_settings_of_another_class_are_caught() -> None:
    class Others(Settings):
        balls: int = 10

    assert any("not of the class" in fault for fault in faults(make(Ten, Others())))


def test_the_same_seed_finds_the_same_faults() -> None:
    found = faults(make(TakesBack), seed=3, plays=8)
    assert found == faults(make(TakesBack), seed=3, plays=8)


def test_balls_that_no_outcome_stands_for_are_played_too() -> None:
    game = make(Ten)
    outcomes = {outcome.shot for outcome in game.outcomes()}
    typed = set(suite._typed(game.ask))
    assert Shot(out=True) in typed - outcomes
    assert any(shot.lateral is not None and shot.lateral.size == 15 for shot in typed)
