"""The exact walk against closed forms, against rollouts, and against what comes true.

Closed forms: independent shots, hit probability p (negative binomial and geometric: Feller, vol. 1,
formulas from memory; SciPy has the distributions), totals by convolution.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from drillrunner.odds import weigh
from drillrunner.odds.chance import Patterns, _flow, chance, next_ball, score_distribution
from drillrunner.odds.graph import Layer
from drillrunner.odds.green.curves import HolingPrior
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.pattern import Pattern
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import LIKELIHOODS, Likelihood, Plausible
from drillrunner.rules import Aim, AnyGame, Game, Outcome, Settings, Shot, beats
from tests.odds.test_pattern import rounded
from tests.rules.bundled import make, name, variants

D = Decimal
LAWS = {"t4": stats.t(4), "t2": stats.t(2), "normal": stats.norm()}
TINY = 1e-9


def known(likelihood: Likelihood = "t4", bias: float = 3.0, spread: float = 15.0) -> Patterns:
    return Patterns(
        Plausible.known(bias, spread, likelihood), Plausible.known(-2.0, 6.0, likelihood)
    )


def within(likelihood: Likelihood, low: float, high: float, bias: float, spread: float) -> float:
    law = LAWS[likelihood]
    return float(law.cdf((high - bias) / spread) - law.cdf((low - bias) / spread))


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
@pytest.mark.parametrize(("lives", "beat"), [(1, 0), (3, 9), (3, 0), (9, 40)])
def test_lives_are_negative_binomial(likelihood: Likelihood, lives: int, beat: int) -> None:
    game = make("lives", lives=lives)
    p = within(likelihood, -20, 20, 3, 15)
    found = chance(game, game.start(), known(likelihood), beat)
    # Hits before the last life is gone: more than `beat` of them.
    assert found.chance == pytest.approx(stats.nbinom(lives, 1 - p).sf(beat), abs=TINY)
    assert (found.exact, found.error) == (True, 0.0)
    assert found.states <= lives * (beat + 1)


def test_lives_with_few_balls_are_binomial() -> None:
    game = make("lives", lives=9, balls=8)
    p = within("t4", -20, 20, 3, 15)
    found = chance(game, game.start(), known(), 5)
    assert found.chance == pytest.approx(stats.binom(8, p).sf(5), abs=TINY)


def test_lives_in_both_directions_are_independent() -> None:
    game = make("lives", Aim(width=D(30), depth=D("12.5")))
    p = within("t4", -15, 15, 3, 15) * within("t4", -6.25, 6.25, -2, 6)
    found = chance(game, game.start(), known(), 4)
    assert found.chance == pytest.approx(stats.nbinom(3, 1 - p).sf(4), abs=TINY)


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
@pytest.mark.parametrize("tolerance", ["0", "2", "2.5"])
def test_the_number_is_geometric(likelihood: Likelihood, tolerance: str) -> None:
    game = make("on_the_number", tolerance=D(tolerance))
    # On a whole-yard display, 45 with a tolerance of 2 is 43 to 47: 42.5 <= carry < 47.5. With 2.5
    # the rule takes 42 and not 48, so 41.5 <= carry < 47.5.
    low = -0.5 - math.floor(float(tolerance) + 0.5)
    high = 0.5 + math.ceil(float(tolerance) - 0.5)
    p = within(likelihood, low, high, -2, 6)
    for beat in (1, 2, 7, 20):
        found = chance(game, game.start(), known(likelihood), beat)
        assert found.chance == pytest.approx(stats.geom(p).cdf(beat - 1), abs=TINY)
    anything = chance(game, game.start(), known(likelihood), None)
    assert anything.chance == pytest.approx(stats.geom(p).cdf(20), abs=TINY)


@pytest.mark.parametrize("likelihood", LIKELIHOODS)
@pytest.mark.parametrize("cap", [None, 40])
def test_miss_totals_are_convolutions(likelihood: Likelihood, cap: int | None) -> None:
    game = make("miss_total", balls=6, cap=None if cap is None else D(cap))
    steps = np.arange(-30, 31)
    edges = np.concatenate([[-np.inf], (steps[:-1] + 0.5) * 5, [np.inf]])
    cells = np.diff(LAWS[likelihood].cdf((edges - 3) / 15))
    sizes = np.abs(steps) if cap is None else np.minimum(np.abs(steps), cap // 5)
    one = np.bincount(sizes, weights=cells)
    total = np.ones(1)
    for _ in range(6):
        total = np.convolve(total, one)
    for beat in (5, 60, 75, 77, 200):
        found = chance(game, game.start(), known(likelihood), beat)
        expected = total[np.arange(len(total)) * 5 < beat].sum()
        assert found.chance == pytest.approx(expected, abs=TINY)


# Shots needed for r in a row: mean (1 - p^r) / (p^r q): p = 0.5, r = 2, 3, 4, 5: 6, 14, 30, 62.
@pytest.mark.parametrize(("length", "mean"), [(2, 6), (3, 14), (4, 30), (5, 62)])
def test_so_many_in_a_row(length: int, mean: int) -> None:
    # p = 0.5 inside a width of twice the spread times the quartile.
    spread = 20.0 / LAWS["normal"].ppf(0.75)
    game = make("in_a_row", length=length, limit=200)
    pattern = Patterns(Plausible.known(0.0, spread, "normal"))
    law = score_distribution(game, pattern)
    assert sum(law.values()) == pytest.approx(1.0, abs=TINY)
    # The recurrence for the first run of successes gives the same law, ball by ball.
    first = [0.0] * 201
    for n in range(length, 201):
        first[n] = 0.5**length * (1.0 if n == length else 0.5 * (1.0 - sum(first[: n - length])))
    for score, share in law.items():
        if score is not None:
            assert share == pytest.approx(first[int(score)], abs=TINY)
    if length < 4:
        finished = sum(share * float(score) for score, share in law.items() if score is not None)
        assert finished == pytest.approx(mean, abs=1e-2)


# L lives: mean L p/q, variance L p/q^2.
def test_the_whole_law_of_an_endless_game() -> None:
    game = make("lives")
    p = within("t4", -20, 20, 3, 15)
    law = score_distribution(game, known())
    assert 1.0 - 1e-11 < sum(law.values()) <= 1.0
    mean = sum(float(s or 0) * share for s, share in law.items())
    square = sum(float(s or 0) ** 2 * share for s, share in law.items())
    assert mean == pytest.approx(3 * p / (1 - p), abs=TINY)
    assert square - mean**2 == pytest.approx(3 * p / (1 - p) ** 2, abs=1e-7)
    for beat in (3, 9, 25):
        above = sum(share for score, share in law.items() if score is not None and score > beat)
        assert chance(game, game.start(), known(), beat).chance == pytest.approx(above, abs=TINY)


@pytest.mark.parametrize("game", variants(), ids=name)
def test_exact_and_rollouts_agree_on_every_game(game: AnyGame) -> None:
    pattern = Pattern.of(rounded(np.arange(-14.0, 20.0, 2.0), 1.0), guess(100.0)).plausible()
    patterns = Patterns(pattern, pattern, hole=Holing(HolingPrior("green")))
    law = score_distribution(game, patterns)
    ranked = sorted((s for s in law if s is not None), key=float)
    middle, reached = ranked[-1], 0.0
    for score in ranked:
        reached += law[score]
        if reached > 0.5 * (1.0 - law.get(None, 0.0)):
            middle = score
            break
    if game.better == "lower" and middle == ranked[0]:
        middle = ranked[:2][-1]  # Nothing beats the best score there is.
    exact = next_ball(game, game.start(), patterns, middle, states=20_000)
    rolled = next_ball(game, game.start(), patterns, middle, states=0)
    assert exact.now.exact
    assert not rolled.now.exact
    assert rolled.now.error > 0
    assert abs(exact.now.chance - rolled.now.chance) < 4.5 * rolled.now.error
    # What an endless game still has in play is beyond every score walked to.
    won = sum(share for score, share in law.items() if beats(game.better, score, middle))
    won += 1.0 - sum(law.values())
    assert exact.now.chance == pytest.approx(won, abs=1e-9)
    if game.asks == "verdict" and exact.if_in is not None and rolled.if_in is not None:
        assert rolled.if_in == pytest.approx(exact.if_in, abs=0.06)


def test_the_next_ball_splits_the_chance() -> None:
    game = make("lives")
    p = within("t4", -20, 20, 3, 15)
    found = next_ball(game, game.start(), known(), 9)
    state = game.after(game.start(), game.outcomes()[1].shot)
    assert found.if_in == pytest.approx(chance(game, state, known(), 9).chance, abs=TINY)
    assert found.if_in is not None
    assert found.if_out is not None
    assert found.now.chance == pytest.approx(p * found.if_in + (1 - p) * found.if_out, abs=TINY)
    assert found.within is None
    total = make("miss_total", balls=3)
    assert next_ball(total, total.start(), known(), 30).within == 10


def test_certain_and_out_of_reach() -> None:
    lives, total = make("lives"), make("miss_total", balls=3)
    state = lives.start()
    for _ in range(4):
        state = lives.after(state, lives.outcomes()[1].shot)
    assert chance(lives, state, known(), 3).chance == 1.0
    assert chance(lives, state, known(), 3).states == 1
    assert 0.0 < chance(lives, state, known(), 4).chance < 1.0
    far = total.after(total.start(), total.outcomes()[0].shot)
    assert chance(total, far, known(), 150).chance == 0.0
    assert chance(total, far, known(), 150).states == 1


def test_a_metre_drill_is_hit_with_a_pattern_in_yards() -> None:
    game = make("lives")
    metres = type(game)(game.settings, game.aim, game.grid, "m")
    p = within("t4", -20 / 0.9144, 20 / 0.9144, 3, 15)
    found = chance(metres, metres.start(), known(), 9)
    assert found.chance == pytest.approx(stats.nbinom(3, 1 - p).sf(9), abs=TINY)


def test_a_missing_pattern_is_named() -> None:
    game = make("on_the_number")
    with pytest.raises(ValueError, match="pattern in depth"):
        chance(game, game.start(), Patterns(Plausible.known(0, 9)), 5)


@dataclass(frozen=True)
class Ladder:
    """Balls played and rungs climbed."""

    balls: int = 0
    rungs: int = 0


class Climb(Game[Settings, Ladder]):
    """A stranger's endless game where low wins: balls until four more held than missed."""

    id = "climb"
    title = "Climb"
    summary = "Up a rung for a ball that holds, down for one that does not."
    asks = "verdict"
    better = "lower"

    @property
    def endless(self) -> bool:
        return True

    def start(self) -> Ladder:
        return Ladder()

    def after(self, state: Ladder, shot: Shot) -> Ladder:
        up = 1 if self.aim.holds(shot) else -1
        return Ladder(state.balls + 1, max(state.rungs + up, 0))

    def over(self, state: Ladder) -> bool:
        return state.rungs == 4

    def score(self, state: Ladder) -> int:
        return state.balls

    def ended(self, state: Ladder) -> str | None:
        return "at the top" if self.over(state) else None

    def readout(self, state: Ladder) -> dict[str, int | str]:
        return {"balls": state.balls}


