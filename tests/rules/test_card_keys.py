"""A hole on the number block: every card can be typed, is read as meant, and takes few keys."""

from __future__ import annotations

import random
from decimal import Decimal
from statistics import median

import pytest

from drillrunner.catalogue.strokes.golfer import Golfer
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.rules.card import HolePlayed
from drillrunner.rules.card_keys import HoleLine
from drillrunner.rules.scorecard import hole_of, told_hole
from tests.odds.rounds import LAWS, Player
from tests.rules.cards import answers_of, keys_of, typeable

NINE = ((4, 380), (4, 400), (5, 490), (3, 160), (4, 345), (4, 420), (5, 475), (3, 190), (4, 370))


def typed(line: HoleLine, keys: str) -> HoleLine:
    """The line after these keys; `!` is Enter. A key that meant nothing fails."""
    for key in keys:
        line, why = line.press("enter" if key == "!" else key)
        assert not why, (keys, key, why)
    return line


def card(law: str, seed: int) -> list[tuple[int, HolePlayed]]:
    """Nine holes of a golfer of index 15 as they tell of them."""
    player = Player(Golfer(ability(15.0)), law, random.Random(seed))
    return [
        (par, player.hole(number, par, float(yards))) for number, (par, yards) in enumerate(NINE, 1)
    ]


@pytest.mark.parametrize("law", LAWS)
def test_every_card_can_be_typed_and_is_read_as_meant(law: str) -> None:
    """Golfers by the model and from outside it: two-way, skewed, streaky, careless."""
    for seed in range(20):
        for par, hole in card(law, seed):
            if not typeable(hole, par):
                continue
            line = typed(HoleLine.begin(hole.hole, par, "full"), keys_of(hole, par))
            assert line.done
            got = line.now
            answered = HoleLine.begin(hole.hole, par, "full")
            for _, answer in answers_of(hole, par):
                answered = answered.answer(answer)
            assert answered.now == got
            assert (got.score, got.putts, got.putt, got.result) == (
                hole.score, hole.putts, hole.putt, hole.result,
            )  # fmt: skip
            assert got.all_penalties == hole.all_penalties
            assert got.approach == hole.approach
            assert got.strokes_before(par) == hole.strokes_before(par)


def test_nine_holes_take_fewer_than_110_keys_in_half_of_all_rounds() -> None:
    """Counted over simulated cards of index 15, half of the golfers from outside the model."""
    counts = [
        sum(len(keys_of(hole, par)) for par, hole in card(law, seed))
        for seed in range(40)
        for law in ("as the model", "two-way", "as the model", "streaky")
    ]
    print(f"keys for nine holes: median {median(counts)}, most {max(counts)}")
    assert median(counts) < 110


def test_the_likely_answer_is_enter() -> None:
    line = typed(HoleLine.begin(1, 4, "full"), "5150!52")
    assert line.at == "putt"
    line = typed(HoleLine.begin(1, 4, "full"), "5150!520!2")
    assert (line.at, line.likely) == ("score", "4")
    assert typed(line, "!").now.score == 4
    missed = typed(HoleLine.begin(1, 4, "full"), "4150!4/15!12!2!").now
    assert (missed.lie, missed.left, missed.score) == ("sand", Decimal(15), 5)
    assert typed(HoleLine.begin(1, 5, "putts"), "20!2").likely == "5"
    assert typed(HoleLine.begin(1, 5, "putts", received=1), "20!2").likely == "6"
    assert HoleLine.begin(1, 4, "score", received=1).likely == "5"


def test_holed_from_off_the_green_has_no_putt_and_none_is_asked() -> None:
    line = typed(HoleLine.begin(1, 3, "full"), "415!!")
    assert (line.at, line.now.putts, line.likely) == ("score", 0, "2")


