"""The keypad grammar: what a typed text means, and what each key does to the line being typed.

Both are pure. The command line uses `read` alone; the app feeds keys to `press` and gives what it
submits to `read`, so that a key on the block, a drawn key and a word on paper mean the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from drillrunner.rules.outcome import CARRY_LIMIT, LEAVE_LIMIT, MISS_LIMIT, Asks
from drillrunner.rules.refused import LOST_INSTEAD, Refused
from drillrunner.rules.run import Entry, Kind
from drillrunner.rules.shot import Seen, Shot, Side
from drillrunner.rules.station import Ask
from drillrunner.rules.units import NUMBER, grid_of, spoken, text

ZONES: dict[str, tuple[Side, Side]] = {
    "7": (-1, 1),
    "8": (0, 1),
    "9": (1, 1),
    "4": (-1, 0),
    "5": (0, 0),
    "6": (1, 0),
    "1": (-1, -1),
    "2": (0, -1),
    "3": (1, -1),
}
"""The block as the target seen from the bay: key to (lateral, depth) side."""

WORDS = {
    "undo": Kind.UNDO,
    "*": Kind.UNDO,
    "void": Kind.VOID,
    "/": Kind.VOID,
    "between": Kind.BETWEEN,
}


ONE_KEY: tuple[Asks, ...] = ("verdict", "strokes")
"""What is answered by one key, without Enter."""

UNSIGNED: dict[Asks, str] = {
    "carry": "a carry has no sign",
    "strokes": "strokes have no sign",
    "leave": "what is left has no sign",
    "call": "call and carry have no sign",
}
"""Why a number takes no sign where it has none."""

PAIR = ":"
"""Stands between a call and its carry; on the keypad Enter after the call puts it there."""


class TooFar(Refused):
    """A number beyond the limits: the app asks once more, the command line refuses."""


def _expects_verdict(ask: Ask) -> str:
    signed = ", or a number with its sign (+15)" if len(ask.aim.judged) == 1 else ""
    return f"one key of the block: 5 in, 4 left, 6 right, 8 long, 2 short, 0 out{signed}"


def _expects_miss(ask: Ask) -> str:
    lost = "; a sign alone or lost: lost ball" if ask.lost_counts is not None else ""
    return f"a signed number of {spoken(ask.unit)}: -15, +35, 0{lost}"


_EXPECTS: Mapping[Asks, Callable[[Ask], str]] = {
    "verdict": _expects_verdict,
    "miss": _expects_miss,
    "carry": lambda ask: f"a carry in {spoken(ask.unit)}: 64",
    "call": lambda ask: f"the call, then the carry, in {spoken(ask.unit)}: 64{PAIR}61",
    "strokes": lambda _: "one key, 1 to 9: how many strokes to hole out",
    "leave": lambda ask: f"{spoken(ask.measure)} left to the hole: 4, or 0 if it was holed",
}


def expects(ask: Ask) -> str:
    """What can be typed, in one line, for messages and help."""
    return _EXPECTS[ask.asks](ask)


def read(said: str, ask: Ask, sure: bool = False) -> Entry:
    """The entry that a whole typed text means.

    Raises Refused with one line that says what was expected; TooFar for a number beyond 150 of
    miss or 400 of carry, unless `sure`.
    """
    typed = said.strip()
    if kind := WORDS.get(typed.lower()):
        return Entry(kind, typed)
    return Entry(Kind.SHOT, typed, _shot(typed, ask, sure))


def _shot(typed: str, ask: Ask, sure: bool) -> Shot:
    if ask.asks == "verdict" and typed == "0":
        return Shot(out=True)
    if ask.asks == "verdict" and typed in ZONES:
        lateral, depth = ZONES[typed]
        return Shot(lateral=Seen(lateral), depth=Seen(depth))
    if ask.asks == "strokes" and typed in ZONES:
        return Shot(strokes=int(typed))
    if typed.lower() in ("+", "-", "lost"):
        return _lost(typed, ask)
    if ask.asks == "call":
        return _called(typed, ask, sure)
    return _NUMBERS[ask.asks](_number(typed, ask), ask, sure)


def _number(typed: str, ask: Ask) -> Number:
    match = NUMBER.fullmatch(typed)
    if match is None:
        raise Refused(f"{typed!r} means nothing here: expected {expects(ask)}")
    sign, digits, _ = match.groups()
    size, grid = Decimal(digits.replace(",", ".")), grid_of(digits, ask.grid)
    if sign and ask.asks in UNSIGNED:
        raise Refused(f"{typed!r}: {UNSIGNED[ask.asks]}: expected {expects(ask)}")
    return Number(typed, sign, size, grid)


@dataclass(frozen=True, slots=True)
class Number:
    """A number as typed, its sign (empty without one), its size, and the step it was read on."""

    typed: str
    sign: str
    size: Decimal
    grid: Decimal


def _carry(number: Number, ask: Ask, sure: bool) -> Shot:
    _not_beyond(number.size, CARRY_LIMIT, ask, sure, "carry")
    return Shot(carry=number.size, carry_grid=number.grid)


def _called(typed: str, ask: Ask, sure: bool) -> Shot:
    first, pair, second = typed.partition(PAIR)
    if not (pair and first and second):
        raise Refused(f"{typed!r} is not two numbers: expected {expects(ask)}")
    call, flown = _number(first, ask), _number(second, ask)
    _not_beyond(call.size, CARRY_LIMIT, ask, sure, "call")
    return replace(_carry(flown, ask, sure), call=call.size, call_grid=call.grid)


def _no_number(number: Number, ask: Ask, sure: bool) -> Shot:
    raise Refused(f"{number.typed!r} means nothing here: expected {expects(ask)}")


def _leave(number: Number, ask: Ask, sure: bool) -> Shot:
    if number.size > LEAVE_LIMIT:
        raise Refused(
            f"{text(number.size)} is far to have left: "
            f"expected at most {LEAVE_LIMIT} {spoken(ask.measure)}"
        )
    return Shot(leave=number.size, leave_grid=number.grid)


def _verdict(number: Number, ask: Ask, sure: bool) -> Shot:
    if len(ask.aim.judged) != 1:
        raise Refused(
            f"{number.typed!r}: this drill judges both directions, and a number tells one: "
            f"expected {expects(ask)}"
        )
    if not number.sign:
        raise Refused(f"{number.typed!r}: a number needs its sign here: expected {expects(ask)}")
    return _miss(number, ask, sure)


def _miss(number: Number, ask: Ask, sure: bool) -> Shot:
    sign, size, grid = number.sign, number.size, number.grid
    _not_beyond(size, MISS_LIMIT, ask, sure, "miss")
    side: Side | None = 0 if size == 0 else (None if not sign else (1 if sign == "+" else -1))
    seen = Seen(side, size, grid)
    return Shot(lateral=seen) if ask.direction == "lateral" else Shot(depth=seen)


_NUMBERS: Mapping[Asks, Callable[[Number, Ask, bool], Shot]] = {
    "verdict": _verdict,
    "miss": _miss,
    "carry": _carry,
    "strokes": _no_number,
    "leave": _leave,
    "call": _no_number,
}
"""For each thing to ask, the shot that a typed number means."""


def _lost(typed: str, ask: Ask) -> Shot:
    if ask.asks != "miss":
        raise Refused(f"{typed!r}: a lost ball can't be entered here: expected {expects(ask)}")
    if ask.lost_counts is None:
        raise Refused(f"{typed!r}: a lost ball has no number here: {LOST_INSTEAD}")
    sides: dict[str, Side] = {"+": 1, "-": -1}
    seen = Seen(sides.get(typed), lost=True)
    return Shot(lateral=seen) if ask.direction == "lateral" else Shot(depth=seen)


def _not_beyond(size: Decimal, limit: Decimal, ask: Ask, sure: bool, what: str) -> None:
    if size > limit and not sure:
        raise TooFar(f"{size} is far for a {what}: expected at most {limit} {spoken(ask.unit)}")


Command = Literal["undo", "void", "menu", "between"]


@dataclass(frozen=True, slots=True)
class Pressed:
    """What one key did: the line as it now stands, and at most one consequence.

    submit: a whole text for `read`. command: something other than a shot. say: why the key meant
    nothing here.
    """

    typed: str = ""
    submit: str | None = None
    command: Command | None = None
    say: str | None = None


UNLOCKED = {
    "home": "7",
    "up": "8",
    "pageup": "9",
    "left": "4",
    "kp_begin": "5",
    "right": "6",
    "end": "1",
    "down": "2",
    "pagedown": "3",
    "insert": "0",
    "delete": ".",
}
"""What the block sends with NumLock off: where one key answers, these mean the same."""

NAMES = {
    "plus": "+",
    "add": "+",
    "minus": "-",
    "subtract": "-",
    "asterisk": "*",
    "multiply": "*",
    "slash": "/",
    "divide": "/",
    "full_stop": ".",
    "decimal": ".",
    "comma": ",",
    "separator": ",",
}
"""Key names of the block's signs in plain terminals and under the Kitty keyboard protocol."""

