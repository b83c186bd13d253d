"""Stated 80 % intervals against the truth: `coverage` at a modest size.

`python -m tests.odds.coverage` prints whole tables; here cells are put together until their Monte
Carlo error is small enough to mean something.
"""

from __future__ import annotations

from statistics import mean

import numpy as np
import pytest

from tests.odds.coverage import JUDGED, cover, nominal
from tests.odds.truths import APART, KINDS, player


@pytest.mark.parametrize("asks", ["numbers", "verdicts"])
def test_players_drawn_from_the_guess_are_covered_as_stated(asks: str) -> None:
    """160 players: the standard error of a share of 0.8 is 0.032, here three of them."""
    row = nominal(asks, 30, players=160)
    assert all(0.70 <= held <= 0.90 for held in row.values()), row


@pytest.mark.parametrize(("shots", "low", "high"), [(5, 0.68, 0.94), (100, 0.70, 0.92)])
def test_players_from_outside_are_covered_on_average(shots: int, low: float, high: float) -> None:
    """The bounds asked of an average (72 to 90, 68 to 92 a cell), and two standard errors."""
    kinds = [kind for kind in KINDS if kind not in APART]
    rows = [cover(kind, "numbers", shots, players=18, figures=JUDGED) for kind in kinds]
    for figure in JUDGED:
        assert low <= mean(row.held[figure] for row in rows) <= high, (figure, rows)


def test_two_ways_are_seen_for_what_they_are() -> None:
    """With even shapes alone the interval of inside 20 held the truth 8 times in 100."""
    row = cover("two-way", "numbers", 200, players=30, figures=("inside 20", "inside 40"))
    assert row.held["inside 20"] >= 0.55
    assert row.held["inside 40"] >= 0.55


@pytest.mark.parametrize("kind", KINDS)
def test_the_truth_of_a_kind_is_that_of_its_shots(kind: str) -> None:
    """The shots of one player, a long row of them, against what is said to be true of them."""
    truth = player(kind, 60_000, np.random.default_rng(3))
    for width, inside in zip((20.0, 40.0, 60.0), truth.inside, strict=True):
        assert np.mean(np.abs(truth.hits) <= width / 2) == pytest.approx(inside, abs=0.012)
    assert np.quantile(np.abs(truth.hits - truth.mean), 2 / 3) == pytest.approx(
        truth.half, rel=0.03
    )
    if kind != "t2":
        assert truth.hits.mean() == pytest.approx(truth.mean, abs=0.3)
