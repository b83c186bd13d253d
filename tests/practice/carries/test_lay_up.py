"""Laying up: what it says is true, whatever was picked; and what can't be told apart is said so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drillrunner.practice.carries import stock
from drillrunner.practice.carries.lay_up import lay_up, lay_up_words, spreads
from tests.practice.carries.lay_up_sim import LAWS, said_and_true
from tests.practice.carries.test_stock import NOW, kept


@pytest.mark.parametrize("law", ["equal, 6", "two tight ones"])
def test_said_and_true_are_close_though_the_best_is_picked(law: str) -> None:
    """Nine clubs, six shots each: within 5 points of the truth and the error of 70 players."""
    said, true, _ = said_and_true(np.random.default_rng(3), LAWS[law], 70)
    assert said == pytest.approx(true, abs=0.05 + 0.03)


def test_the_spread_of_one_club_is_between_the_model_and_what_was_seen() -> None:
    (alone,) = spreads([kept("sand-wedge", "70", "3")])
    model = stock.model_spread(70, "yd", None)
    assert np.log(3) < alone.log < np.log(model)
    (seen,) = spreads([kept("sand-wedge", "70", "3", kept=[True] * 400)])
    assert np.exp(seen.log) == pytest.approx(3, rel=0.02)


def test_clubs_lend_each_other_their_spread() -> None:
    """A tight one among wide ones is thought wider than alone, and wide ones less wide."""
    wide = [kept(f"club-{at}", str(60 + 10 * at), "8") for at in range(5)]
    tight = kept("tight", "70", "2.5")
    (alone,) = spreads([tight])
    among = spreads([tight, *wide])[0]
    assert alone.log < among.log < np.log(8)


def rows(*stocks: Any) -> tuple[stock.CarryRow, ...]:
    return stock.table(stocks, NOW)


def test_the_best_chance_first_and_nothing_stale() -> None:
    ups = lay_up(
        rows(
            kept("sand-wedge", "70", "2", kept=[True] * 12),
            kept("gap-wedge", "85", "12", kept=[True] * 12),
            kept("pitching-wedge", "95", "1", days=100),
        )
    )
    assert [up.stock.club for up in ups] == ["sand-wedge", "gap-wedge"]
    assert ups[0].like_best
    assert not ups[1].like_best
    assert ups[0].within_10 > ups[0].within_5 > ups[1].within_5
    said = lay_up_words(ups)
    assert said.startswith("leave yourself 70 yd (sand wedge, half): ")
    assert "; then 85 yd (gap wedge, half)" in said


def test_what_can_not_be_told_apart_is_said_so() -> None:
    pair = kept("sand-wedge", "70", "5"), kept("gap-wedge", "85", "6")
    ups = lay_up(rows(*pair))
    assert ups[1].like_best
    assert lay_up_words(ups).endswith("; the others can't be told apart from it")
    third = kept("lob-wedge", "50", "25", kept=[True] * 12)
    said = lay_up_words(lay_up(rows(*pair, third)))
    assert said.endswith("gap wedge, half) can't be told apart from it")


def test_mishits_take_from_the_chance() -> None:
    (clean,) = lay_up(rows(kept("sand-wedge", "70")))
    (mishit,) = lay_up(rows(kept("sand-wedge", "70", kept=[True] * 6 + [False] * 2)))
    assert mishit.within_10 < clean.within_10 < 1


def test_words_of_one_of_none_and_of_the_nearly_sure() -> None:
    assert lay_up_words(()) == ""
    (one,) = lay_up(rows(kept("sand-wedge", "70")))
    sure = replace(one, within_5=0.9951, within_10=1.0)
    assert ">99 % within 5 yd of the distance, >99 % within 10" in lay_up_words([sure])
