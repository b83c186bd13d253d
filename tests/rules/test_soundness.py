"""What a game may not say is found when it is said: in a run, in the suite, by whoever plays it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from drillrunner.rules import Aim, Entry, Kind, Run
from drillrunner.rules.conformance import faults
from drillrunner.rules.keypad import read
from drillrunner.rules.soundness import Unsound, file_of, place
from tests.rules.test_conformance import Ten, TenSettings

IN = read("5", Ten(TenSettings(), Aim(width=Decimal(40))).ask)


def game(**said: Any) -> Ten:
    """A game of ten balls that answers so from its second ball on."""
    named = {
        name: (
            lambda self, state, answer=answer, name=name: (
                answer(state)
                if callable(answer) and state.balls > 1
                else answer
                if state.balls > 1
                else getattr(Ten, name)(self, state)
            )
        )
        for name, answer in said.items()
    }
    cls = type("Says", (Ten,), {**named, "__module__": __name__})
    return cls(TenSettings(), Aim(width=Decimal(40)))


def leave(_: Any) -> None:
    raise SystemExit(3)


WRONG = {
    "float": {"score": 0.5},
    "text": {"score": "2"},
    "bool": {"score": True},
    "nan": {"score": Decimal("nan")},
    "signalling nan": {"score": Decimal("snan")},
    "infinity": {"score": Decimal("inf")},
    "three decimals": {"score": Decimal("0.001")},
    "too large": {"score": Decimal("1e30")},
    "too many decimals to tell": {"score": Decimal("1." + "0" * 40 + "1")},
    "far too large": {"score": Decimal("1e999999")},
    "no readout": {"readout": None},
    "empty readout": {"readout": {}},
    "no label": {"readout": {"": 1}},
    "labels that are no text": {"readout": {3: 1}},
    "a value that is no number": {"readout": {"held": 1.5}},
    "a value that is not finite": {"readout": {"held": Decimal("nan")}},
    "no value": {"readout": {"held": None}},
    "a reason before the end": {"ended": "tired"},
    "over without a reason": {"over": True},
    "a reason that is no text": {"over": True, "ended": 7},
    "leaving": {"score": leave},
}


@pytest.mark.parametrize("said", WRONG.values(), ids=WRONG)
def test_a_ball_that_leads_to_what_no_game_may_say_is_not_taken(said: dict[str, Any]) -> None:
    run = Run.begin(game(**said)).add(IN)
    with pytest.raises(Unsound) as raised:
        run.add(IN)
    assert "\n" not in str(raised.value)
    assert run.counted == 1
    assert faults(game(**said), plays=2)


def test_the_suite_tells_all_that_was_found_before_a_game_raised() -> None:
    found = faults(game(readout={}, score=Decimal("nan")))
    assert "readout: empty, or without labels" in found
    assert any(fault.startswith("score: expected a whole number") for fault in found)
    assert not any("raised" in fault for fault in found)


def test_an_exact_large_score_is_sound() -> None:
    most = Decimal(2**53 // 100)
    assert Run.begin(game(score=most)).add(IN).add(IN).score == most


@dataclass(unsafe_hash=True)
class Loose:
    """A state that can be changed."""

    balls: int = 0
    held: int = 0


class Changes(Ten):
    """Its `after` changes the state that it is given."""

    def start(self) -> Any:
        return Loose()

    def after(self, state: Any, shot: Any) -> Any:
        state.balls += 1
        return state


def test_a_state_that_is_changed_is_found_at_the_first_ball() -> None:
    run = Run.begin(Changes(TenSettings(), Aim(width=Decimal(40))))
    with pytest.raises(Unsound, match="after: changes the state"):
        run.add(IN)


def test_a_refold_hears_the_game_too() -> None:
    run = Run.begin(game(score=lambda state: state.held)).add(IN).add(IN).add(IN)
    heard = run.add(Entry(Kind.UNDO))
    assert (heard.score, heard.counted) == (2, 2)


def test_the_place_is_the_games_own_line() -> None:
    class Fails(Ten):
        """Raises after a ball."""

        def after(self, state: Any, shot: Any) -> Any:
            raise LookupError("here")

    with pytest.raises(LookupError) as raised:
        Run.begin(Fails(TenSettings(), Aim(width=Decimal(40)))).add(IN)
    file = file_of(Fails)
    assert file == __file__
    line = place(raised.value, file)
    assert line is not None
    assert "here" in Path(__file__).read_text().splitlines()[line - 1]
    assert faults(Fails(TenSettings(), Aim(width=Decimal(40)))) == [
        f"raised LookupError: here (line {line})"
    ]
