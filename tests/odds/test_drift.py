"""How fast old shots fade, over players who stay, drift, jump, or have form of the day."""

from __future__ import annotations

import math
from datetime import date, timedelta
from statistics import median

import numpy as np
import pytest

from drillrunner.odds.drift import HALF_LIFE, Dated, half_life
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import guess
from tests.odds.test_pattern import rounded

BALLS, DAY = 400, 20


def player(kind: str, seed: int) -> list[Dated]:
    """Newest first, read on a 5 yd grid. None of them is of a kind that the method assumes."""
    rng = np.random.default_rng(seed)
    bias, log = np.zeros(BALLS), np.full(BALLS, math.log(12.0))
    if kind == "drifts":
        bias += np.cumsum(rng.normal(0.0, 0.42, BALLS))
        log += np.cumsum(rng.normal(0.0, 0.01, BALLS))
    elif kind == "jumps":
        bias += 14.0 * (np.arange(BALLS) >= 250)
    elif kind == "by the day":
        bias += np.repeat(rng.normal(0.0, 8.0, BALLS // DAY), DAY)
    elif kind == "improves":
        log += np.linspace(0.5, -0.5, BALLS)
    size = rng.standard_t(2, BALLS) if kind == "careless" else rng.standard_normal(BALLS)
    balls = rounded(bias + np.exp(log) * size, 5.0)
    first = date(2000, 1, 1)
    days = [first + timedelta(days=at // DAY) for at in range(BALLS)]
    return [Dated(said, day) for said, day in zip(balls, days, strict=True)][::-1]


def found(kind: str) -> float:
    """The middle half-life of seven players of a kind; infinite where all balls count alike."""
    own = [half_life(player(kind, seed), guess(200)) for seed in range(7)]
    return median(math.inf if h is None else h for h in own)


@pytest.mark.parametrize("kind", ["stays", "careless"])
def test_one_who_stays_as_they_are_keeps_their_balls(kind: str) -> None:
    assert found(kind) > 3 * HALF_LIFE


@pytest.mark.parametrize(
    ("kind", "most"), [("drifts", 80), ("jumps", 60), ("by the day", 60), ("improves", 200)]
)
def test_one_who_changes_forgets_faster(kind: str, most: float) -> None:
    assert found(kind) < most
    assert found(kind) < found("stays")


def test_a_steady_players_band_narrows_past_a_hundred_balls() -> None:
    """With 40 for everyone it stayed as wide after 400 balls as after 100."""
    newest = player("stays", 1)

    def wide(balls: list[Dated]) -> float:
        told = Pattern.of((b.said for b in balls), guess(200), half_life(balls, guess(200)))
        return told.bias.high - told.bias.low

    assert wide(newest) < 0.7 * wide(newest[:100])


def test_few_balls_or_one_day_say_nothing() -> None:
    assert half_life([], guess(200)) == HALF_LIFE
    assert half_life(player("jumps", 1)[:2], guess(200)) == HALF_LIFE


def test_it_tells_the_next_ball_better_than_one_for_all() -> None:
    """Mean log chance given to the next ball, over players of every kind."""
    own, fixed = [], []
    for kind in ("stays", "drifts", "jumps"):
        for seed in range(4):
            newest = player(kind, 100 + seed)
            for score, fades in ((own, True), (fixed, False)):
                past, (next_ball, _) = newest[1:], newest[0]
                h = half_life(past, guess(200)) if fades else HALF_LIFE
                told = Pattern.of((b.said for b in past), guess(200), h)
                laws = told.plausible()
                score.append(math.log(float(laws.chances(next_ball.spans)[0] @ laws.weight)))
    assert sum(own) > sum(fixed) - 1.0
