"""What each key does to the line being typed."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.rules.keypad import NAMES, Pressed, is_modifier, press, read
from drillrunner.rules.station import Ask
from tests.rules.test_keypad_read import ALL, BOTH, CAPPED, CARRY, CORRIDOR, MISS, WINDOW, answer

VERDICTS = (CORRIDOR, WINDOW, BOTH)


def char(typed: str, character: str, ask: Ask, due: bool = False) -> Pressed:
    return press(typed, character, character, ask, due)


def enter(typed: str, ask: Ask, due: bool = False) -> Pressed:
    return press(typed, "enter", "\r", ask, due)


def type_in(characters: str, ask: Ask) -> list[Pressed]:
    """Press each character, `<` for Backspace and `!` for Enter."""
    line, all_pressed = "", []
    for character in characters:
        if character == "!":
            pressed = enter(line, ask)
        elif character == "<":
            pressed = press(line, "backspace", "\x7f", ask)
        else:
            pressed = char(line, character, ask)
        line = pressed.typed
        all_pressed.append(pressed)
    return all_pressed


@pytest.mark.parametrize("digit", "0123456789")
def test_one_key_is_a_verdict_and_a_digit_elsewhere(digit: str) -> None:
    for ask in VERDICTS:
        assert char("", digit, ask) == Pressed(submit=digit)
    for ask in (MISS, CARRY):
        assert char("", digit, ask) == Pressed(digit)


@pytest.mark.parametrize(
    ("keys", "ask", "submitted"),
    [
        ("-15!", MISS, "-15"),
        ("+35!", MISS, "+35"),
        ("0!", MISS, "0"),
        ("15!", MISS, "15"),
        ("-!", CAPPED, "-"),
        ("-12,5!", MISS, "-12,5"),
        ("-15<2!", MISS, "-12"),
        ("64!", CARRY, "64"),
        ("64.25!", CARRY, "64.25"),
        ("+15!", CORRIDOR, "+15"),
        ("-7!", WINDOW, "-7"),
    ],
)
def test_a_number_and_enter(keys: str, ask: Ask, submitted: str) -> None:
    *_, last = type_in(keys, ask)
    assert last == Pressed(submit=submitted)
    assert read(submitted, ask).shot is not None


@pytest.mark.parametrize("ask", ALL)
def test_keys_that_mean_the_same_everywhere(ask: Ask) -> None:
    assert char("", "*", ask) == Pressed(command="undo")
    assert press("", "backspace", "\x7f", ask) == Pressed(command="undo")
    assert char("", "/", ask) == Pressed(command="void")
    assert char("", ".", ask) == char("", ",", ask) == Pressed(command="menu")


@pytest.mark.parametrize("ask", ALL)
@pytest.mark.parametrize("due", [True, False])
def test_enter_on_an_empty_line(ask: Ask, due: bool) -> None:
    pressed = enter("", ask, due)
    if due:
        assert pressed == Pressed(command="between")
    else:
        assert pressed.say
        assert pressed == Pressed(say=pressed.say)


@pytest.mark.parametrize("ask", ALL)
@pytest.mark.parametrize("character", "0123456789+-")
def test_while_a_ball_in_between_is_due_what_is_typed_waits(ask: Ask, character: str) -> None:
    pressed = char("", character, ask, due=True)
    if ask.asks == "carry" and character in "+-":
        assert pressed == Pressed(say=pressed.say)
    else:
        assert pressed == Pressed(character, say=pressed.say)
        assert "in between" in (pressed.say or "")
        # Enter counts that ball and leaves the line as it was; the next Enter takes it.
        assert enter(character, ask, due=True) == Pressed(character, command="between")
        assert enter(character, ask) == Pressed(submit=character)
    assert char("", "*", ask, due=True).command == "undo"
    assert char("", "/", ask, due=True).command == "void"
    assert char("", ".", ask, due=True).command == "menu"


@pytest.mark.parametrize("ask", ALL)
@pytest.mark.parametrize(
    ("key", "character"),
    [("a", "a"), ("space", " "), ("f5", None), ("tab", "\t"), ("equals_sign", "="),
     ("superscript_two", "\u00b2"), ("arabic_indic_digit_one", "\u0661")],
)  # fmt: skip
def test_a_key_that_means_nothing_says_so_and_changes_nothing(
    ask: Ask, key: str, character: str | None
) -> None:
    for typed in ("", "+", "1", "-12", "12.", "12.5"):
        pressed = press(typed, key, character, ask)
        assert pressed.say, typed
        assert pressed == Pressed(typed, say=pressed.say)
        assert len(pressed.say.splitlines()) == 1


@pytest.mark.parametrize("key", ["left_shift", "num_lock", "caps_lock", "right_alt"])
def test_a_lock_or_a_shift_alone_is_no_key_press(key: str) -> None:
    assert is_modifier(key)
    assert press("12", key, None, MISS) == Pressed("12")


@pytest.mark.parametrize(
    ("typed", "character"), [("15", "+"), ("12.25", "5"), ("150", "0"), ("12.", ","), ("-", "-")]
)
def test_what_can_be_no_number_stays_off_the_line(typed: str, character: str) -> None:
    pressed = char(typed, character, MISS)
    assert pressed == Pressed(typed, say=pressed.say)
    assert pressed.say


def test_signs_stay_off_a_carry() -> None:
    for sign in "+-":
        assert "no sign" in (char("", sign, CARRY).say or "")


def test_star_on_a_line_clears_it_and_slash_leaves_it() -> None:
    assert char("12", "*", MISS) == Pressed(say="12 cleared")
    assert char("12", "/", MISS).typed == "12"
    assert char("12", "/", MISS).command is None


@given(st.text("0123456789+-*/.,<!", max_size=12), st.sampled_from(ALL))
def test_whatever_is_pressed_the_line_can_still_become_a_number(keys: str, ask: Ask) -> None:
    for pressed in type_in(keys, ask):
        assert re.fullmatch(r"[+-]?([0-9]{0,3}|[0-9]{1,3}[.,][0-9]{0,2})", pressed.typed)
        assert (pressed.submit, pressed.command, pressed.say).count(None) >= 2
        if pressed.submit is not None:
            assert pressed.typed == ""
            assert answer(pressed.submit, ask, sure=True)


def test_both_names_of_a_sign_are_known() -> None:
    for name, sign in NAMES.items():
        for ask in ALL:
            assert press("", name, None, ask) == press("", name, sign, ask)