def test_a_strangers_endless_game() -> None:
    """Against a Markov chain written by hand; the chance to finish at all is 1."""
    game = Climb(Settings(), Aim(width=D(40)))
    p = within("t4", -20, 20, 3, 15)
    step = np.zeros((5, 5))
    for rung in range(4):
        step[rung, rung + 1] += p
        step[rung, max(rung - 1, 0)] += 1 - p
    step[4, 4] = 1.0
    for beat in (5, 9, 30):
        expected = np.linalg.matrix_power(step, beat - 1)[0, 4]
        assert chance(game, game.start(), known(), beat).chance == pytest.approx(expected, abs=TINY)
    whole = chance(game, game.start(), known(), None)
    assert whole.exact
    assert whole.chance == pytest.approx(1.0, abs=1e-9)
    law = score_distribution(game, known())
    assert law[9] == pytest.approx(
        np.linalg.matrix_power(step, 9)[0, 4] - np.linalg.matrix_power(step, 8)[0, 4], abs=TINY
    )


CALIBRATED = (
    make("lives"),
    make("lives", lives=2, balls=10),
    make("miss_total", balls=6),
    make("on_the_number", tolerance=D(2)),
    make("in_a_row"),
)
BINS = 5


def play(games: Sequence[AnyGame], players: int, seed: int) -> tuple[list[float], list[bool]]:
    """Players drawn from the guess, known by 30 balls, stating a chance in the middle of each game.

    What costs is to learn a pattern, so each player plays every game.
    """
    rng, pick = np.random.default_rng(seed), random.Random(seed)
    prior = guess(100.0)
    stated, came = [], []
    for _ in range(players):
        shape = LIKELIHOODS[rng.integers(3)]
        bias = rng.normal(0.0, prior.bias_sd)
        half = prior.half_width * math.exp(rng.normal(0.0, prior.log_sd))
        spread = half / LAWS[shape].ppf(5 / 6)
        hits = bias + spread * LAWS[shape].rvs(size=30, random_state=rng)
        pattern = Pattern.of(rounded(hits, 5.0), prior).plausible()
        truth = Patterns(*[Plausible.known(bias, spread, shape)] * 2)
        for game in games:
            asked, beaten = _one(game, Patterns(pattern, pattern), truth, pick)
            if asked is not None:
                stated.append(asked)
                came.append(beaten)
    return stated, came