def test_penalties_of_tee_and_approach_add_up() -> None:
    lost = typed(HoleLine.begin(1, 4, "full"), "02150!520!2!").now
    assert (lost.tee, lost.score) == ("lost", 6)
    water = typed(HoleLine.begin(1, 4, "full"), "5150!01420!12!1!").now
    assert (water.penalties, water.score) == (1, 5)
    again = typed(HoleLine.begin(1, 4, "full"), "5150!02510!2!").now
    assert (again.penalties, again.number, again.score) == (1, 3, 6)
    both = typed(HoleLine.begin(1, 4, "full"), "01120!01430!12!2!").now
    assert (both.all_penalties, both.score) == (2, 7)


def test_taking_back_goes_answer_by_answer_to_the_first_question() -> None:
    line = typed(HoleLine.begin(1, 4, "full"), "5150!015")
    seen = []
    at: HoleLine | None = line
    while at is not None:
        seen.append((at.at, at.typed, at.penalty))
        at = at.back()
    assert seen[0] == ("putt", "", False)
    assert seen[-1] == ("tee", "", False)
    assert ("approach", "", False) in seen


def test_a_correction_takes_what_was_told_by_enter() -> None:
    for keys in ("5150!520!2!", "4+150!4//15!12!2!", "02150!520!2!", "5150!01420!12!1!"):
        told = typed(HoleLine.begin(1, 4, "full"), keys).now
        line = HoleLine.begin(1, 4, "full", told)
        while not line.done:
            line, why = line.press("enter")
            assert not why
        assert line.now == told
    putt = typed(HoleLine.begin(1, 4, "full"), "5150!520!2!").now
    line = typed(HoleLine.begin(1, 4, "full", putt), "!!!25!3")
    assert (line.now.putt, line.now.putts, line.likely) == (Decimal(25), 3, "4")


def test_plus_turns_through_the_bag_before_the_tee_shot_is_told() -> None:
    bag = ("driver", "3-wood", "5-iron")
    line = HoleLine.begin(1, 4, "full", bag=bag)
    assert typed(line, "5150!520!2!").now.club is None
    assert typed(line, "+5150!520!2!").now.club == "3-wood"
    assert typed(line, "++02150!520!2!").now.club == "5-iron"
    assert typed(line, "+++5150!520!2!").now.club is None, "round to the usual one"
    turned = typed(line, "++")
    assert turned.back() is not None
    assert turned.back().now.club == "3-wood"
    told = typed(line, "+5150!520!2!").now
    again = HoleLine.begin(1, 4, "full", told, bag=bag)
    assert typed(again, "4!!!!!").now.club == "3-wood", "kept where only the shot is corrected"
    assert typed(again, "++5!!!!!").now.club is None
    # On a short hole before where it went, and never where + is a sign or nothing.
    short = typed(HoleLine.begin(3, 3, "full", bag=("7-iron", "8-iron")), "+520!2!").now
    assert (short.club, short.score) == ("8-iron", 3)
    assert typed(line, "5+150!").now.club is None
    assert "means nothing" in typed(line, "5150!").press("+")[1]
    assert hole_of(told_hole(short)) == short


@pytest.mark.parametrize(
    ("keys", "why"),
    [
        ("9", "5 fairway, 4 6 beside it"),
        ("x", "5 fairway, 4 6 beside it"),
        ("03", "1 one stroke and a drop"),
        ("5800!", "approach: expected 0 to 700"),
        ("51500", "too long"),
        ("5/", "yards or metres to the green"),
        ("5150!520!0", "expected 1 putt or more"),
        ("5150!520!29!", "score: expected 4"),
        ("5150!415!20!23!", "score: expected at least 5"),
    ],
)
def test_what_means_nothing_or_does_not_add_up_is_said_and_changes_nothing(
    keys: str, why: str
) -> None:
    line = typed(HoleLine.begin(1, 4, "full"), keys[:-1])
    after, said = line.press("enter" if keys[-1] == "!" else keys[-1])
    assert why in said
    assert after.at == line.at
    assert after.now == line.now


def test_metres_are_kept_as_feet_and_shown_as_metres() -> None:
    line = typed(HoleLine.begin(1, 3, "putts", metres=True), "6.1!2!")
    assert line.now.putt == Decimal("20.01")
    assert HoleLine.begin(1, 3, "putts", line.now, metres=True).likely == "6.1"