MODIFIERS = (
    "shift",
    "num_lock",
    "caps_lock",
    "scroll_lock",
    "control",
    "alt",
    "super",
    "meta",
    "hyper",
)


def is_modifier(key: str) -> bool:
    """Whether a key event is a lock or a shift alone, which is no key press at all."""
    return key.endswith(MODIFIERS)


def belongs(key: str, character: str | None) -> bool:
    """Whether a key is one of the block's own, in any of its modes, or a lock or shift alone."""
    sign = character if character and character.isprintable() else NAMES.get(key, "")
    return (
        is_modifier(key)
        or key in UNLOCKED
        or key in ("enter", "return", "kp_enter", "backspace", "ctrl+h")
        or (len(sign) == 1 and sign in "0123456789+-*/.,")
    )


def press(typed: str, key: str, character: str | None, ask: Ask, due: bool = False) -> Pressed:
    """What a key does to the line `typed` so far.

    key, character: the terminal's name of the key and the character it types; the character
    decides. due: whether the ball in between is asked for now.
    """
    if is_modifier(key):
        return Pressed(typed)
    sign = character if character and character.isprintable() else NAMES.get(key, "")
    if not sign and ask.asks in ONE_KEY:
        sign = UNLOCKED.get(key, "")
    if key in ("enter", "return", "kp_enter"):
        return _enter(typed, ask, due)
    if key in ("backspace", "ctrl+h"):
        return Pressed(typed[:-1]) if typed else Pressed(command="undo")
    if sign == "*":
        return _taken_back(typed)
    if sign == "/":
        if typed:
            return Pressed(typed, say="Enter takes the number, Backspace corrects it")
        return Pressed(command="void")
    if sign in (".", ",") and not typed:
        return Pressed(command="menu")
    if sign == PAIR and ask.asks == "call":
        return _enter(typed, ask, due)
    if len(sign) == 1 and sign in "0123456789+-.,":
        return _character(typed, sign, ask, due)
    if key in UNLOCKED:
        return Pressed(typed, say=f"{key} is no number: switch NumLock on to type {UNLOCKED[key]}")
    return Pressed(typed, say=f"{key} means nothing here: expected {expects(ask)}")