def _one(
    game: AnyGame, known: Patterns, truth: Patterns, pick: random.Random
) -> tuple[float | None, bool]:
    """One run: the chance stated before one of its balls, and whether it came true."""
    outcomes = game.outcomes()
    line = ball_chances(game, outcomes, truth)
    beat = pick.choice(_typical(game))
    at, state = pick.randrange(4), game.start()
    asked: float | None = None
    for ball in range(1000):
        if game.over(state):
            break
        if ball == at:
            asked = chance(game, state, known, beat).chance
        state = game.after(state, outcomes[pick.choices(range(len(line)), line)[0]].shot)
    return asked, beats(game.better, game.score(state), beat)


def ball_chances(game: AnyGame, outcomes: tuple[Outcome, ...], truth: Patterns) -> list[float]:
    from drillrunner.odds.chance import weigh

    return [float(row[0]) for row in weigh(game, outcomes, truth).chances]


def _typical(game: AnyGame) -> list[Any]:
    return {
        "lives": [2, 4, 8],
        "miss_total": [30, 45, 70],
        "on_the_number": [3, 6, 12],
        "in_a_row": [5, 8, 15],
    }[game.id]


def test_stated_chances_come_true(capsys: pytest.CaptureFixture[str]) -> None:
    """The reliability table: in every fifth of the scale as often as stated, to 3.5 errors."""
    stated, came = play(CALIBRATED, 120, 0)
    chances, truth = np.array(stated), np.array(came, dtype=float)
    brier = float(np.mean((chances - truth) ** 2))
    climate = float(np.mean((truth.mean() - truth) ** 2))
    with capsys.disabled():
        print(f"\n{'stated':>14}{'runs':>6}{'mean':>8}{'came true':>11}")
        for low in np.arange(BINS) / BINS:
            inside = (chances >= low) & (chances < low + 1 / BINS + (low + 1 / BINS >= 1) * 1e-9)
            count = int(inside.sum())
            mean, share = chances[inside].mean(), truth[inside].mean()
            print(f"{low:7.1f} to {low + 1 / BINS:3.1f}{count:6}{mean:8.3f}{share:11.3f}")
            error = math.sqrt(max(float(mean * (1 - mean)), 0.01) / count)
            assert abs(share - mean) < 3.5 * error
        print(f"Brier score {brier:.4f}; always stating the mean: {climate:.4f}")
    assert brier < climate


