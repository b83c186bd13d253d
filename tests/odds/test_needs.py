"""Gains and needs: the exact sum, the order, and the words' thresholds."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.strokes.table import level
from drillrunner.odds.strokes import needs as needs_
from drillrunner.odds.strokes.needs import BANDS, KINDS, CardHole, gains, needs, round_gains
from drillrunner.rules.card import LEFT_LIES, RESULTS, TEE_SHOTS, HolePlayed

LENGTHS = {3: 165.0, 4: 380.0, 5: 480.0}


@st.composite
def holes(draw: st.DrawFn) -> CardHole:
    par = draw(st.sampled_from((3, 4, 5)))
    result = draw(st.sampled_from(RESULTS))
    on = result == "on"
    putts = draw(st.integers(0 if not on else 1, 4))
    tee = None if par == 3 else draw(st.sampled_from(TEE_SHOTS))
    hole = HolePlayed(
        hole=1,
        tee=tee,
        number=draw(st.none() | st.integers(1, 5)),
        approach=None if par == 3 else Decimal(draw(st.integers(5, 260))),
        result=result,
        left=None if on else draw(st.none() | st.integers(1, 90).map(Decimal)),
        lie=None if on else draw(st.none() | st.sampled_from(LEFT_LIES)),
        putt=None if putts == 0 else Decimal(draw(st.integers(1, 80))),
        putts=putts,
        penalties=draw(st.none() | st.integers(1, 3)),
    )
    around = 0 if on else draw(st.integers(1, 3))
    before = hole.strokes_before(par)
    score = before + 1 + around + putts + hole.all_penalties
    return CardHole(par, LENGTHS[par], replace(hole, score=score))


@given(holes(), st.floats(0, 40))
def test_the_gains_of_a_hole_add_up_to_expected_less_played(hole: CardHole, index: float) -> None:
    assert not hole.played.faults(hole.par)
    wanted = level(index)
    assert hole.played.score is not None
    total = sum(gains(hole, wanted).values())
    assert total == pytest.approx(wanted.of(hole.length, "tee") - hole.played.score, abs=1e-9)


def _card(**told: object) -> CardHole:
    base = HolePlayed(4, "fairway", None, Decimal(150), "on", None, None, Decimal(30), 2, None, 4)
    return CardHole(4, 380.0, replace(base, **told))  # type: ignore[arg-type]


def test_a_hole_worked_out_by_hand() -> None:
    """A drive out of bounds: two strokes and a penalty before 150 yards, from where is not told."""
    wanted = level(18)
    hole = _card(tee="lost", score=6)
    found = gains(hole, wanted)
    assert found["driving"] == pytest.approx(wanted.of(380, "tee") - wanted.of(150, "rough") - 3)
    assert found["140-180"] == pytest.approx(wanted.of(150, "rough") - wanted.green(30) - 1)
    assert found["putting"] == pytest.approx(wanted.green(30) - 2)


def test_a_short_hole_has_no_driving() -> None:
    hole = CardHole(3, 165.0, replace(_card().played, tee=None, approach=None, score=3))
    found = gains(hole, level(18))
    assert found["driving"] == 0.0
    assert found["140-180"] != 0.0


def test_putts_alone_tell_of_putting_alone() -> None:
    assert set(gains(_card(result=None), level(18))) == {"putting"}
    assert gains(_card(putt=None, putts=None, result=None), level(18)) == {}


def test_a_miss_of_unknown_length_leaves_what_the_level_leaves_on_average() -> None:
    wanted = level(18)
    found = gains(_card(result="left", score=5), wanted)
    end = wanted.missed(150, "fairway")
    assert found["short"] == pytest.approx(end - wanted.green(30) - 1)


def test_a_golfer_as_usual_needs_nothing() -> None:
    usual = dict(zip(KINDS, needs_._row(needs_._USUAL, 15.0), strict=True))
    one = needs_.RoundGains(usual, dict.fromkeys(KINDS, 1.0))
    assert [need.lost for need in needs([one] * 6, 15.0, 18.0)] == pytest.approx([0.0] * 7)


def test_the_posterior_of_one_kind_by_hand() -> None:
    """Six rounds of putting 1.5 worse than a 10: w = t^2 / (t^2 + s^2 / n) with t 0.8, s 2.072."""
    total = dict.fromkeys(KINDS, 0.0) | {"putting": 0.02 - 1.5}
    one = needs_.RoundGains(total, dict.fromkeys(KINDS, 1.0))
    found = {need.kind: need for need in needs([one] * 6, 10.0, 18.0)}["putting"]
    spread = 1.84 + 0.8 * (2.13 - 1.84)
    weight = 0.64 / (0.64 + spread**2 / 6)
    assert found.lost == pytest.approx(1.5 * weight)
    assert found.high - found.low == pytest.approx(2 * 1.2816 * 0.8 * (1 - weight) ** 0.5)
    assert found.rounds == 6


def test_a_nine_is_half_a_round_and_counts_double() -> None:
    nine = round_gains([_card()] * 9, level(10))
    assert nine.part["putting"] == pytest.approx(0.5)
    twice = round_gains([_card()] * 18, level(10))
    assert needs([nine, nine], 10, 18) == needs([twice], 10, 18)


def test_bands_stand_in_order_of_length_before_ten_rounds_and_ranked_from_then_on() -> None:
    total = dict.fromkeys(KINDS, 0.0) | {"180+": -3.0, "putting": -2.0}
    one = needs_.RoundGains(total, dict.fromkeys(KINDS, 1.0))
    few = [need.kind for need in needs([one] * 5, 10, 18)]
    at = few.index("60-100")
    assert tuple(few[at : at + 4]) == BANDS
    many = needs([one] * 10, 10, 18)
    assert [need.lost for need in many] == sorted((need.lost for need in many), reverse=True)


def test_nothing_is_sure_before_three_rounds() -> None:
    total = dict.fromkeys(KINDS, 0.0) | {"driving": -9.0}
    one = needs_.RoundGains(total, dict.fromkeys(KINDS, 1.0))
    assert not any(need.sure for need in needs([one] * 2, 10, 18))
    assert needs([one] * 3, 10, 18)[0].sure
