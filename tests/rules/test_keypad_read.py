"""What a whole typed text means, for each thing that a drill can ask."""

import itertools
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drillrunner.rules.keypad import TooFar, expects, read
from drillrunner.rules.run import Entry, Kind, Refused
from drillrunner.rules.shot import Aim, Seen, Shot
from drillrunner.rules.station import Ask

D = Decimal
CORRIDOR = Ask("verdict", Aim(width=D(40)), D(5))
WINDOW = Ask("verdict", Aim(depth=D(12)), D(5), direction="depth")
BOTH = Ask("verdict", Aim(width=D(40), depth=D(12)), D(5))
MISS = Ask("miss", Aim(), D(5))
SHORT = Ask("miss", Aim(), D(5), direction="depth")
CAPPED = Ask("miss", Aim(), D(5), lost_counts=D(60))
CARRY = Ask("carry", Aim(carry=D(64)), D(1))
ALL = (CORRIDOR, WINDOW, BOTH, MISS, SHORT, CAPPED, CARRY)


def shot(text: str, ask: Ask, sure: bool = False) -> Shot:
    entry = read(text, ask, sure)
    assert entry.kind is Kind.SHOT
    assert entry.text == text.strip()
    assert entry.shot is not None
    return entry.shot


def answer(text: str, ask: Ask, sure: bool = False) -> Entry | str:
    """The entry, or the line that refuses it."""
    try:
        return read(text, ask, sure)
    except Refused as refused:
        return str(refused)


@pytest.mark.parametrize(
    ("key", "column", "row"),
    [
        (key, column, row)
        for row, keys in ((1, "789"), (0, "456"), (-1, "123"))
        for column, key in zip((-1, 0, 1), keys, strict=True)
    ],
)
def test_the_block_is_the_target_seen_from_the_bay(key: str, column: int, row: int) -> None:
    for ask in (CORRIDOR, WINDOW, BOTH):
        seen = shot(key, ask)
        assert (seen.lateral, seen.depth) == (Seen(column), Seen(row))  # type: ignore[arg-type]
    assert CORRIDOR.aim.holds(shot(key, CORRIDOR)) == (column == 0)
    assert WINDOW.aim.holds(shot(key, WINDOW)) == (row == 0)
    assert BOTH.aim.holds(shot(key, BOTH)) == (column == 0 and row == 0)


def test_zero_is_out_and_never_holds() -> None:
    for ask in (CORRIDOR, WINDOW, BOTH):
        assert shot("0", ask) == Shot(out=True)
        assert not ask.aim.holds(shot("0", ask))


@pytest.mark.parametrize(
    ("text", "held"),
    [("+15", True), ("-15", True), ("+20", True), ("-20", True), ("+20.01", False), ("-25", False),
     ("+0", True), ("-0", True), ("+0,5", True)],
)  # fmt: skip
def test_a_signed_number_is_judged_against_the_aim(text: str, held: bool) -> None:
    assert CORRIDOR.aim.holds(shot(text, CORRIDOR)) == held


def test_a_signed_number_speaks_of_the_one_direction_that_is_judged() -> None:
    assert shot("+15", CORRIDOR) == Shot(lateral=Seen(1, D(15), D(5)))
    assert shot("-7", WINDOW) == Shot(depth=Seen(-1, D(7), D(1)))
    with pytest.raises(Refused, match="both directions"):
        read("+15", BOTH)


@pytest.mark.parametrize("text", ["15", "00", "10", "5.5", "05"])
def test_a_bare_number_is_no_verdict(text: str) -> None:
    with pytest.raises(Refused, match="needs its sign"):
        read(text, CORRIDOR)


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("-15", Seen(-1, D(15), D(5))),
        ("+35", Seen(1, D(35), D(5))),
        ("0", Seen(0, D(0), D(5))),
        ("+0", Seen(0, D(0), D(5))),
        ("15", Seen(None, D(15), D(5))),
        ("-12", Seen(-1, D(12), D(1))),
        ("-12,5", Seen(-1, D("12.5"), D("0.1"))),
        ("12.25", Seen(None, D("12.25"), D("0.01"))),
        ("  -15 ", Seen(-1, D(15), D(5))),
        ("-015", Seen(-1, D(15), D(5))),
    ],
)
def test_misses(text: str, seen: Seen) -> None:
    assert shot(text, MISS) == Shot(lateral=seen)
    assert shot(text, SHORT) == Shot(depth=seen)


