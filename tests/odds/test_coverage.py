"""Stated 80 % intervals against the truth: `coverage` at a modest size.

350 players a row, 1,050 a kind; `python -m tests.odds.coverage` prints 1,000 a row.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.odds.coverage import FIGURES, SHOTS, Row, cover, mixed, mixed_two_in_three

PLAYERS = 350


def rows(kind: str, asks: str, fading: bool) -> list[Row]:
    return [cover(kind, asks, shots, fading, PLAYERS) for shots in SHOTS]


@pytest.mark.parametrize("asks", ["numbers", "verdicts"])
def test_players_drawn_from_the_guess_are_covered_as_stated(asks: str) -> None:
    """Nominal within 3.5 Monte Carlo errors, for each number of shots and over all of them."""
    found = rows("prior", asks, fading=False)
    for figure in FIGURES:
        held = [row.held[figure] for row in found]
        for share, players in [*((h, PLAYERS) for h in held), (np.mean(held), 3 * PLAYERS)]:
            assert abs(share - 0.8) < 3.5 * math.sqrt(0.8 * 0.2 / players), (figure, held)


@pytest.mark.parametrize("kind", ["normal", "contaminated"])
@pytest.mark.parametrize("asks", ["numbers", "verdicts"])
def test_other_players_are_covered_at_least_seventy_in_a_hundred(kind: str, asks: str) -> None:
    for row in rows(kind, asks, fading=True):
        for figure in FIGURES if asks == "numbers" else ("bias", "inside 40"):
            assert row.held[figure] >= 0.70, row


def test_the_truth_of_the_mixture() -> None:
    rng = np.random.default_rng(1)
    scale = np.where(rng.random(400_000) < 0.2, 4.0, 1.0)
    inside = np.abs(scale * rng.standard_normal(400_000)) <= mixed_two_in_three()
    assert inside.mean() == pytest.approx(2 / 3, abs=0.003)
    assert mixed(1.0) == pytest.approx(0.8 * 0.682689 + 0.2 * 0.197413, abs=1e-6)
