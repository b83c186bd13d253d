"""The number block from raw terminal bytes, through Textual's own parser, into the grammar.

The codes are those of DEC's VT100/VT220 application keypad (ESC O and a letter), of the Kitty
keyboard protocol's functional keys (CSI 57399 u to 57416 u), and the plain cursor keys of ECMA-48
terminals with NumLock off.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from textual import events
from textual._xterm_parser import XTermParser

from drillrunner.rules import Aim, Entry, Kind
from drillrunner.rules.keypad import belongs, is_modifier, press, read
from drillrunner.rules.station import Ask

VERDICT = Ask("verdict", Aim(width=Decimal(40)), Decimal(5))
MISS = Ask("miss", Aim(), Decimal(5), lost_counts=Decimal(40))
CARRY = Ask("carry", Aim(carry=Decimal(45)), Decimal(1), direction="depth")

PLAIN = {sign: sign for sign in "0123456789+-*/.,"} | {"enter": "\r", "back": "\x7f"}
APPLICATION = {str(n): f"\x1bO{chr(ord('p') + n)}" for n in range(10)} | {
    ".": "\x1bOn",
    "+": "\x1bOk",
    "-": "\x1bOm",
    "*": "\x1bOj",
    "/": "\x1bOo",
    "enter": "\x1bOM",
    "back": "\x7f",
}
KITTY = {str(n): f"\x1b[{57399 + n}u" for n in range(10)} | {
    ".": "\x1b[57409u",
    "/": "\x1b[57410u",
    "*": "\x1b[57411u",
    "-": "\x1b[57412u",
    "+": "\x1b[57413u",
    "enter": "\x1b[57414u",
    ",": "\x1b[57416u",
    "back": "\x1b[127u",
}
KITTY_NUM_LOCK = {
    key: f"{code[:-1]};129u" for key, code in KITTY.items() if code.startswith("\x1b[57")
} | {"back": "\x1b[127u"}
"""The same with NumLock's bit (128, and 1) in the modifiers."""
MODES = {
    "plain": PLAIN,
    "application": APPLICATION,
    "kitty": KITTY,
    "kitty, NumLock on": KITTY_NUM_LOCK,
}
UNLOCKED = {
    "7": ("\x1b[H", "\x1bOH", "\x1b[1~", "\x1b[57423u"),
    "8": ("\x1b[A", "\x1bOA", "\x1b[57419u"),
    "9": ("\x1b[5~", "\x1b[57421u"),
    "4": ("\x1b[D", "\x1bOD", "\x1b[57417u"),
    "5": ("\x1b[E", "\x1b[57427~"),
    "6": ("\x1b[C", "\x1bOC", "\x1b[57418u"),
    "1": ("\x1b[F", "\x1bOF", "\x1b[4~", "\x1b[57424u"),
    "2": ("\x1b[B", "\x1bOB", "\x1b[57420u"),
    "3": ("\x1b[6~", "\x1b[57422u"),
    "0": ("\x1b[2~", "\x1b[57425u"),
}
LOCKS = ("\x1b[57358u", "\x1b[57359u", "\x1b[57360u", "\x1b[57441u", "\x1b[57442u", "\x1b[57447u")


def keys(data: str) -> list[events.Key]:
    """The key events that a terminal's bytes make."""
    return [event for event in XTermParser().feed(data) if isinstance(event, events.Key)]


def typed(data: str, ask: Ask, due: bool = False) -> list[Entry | str]:
    """What the bytes come to: entries, or the line that says why not; the rest of the line last."""
    line, found = "", []
    for key in keys(data):
        assert belongs(key.key, key.character)
        pressed = press(line, key.key, key.character, ask, due)
        line = pressed.typed
        if pressed.submit is not None:
            found.append(read(pressed.submit, ask))
        elif pressed.command is not None:
            found.append(pressed.command)
        elif pressed.say is not None:
            found.append(pressed.say)
    return [*found, line] if line else found


@pytest.mark.parametrize("mode", MODES)
def test_the_block_in_every_mode(mode: str) -> None:
    block = MODES[mode]

    def sent(*names: str) -> str:
        return "".join(block[name] for name in names)

    for digit in "0123456789":
        assert typed(sent(digit), VERDICT) == [read(digit, VERDICT)]
    assert typed(sent("+", "1", "5", "enter"), VERDICT) == [read("+15", VERDICT)]
    assert typed(sent("-", "1", "5", "enter"), MISS) == [read("-15", MISS)]
    assert typed(sent("-", "enter"), MISS) == [read("-", MISS)]
    assert typed(sent("6", "4", ".", "5", "enter"), CARRY) == [read("64.5", CARRY)]
    if "," in block:
        assert typed(sent("6", "4", ",", "5", "enter"), CARRY) == [read("64,5", CARRY)]
    assert typed(sent("6", "5", "back", "4", "enter"), CARRY) == [read("64", CARRY)]
    for ask in (VERDICT, MISS, CARRY):
        assert typed(sent("*"), ask) == ["undo"]
        assert typed(sent("back"), ask) == ["undo"]
        assert typed(sent("/"), ask) == ["void"]
        assert typed(sent("."), ask) == ["menu"]
        assert typed(sent("enter"), ask, due=True) == ["between"]


@pytest.mark.parametrize("digit", UNLOCKED)
def test_with_num_lock_off_a_verdict_needs_no_digits(digit: str) -> None:
    for data in UNLOCKED[digit]:
        assert typed(data, VERDICT) == [read(digit, VERDICT)], repr(data)
        for ask in (MISS, CARRY):
            (said,) = typed(data, ask)
            assert f"switch NumLock on to type {digit}" in said


def test_with_num_lock_off_the_point_still_opens_the_menu() -> None:
    for data in ("\x1b[3~", "\x1b[57426u"):
        assert typed(data, VERDICT) == ["menu"]


@pytest.mark.parametrize("data", LOCKS)
def test_a_lock_or_a_shift_alone_is_no_key_press(data: str) -> None:
    (key,) = keys(data)
    assert is_modifier(key.key)
    assert typed(data, MISS) == []
    assert typed("1" + data + "5\r", MISS) == [read("15", MISS)]


def test_a_ball_in_between_comes_first() -> None:
    assert typed("5", VERDICT, due=True) == ["5 waits: Enter first counts the ball in between", "5"]
    assert typed("*", VERDICT, due=True) == [Kind.UNDO]


def test_letters_and_function_keys_do_not_belong_to_the_block() -> None:
    for data in ("n", "?", "\x1bOP", "\x1b[15~", "\t"):
        (key,) = keys(data)
        assert not belongs(key.key, key.character), repr(data)


def test_a_burst_of_bytes_is_read_in_order() -> None:
    assert typed("55444", VERDICT) == [read(text, VERDICT) for text in "55444"]
    assert typed("-15\r+35\r0\r", MISS) == [read(text, MISS) for text in ("-15", "+35", "0")]