def test_what_a_broken_off_walk_leaves_open_is_never_said_to_be_certain() -> None:
    game = make("lives")
    found = chance(game, game.start(), known(), 900)
    assert found.exact
    assert 0.0 < found.chance < 1e-11


def test_what_rollouts_leave_open_is_in_their_error() -> None:
    """A player who never misses by any measure: all of 5,000 balls held is as good as sure."""
    game = make("lives")
    never = Patterns(Plausible.known(0.0, 1.0, "normal"))
    found = chance(game, game.start(), never, 5000)
    assert not found.exact
    assert found.chance + found.error >= 0.999


def test_of_a_game_with_endlessly_many_states_only_so_much_is_remembered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    game, made = make("lives", lives=9), []

    class Noted(weigh.Rolling[bool]):
        def __init__(self, *of: Any) -> None:
            super().__init__(*of)
            made.append(self)

    monkeypatch.setattr("drillrunner.odds.chance.Rolling", Noted)
    whole = chance(game, game.start(), known(), 30, states=0, rollouts=300)
    monkeypatch.setattr(weigh, "REMEMBERED", 20)
    assert chance(game, game.start(), known(), 30, states=0, rollouts=300) == whole
    everything, little = (list(filter(None, one._stops.values())) for one in made)
    assert len(everything) == whole.states > 100
    assert len(little) == 20
    assert {after.state for stop in little for after in stop.after.values()} <= {
        stop.state for stop in little
    }