def test_a_lost_ball_needs_a_cap() -> None:
    assert shot("-", CAPPED) == Shot(lateral=Seen(-1, lost=True))
    assert shot("+", CAPPED) == Shot(lateral=Seen(1, lost=True))
    assert shot("lost", CAPPED) == shot("LOST", CAPPED) == Shot(lateral=Seen(None, lost=True))
    for text in ("-", "+", "lost"):
        with pytest.raises(Refused, match="no number here"):
            read(text, MISS)
        for ask in (CORRIDOR, BOTH, CARRY):
            with pytest.raises(Refused, match="lost ball can't"):
                read(text, ask)


def test_carries() -> None:
    assert shot("64", CARRY) == Shot(carry=D(64), carry_grid=D(1))
    assert shot("64,5", CARRY) == Shot(carry=D("64.5"), carry_grid=D("0.1"))
    assert shot("0", CARRY) == Shot(carry=D(0), carry_grid=D(1))
    for text in ("+64", "-64"):
        with pytest.raises(Refused, match="no sign"):
            read(text, CARRY)


@pytest.mark.parametrize("ask", ALL)
@pytest.mark.parametrize(
    ("text", "kind"),
    [("undo", Kind.UNDO), ("*", Kind.UNDO), ("Undo", Kind.UNDO), ("void", Kind.VOID),
     ("/", Kind.VOID), ("between", Kind.BETWEEN)],
)  # fmt: skip
def test_words_mean_the_same_everywhere(ask: Ask, text: str, kind: Kind) -> None:
    entry = read(text, ask)
    assert (entry.kind, entry.text, entry.shot) == (kind, text, None)


@pytest.mark.parametrize(
    ("ask", "far", "near"),
    [(MISS, "151", "150"), (MISS, "-150.01", "-150"), (CORRIDOR, "+200", "+150"),
     (CARRY, "400.5", "400"), (CARRY, "999.99", "400.00")],
)  # fmt: skip
def test_far_numbers_are_asked_for_once_more(ask: Ask, far: str, near: str) -> None:
    with pytest.raises(TooFar, match="is far for a"):
        read(far, ask)
    assert shot(far, ask, sure=True)
    assert shot(near, ask) == shot(near, ask, sure=True)


ALPHABET = "05+-.,*/ x"


def is_number(text: str) -> bool:
    """`[+-]?\\d{1,3}([.,]\\d{1,2})?` in ASCII digits, spelt out by hand."""
    digits = text[1:] if text[:1] in ("+", "-") else text
    before, mark, after = digits.replace(",", ".").partition(".")
    ascii_digits = all("0" <= c <= "9" for c in before + after)
    return ascii_digits and 1 <= len(before) <= 3 and (1 <= len(after) <= 2 if mark else not after)


def test_every_short_text_is_a_number_or_is_refused_in_one_line() -> None:
    # 111,110 texts: all of up to five of the block's characters, a space and a letter.
    for length in range(1, 6):
        for letters in itertools.product(ALPHABET, repeat=length):
            text = "".join(letters)
            typed = text.strip()
            answered = answer(text, CAPPED, sure=True)
            if isinstance(answered, str):
                assert "\n" not in answered
            taken = isinstance(answered, Entry) and answered.shot is not None
            assert taken == (is_number(typed) or typed in ("+", "-")), text


@settings(max_examples=500)
@given(st.text(max_size=12), st.sampled_from(ALL))
@example("\u0661\u0665", MISS)  # Arabic-Indic digits
@example("\uff11\uff15", MISS)  # full-width digits
@example("1\n5", MISS)
@example("1e2", CARRY)
@example("nan", CARRY)
@example("", CORRIDOR)
def test_any_text_is_taken_or_refused_in_one_line(text: str, ask: Ask) -> None:
    answered = answer(text, ask)
    if isinstance(answered, str):
        assert len(answered.splitlines()) == 1
        assert answered.isprintable()
    else:
        assert answered.text.isascii()


@pytest.mark.parametrize("ask", ALL)
def test_what_is_expected_is_said_in_one_line(ask: Ask) -> None:
    with pytest.raises(Refused) as refused:
        read("?", ask)
    assert expects(ask) in str(refused.value)
    assert ("lost" in expects(ask)) == (ask.lost_counts is not None)
    assert ("sign (+15)" in expects(ask)) == (ask in (CORRIDOR, WINDOW))


def test_metres_are_called_metres() -> None:
    assert "metres" in expects(Ask("carry", Aim(carry=D(60)), D(1), unit="m"))
