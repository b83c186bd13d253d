"""Games that break the promise in ways that would make the odds wrong: the suite names each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

import pytest

from drillrunner.odds.chance import Patterns, chance
from drillrunner.odds.shape import Plausible
from drillrunner.rules import Aim, Game, Score, Settings, Shot
from drillrunner.rules.conformance import faults


@dataclass(frozen=True)
class State:
    """Balls, points, and something that does not compare."""

    balls: int = 0
    points: int = 0
    hidden: int = field(default=0, compare=False)


class Sound(Game[Settings, Any]):
    """Eight balls; how many hold."""

    id = "sound"
    title = "Sound"
    summary = "Eight balls; how many hold."
    asks = "miss"
    better = "higher"

    def start(self) -> Any:
        return State()

    def after(self, state: Any, shot: Shot) -> Any:
        return State(state.balls + 1, state.points + self.aim.holds(shot))

    def over(self, state: Any) -> bool:
        return bool(state.balls == 8)

    def score(self, state: Any) -> Score:
        return int(state.points)

    def ended(self, state: Any) -> str | None:
        return "all balls played" if state.balls == 8 else None

    def readout(self, state: Any) -> Mapping[str, Decimal | int | str]:
        return {"points": state.points}


class OneBallCosts(Sound):
    """One single reading in sixty takes a point back."""

    def after(self, state: Any, shot: Shot) -> Any:
        lost = shot.lateral is not None and shot.lateral.signed == 135
        return (
            replace(super().after(state, shot), points=state.points - 1)
            if lost
            else (super().after(state, shot))
        )


class OneBallStays(Sound):
    """One single reading in sixty does not count."""

    def after(self, state: Any, shot: Shot) -> Any:
        same = shot.lateral is not None and shot.lateral.signed == -140
        return state if same else super().after(state, shot)


class HiddenScore(Sound):
    """The score is in the field that does not compare."""

    def after(self, state: Any, shot: Shot) -> Any:
        return State(state.balls + 1, 0, state.hidden + self.aim.holds(shot))

    def score(self, state: Any) -> Score:
        return int(state.hidden)


class HiddenStreak(Sound):
    """A streak that does not compare decides what the next ball is worth."""

    def after(self, state: Any, shot: Shot) -> Any:
        held = self.aim.holds(shot)
        worth = 2 if held and state.hidden >= 2 else int(held)
        return State(state.balls + 1, state.points + worth, state.hidden + 1 if held else 0)


class KeepsCount(Sound):
    """The score is kept beside the state."""

    kept = 0

    def after(self, state: Any, shot: Shot) -> Any:
        self.kept += 1
        return State(state.balls + 1, state.points)

    def score(self, state: Any) -> Score:
        return self.kept


class FallsAtTheEnd(Sound):
    """The last ball halves the score."""

    def score(self, state: Any) -> Score:
        return int(state.points // 2 if self.over(state) else state.points)


class FallsWhenLow(Sound):
    """Low is better, and a good ball takes a point off."""

    better = "lower"

    def after(self, state: Any, shot: Shot) -> Any:
        return State(state.balls + 1, state.points - self.aim.holds(shot))


class NoScoreThenOne(Sound):
    """Low is better, and there is no score until the end."""

    better = "lower"

    def score(self, state: Any) -> Score:
        return int(state.points) if self.over(state) else None


class ComesBack(Sound):
    """A ball that holds after a miss undoes it."""

    @property
    def endless(self) -> bool:
        return True

    def after(self, state: Any, shot: Shot) -> Any:
        return State(state.balls + (1 if self.aim.holds(shot) else -1), 0)

    def over(self, state: Any) -> bool:
        return abs(state.balls) == 8

    def ended(self, state: Any) -> str | None:
        return "far enough" if self.over(state) else None


BROKEN: list[tuple[type[Sound], str]] = [
    (OneBallCosts, "score: falls after a ball"),
    (OneBallStays, "reached before"),
    (HiddenScore, "equal differ in score"),
    (HiddenStreak, "equal lead on to different ones"),
    (KeepsCount, "equal differ in score"),
    (FallsAtTheEnd, "score: falls after a ball"),
    (FallsWhenLow, "score: falls after a ball"),
    (NoScoreThenOne, "None before the end"),
    (ComesBack, "reached before"),
]


def make(cls: type[Sound]) -> Sound:
    return cls(Settings(), Aim(width=Decimal(40)), Decimal(5))


def test_the_sound_game_passes() -> None:
    assert faults(make(Sound)) == []


@pytest.mark.parametrize(("cls", "said"), BROKEN, ids=[cls.__name__ for cls, _ in BROKEN])
def test_each_break_is_named(cls: type[Sound], said: str) -> None:
    found = faults(make(cls))
    assert any(said in fault for fault in found), found


def test_why_it_matters() -> None:
    """The walk merges equal states: with a hidden score it is wrong, so the suite must say so."""
    patterns = Patterns(Plausible.known(0.0, 15.0))
    sound, hidden = make(Sound), make(HiddenScore)
    right = chance(sound, sound.start(), patterns, 5).chance
    assert chance(hidden, hidden.start(), patterns, 5).chance != pytest.approx(right, abs=0.01)