def test_rollouts_are_certain_of_nothing() -> None:
    game = make("miss_total", balls=10)
    for beat in (10_000, 1):
        found = chance(game, game.start(), known(), beat, states=0, rollouts=50)
        assert 0.0 < found.chance < 1.0
        assert found.error > 0.0


def test_a_walk_of_many_outcomes_gives_way_before_it_takes_long() -> None:
    game = make("miss_total", balls=5, cap=D(40))
    fine = type(game)(game.settings, game.aim, D("0.01"))
    calls = 0
    after = fine.after

    def counted(state: Any, shot: Shot) -> Any:
        nonlocal calls
        calls += 1
        return after(state, shot)

    fine.after = counted  # type: ignore[method-assign]
    found = chance(fine, fine.start(), known(), 60)
    assert not found.exact
    assert calls < 4_000_000


@given(st.integers(0, 2**32), st.integers(1, 4), st.integers(0, 3), st.booleans())
def test_the_mass_goes_where_each_edge_says(seed, nexts, sinks, all_over):
    """Edge by edge beside what the walk does at once; sinks lie side by side with states or not."""
    rng = np.random.default_rng(seed)
    ends = [*range(nexts), *(-1 - sink for sink in range(sinks))]
    starts, to, by = [], [], []
    for _ in range(5):
        starts.append(len(to))
        reached = rng.permutation(ends)[: rng.integers(1, len(ends) + 1)]
        to += [-1] * len(reached) if all_over and sinks else reached.tolist()
        by += rng.permutation(len(ends))[: len(reached)].tolist()
    mass, groups = rng.random((5, 3)), rng.random((len(ends), 3))
    expected = np.zeros((nexts + sinks, 3))
    for at, edge in enumerate(to):
        expected[edge] += mass[np.searchsorted(starts, at, side="right") - 1] * groups[by[at]]
    layer = Layer(list(range(5)), np.array(starts), np.array(to), np.array(by))
    assert _flow(layer, mass, groups, nexts, sinks) == pytest.approx(expected)
    assert _flow(layer, mass, groups, nexts, 0) == pytest.approx(expected[:nexts])