def _enter(typed: str, ask: Ask, due: bool) -> Pressed:
    if due:
        return Pressed(typed, command="between")
    if ask.asks == "call" and typed and PAIR not in typed:
        return Pressed(typed + PAIR)
    if ask.asks == "call" and typed.endswith(PAIR):
        return Pressed(typed, say=f"called {typed[:-1]}: now look, and type how far it flew")
    if typed:
        return Pressed(submit=typed)
    return Pressed(say=f"nothing typed: expected {expects(ask)}")


def _taken_back(typed: str) -> Pressed:
    """The last number of the line goes; a call stays while the carry after it is typed."""
    if not typed:
        return Pressed(command="undo")
    if typed.endswith(PAIR):
        return Pressed(say=f"the call of {typed[:-1]} taken back")
    call, pair, number = typed.rpartition(PAIR)
    return Pressed(call + pair, say=f"{number} cleared")


def _character(typed: str, sign: str, ask: Ask, due: bool) -> Pressed:
    if due:
        # Typed early: it is taken once the ball in between is counted, and not lost.
        early = _character(typed, sign, ask, False)
        line = early.submit or early.typed
        waits = f"{line} waits: Enter first counts the ball in between"
        return Pressed(line, say=early.say or waits)
    if ask.asks in ONE_KEY and not typed and sign.isdigit():
        return Pressed(submit=sign)
    if sign in "+-":
        if ask.asks in UNSIGNED:
            return Pressed(typed, say=f"{UNSIGNED[ask.asks]}: expected {expects(ask)}")
        if typed:
            return Pressed(typed, say="the sign comes first; Backspace corrects")
        return Pressed(sign)
    call, pair, number = typed.rpartition(PAIR)
    longer = number + sign
    if NUMBER.fullmatch(longer if sign.isdigit() else longer + "0") is None:
        return Pressed(typed, say=f"{longer} is no number: at most 3 digits and 2 decimals")
    return Pressed(call + pair + longer)
