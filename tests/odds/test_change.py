"""The line over a history keeps its promise at every look, and finds what a change leaves."""

from __future__ import annotations

from statistics import median

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.change import CHANGES, ENOUGH, by_day, fortunes, no_more_than
from drillrunner.odds.luck import LEAST_DAYS, TOO_EARLY, judged
from tests.odds.power import GAMES, told

PLAYERS = 300


def most_often(expected: float, tries: int = PLAYERS) -> float:
    """An upper bound for a share that is truly this, three standard errors up."""
    return expected + 3 * float(np.sqrt(expected * (1 - expected) / tries))


@pytest.mark.parametrize("game", GAMES)
def test_an_unchanging_player_is_seldom_told_otherwise_at_any_of_forty_looks(game: str) -> None:
    """Ville's inequality, 1939: at most one in ten each way, however often one looks."""
    rng = np.random.default_rng(3)
    both = np.mean([told(GAMES[game](rng, np.ones(50))) for _ in range(PLAYERS)], axis=0)
    assert both.max() <= most_often(0.1)


@pytest.mark.parametrize(("runs", "fall", "least"), [(50, 0.2, 0.2), (50, 0.4, 0.8)])
def test_a_falling_spread_is_found(runs: int, fall: float, least: float) -> None:
    """At least as often as a plain linear bet on the ranks does: 24 and 80 in 100."""
    rng = np.random.default_rng(4)
    spreads = 1 - fall * np.arange(runs) / (runs - 1)
    found = np.mean([told(GAMES["ten-ball total"](rng, spreads))[0] for _ in range(150)])
    assert found >= least


def test_form_that_comes_by_the_day_is_no_progress() -> None:
    """A day's form as large as the luck of a run, one to four runs a day: still one in ten."""
    rng = np.random.default_rng(5)
    wrong = np.zeros(2)
    for _ in range(PLAYERS):
        counts = rng.integers(1, 5, 30)
        days = np.repeat(np.arange(30), counts)
        scores = np.round(100 + 10 * rng.normal(size=30)[days] + 10 * rng.normal(size=len(days)))
        risen, fallen = fortunes(by_day(scores.tolist(), days.tolist()))
        wrong += [max(risen[LEAST_DAYS:]) >= ENOUGH, max(fallen[LEAST_DAYS:]) >= ENOUGH]
    assert (wrong / PLAYERS).max() <= most_often(0.1)


@pytest.mark.parametrize("change", [0.0, 0.3, -0.3])
def test_a_larger_change_than_the_one_named_is_rare(change: float) -> None:
    """Skewed scores that move by this share of the middle; named at every look from ten on."""
    rng = np.random.default_rng(6)
    wrong = 0
    for _ in range(60):
        noise = 100 + 15 * rng.gamma(2.0, 1.0, 40)
        scores = noise + change * float(np.median(noise)) * np.arange(40) / 39
        for n in (20, 30, 40):
            named = no_more_than(scores[:n].tolist())
            sure = abs(change) * (n - 1) / 39 * 100
            wrong += named is not None and named < sure - 2
    assert wrong / 180 <= most_often(0.1, 60)


def test_a_steady_player_hears_so_in_the_end() -> None:
    rng = np.random.default_rng(8)
    scores = np.round(100 + 10 * rng.normal(size=60)).astype(int).tolist()
    found = judged(scores, "lower")
    assert found.steady in CHANGES
    assert found.line == f"no change of more than {found.steady} %"
    assert judged(scores[:9], "lower").line == TOO_EARLY
    assert no_more_than([]) is None
    # Coarse scores hide what is less than a step of them.
    assert no_more_than([5.0, 7.0] * 8) in (None, 50)
    assert no_more_than([7.0] * 12) != CHANGES[0]
    assert no_more_than([0.0] * 20) is None


def test_the_middle_of_a_day_is_a_score_that_was_made() -> None:
    assert by_day([3, 9, 5, 4, 6], ["a", "a", "a", "b", "b"]) == [5, 6]
    assert by_day([1.5, 2.5], ["a", "b"]) == [1.5, 2.5]
    assert median([3, 9, 5]) == 5


def test_the_ranks_behind_it_are_uniform() -> None:
    """With ties drawn: the fortune of one whole-number player, again from SciPy's ranks."""
    scores = [4, 7, 7, 2, 9, 7, 5, 8, 9, 9, 3, 10]
    draws = np.random.default_rng(1).random(len(scores))
    logs = np.zeros(6)
    for k, score in enumerate(scores):
        before = np.array(scores[: k + 1])
        ranks = stats.rankdata(before, method="min")
        equal = (before == score).sum()
        z = stats.norm.ppf((ranks[-1] - 1 + draws[k] * equal) / (k + 1))
        rates = np.array(
            [0.015 * k, 0.03 * k, 0.06 * k, *(np.sqrt(k) * np.array([0.05, 0.1, 0.2]))]
        )
        w = np.minimum(rates, 1.2)
        logs += w * z - w * w / 2
    assert fortunes(scores)[0][-1] == pytest.approx(np.exp(logs).mean())


def test_a_further_score_leaves_what_stood() -> None:
    scores = [4.0, 7, 7, 2, 9, 7, 5, 8, 9, 9, 3, 10]
    assert fortunes(scores)[0][:8] == fortunes(scores[:8])[0]
