"""A call and its carry: two numbers a ball, from the keys to the score."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.rules import Aim, Ask, Refused, Run, Seen, Shot, Station
from drillrunner.rules.keypad import Pressed, TooFar, press, read
from drillrunner.rules.outcome import outcomes
from drillrunner.rules.run import Kind
from tests.rules.bundled import game_class, make

D = Decimal
CALL = Ask("call", Aim(), D(1), direction="depth")


def keys(*pressed: str, ask: Ask = CALL) -> Pressed:
    """What the last of these keys did, typed one after another."""
    line, last = "", Pressed()
    for key in pressed:
        last = press(line, "enter" if key == "\r" else key, None if key == "\r" else key, ask)
        line = last.typed
    return last


def test_two_numbers_each_with_enter_make_a_ball() -> None:
    assert keys("6", "4", "\r") == Pressed("64:")
    assert keys("6", "4", "\r", "6", "1", "\r") == Pressed(submit="64:61")
    whole = Shot(carry=D(61), carry_grid=D(1), call=D(64), call_grid=D(1))
    assert read("64:61", CALL).shot == whole
    shot = read("64,5:61.25", CALL).shot
    assert shot is not None
    assert (shot.call, shot.call_grid) == (D("64.5"), D("0.1"))
    assert (shot.carry, shot.carry_grid) == (D("61.25"), D("0.01"))
    # A terminal that sends the mark itself means the same.
    assert keys("6", "4", ":") == Pressed("64:")


def test_a_call_that_was_typed_is_never_lost_but_by_taking_it_back() -> None:
    called = ("6", "4", "\r")
    for key in ("a", "/", "+", ".", "\r"):
        said = keys(*called, key)
        assert said.typed == "64:"
        assert said.submit is said.command is None
        assert said.say
    assert keys(*called, "6", "1", "*") == Pressed("64:", say="61 cleared")
    assert keys(*called, "*") == Pressed(say="the call of 64 taken back")
    assert press("64:", "backspace", None, CALL) == Pressed("64")
    assert keys(*called, "*", "*").command == "undo"
    # A driver in between: the call waits as any number does.
    assert press("64:6", "enter", None, CALL, due=True) == Pressed("64:6", command="between")


@pytest.mark.parametrize("text", ["64", "64:", ":61", "64:61:60", "+64:61", "64:-61", "lost", "+"])
def test_anything_but_two_plain_numbers_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(Refused, match="expected the call, then the carry, in yards: 64:61"):
        read(text, CALL)


def test_a_far_number_is_asked_for_once_more_whichever_it_is() -> None:
    for text, what in (("401:60", "call"), ("60:401", "carry")):
        with pytest.raises(TooFar, match=f"is far for a {what}"):
            read(text, CALL)
        assert read(text, CALL, sure=True).shot


@given(st.lists(st.sampled_from("0123456789+-*/.,<!\r:"), max_size=14))
def test_whatever_is_pressed_a_call_stays_a_call(pressed: list[str]) -> None:
    line = ""
    for key in pressed:
        done = press(line, "enter" if key == "\r" else key, None if key == "\r" else key, CALL)
        assert done.typed.count(":") <= 1
        assert (done.submit, done.command, done.say).count(None) >= 2
        if done.submit is not None:
            assert done.submit.count(":") == 1
        line = done.typed


def test_a_round_of_calls_by_hand() -> None:
    run = Run.begin(make("call_the_carry", Aim(), balls=4))
    # Off by 3, 0, 6.5 and 20: 29.5 in all. Undo takes out a ball with its call.
    for text, total in (("64:61", 3), ("60:60", 3), ("70:63.5", D("9.5")), ("50:90", D("49.5"))):
        run = run.add(read(text, run.ask))
        assert run.score == total
    run = run.add(read("undo", run.ask)).add(read("50:70", run.ask))
    assert (run.score, run.ended) == (D("29.5"), "all balls played")
    assert [entry.kind for entry in run.entries].count(Kind.SHOT) == 5


def test_a_cap_and_clubs_in_turn() -> None:
    stations = [Station(Aim(), "call", D(1), club) for club in ("sand-wedge", "gap-wedge")]
    game = game_class("call_the_carry")
    run = Run.begin(game(game.Settings(balls=3, cap=10), Aim(), D(1), "yd", stations))
    for text in ("60:20", "80:81", "60:75"):
        run = run.add(read(text, run.ask))
    assert run.score == 21
    assert [ball.ask.club for ball in run.balls] == ["sand-wedge", "gap-wedge", "sand-wedge"]


def test_how_far_off_a_call_is_has_its_side() -> None:
    assert Shot(carry=D(61), carry_grid=D(1), call=D(64)).off_call == Seen(-1, D(3), D(1))
    assert Shot(carry=D(61), carry_grid=D(1)).off_call is None
    assert Shot(carry=D(61), carry_grid=D(1), call=D(64)).words() == "called 64, flew 61 yd"
    # Only where there is a carry to aim at does the ball tell of the depth about it.
    shot = Shot(carry=D(61), carry_grid=D(1), call=D(64), call_grid=D(1))
    assert Aim().regions(shot, "depth") == ()
    assert Aim(carry=D(60)).regions(shot, "depth") == ((D("0.5"), D("1.5")),)


@pytest.mark.parametrize("carry", [None, D(30), D(150)])
def test_the_outcomes_are_every_way_to_be_off(carry: Decimal | None) -> None:
    listed = outcomes("call", Aim(carry=carry), D(1), "depth")
    offs = [o.shot.off_call.signed for o in listed if o.shot.off_call is not None]
    assert offs == list(range(-60, 61))
    assert (listed[0].depth[0], listed[-1].depth[1]) == (None, None)
    assert all(a.depth[1] == b.depth[0] for a, b in pairwise(listed))
    assert all(o.shot.carry is not None and o.shot.carry >= 0 for o in listed)
