"""The posterior against published and SciPy's fits, and what a person reads from it."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Iterable, Sequence

import numpy as np
import pytest
from scipy import stats

from drillrunner.odds.desk import remark, side
from drillrunner.odds.fit import Grid, log_likelihood, posterior
from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import HALF_LIFE, Pattern, memory
from drillrunner.odds.prior import Prior, guess
from drillrunner.odds.shape import TWO_IN_THREE, Plausible
from drillrunner.rules import Direction

Spans = Sequence[tuple[float, float]]


def said(spans: Iterable[tuple[float, float]]) -> list[Observation]:
    return [Observation((span,)) for span in spans]


def rounded(values: Iterable[float], grid: float) -> list[Observation]:
    steps = np.rint(np.asarray(list(values)) / grid)
    return said(((k - 0.5) * grid, (k + 0.5) * grid) for k in steps.tolist())


def check_mode(spans: Spans, mean: float, log_sd: float) -> None:
    """The mode of the grid under a flat prior is the fit, to half a grid step."""
    prior = Prior(TWO_IN_THREE["normal"] * math.exp(log_sd), 2.0 * math.exp(log_sd), 0.5, flat=True)
    # The box is centred a third of a step off, so that no node lies on the answer by luck.
    moved = [(low - prior.bias_sd / 9, high - prior.bias_sd / 9) for low, high in spans]
    found = Pattern.of(said(moved), prior, half_life=None, names=("normal",))
    bias, log_half = found.mode
    grid = found.grid
    assert abs(bias + prior.bias_sd / 9 - mean) <= (grid.bias[0, 1] - grid.bias[0, 0]) / 2
    spread = log_half - math.log(TWO_IN_THREE["normal"])
    assert abs(spread - log_sd) <= (grid.log_half[0, 1] - grid.log_half[0, 0]) / 2


# R fitdistrplus, quoted in SciPy's test suite: mean 0.5919990, sd 0.2868042.
def test_the_published_interval_censored_fit() -> None:
    spans = [(0.10, 0.20), (0.50, 0.55), (0.75, 0.90), (0.80, 0.95)]
    check_mode(spans, 0.5919990, math.log(0.2868042))


# Tobin 1958, the zeros left-censored; R survreg: mean -2.227, ln sd 1.783.
def test_the_published_left_censored_fit() -> None:
    data = [0, 0.7, 0, 0, 0, 0, 0, 3.7, 0, 3, 10.4, 0, 0, 0, 1.5, 0, 0, 3.5, 6.1, 0]
    spans = [(v - 5e-4, v + 5e-4) if v else (-math.inf, 0.0) for v in data]
    check_mode(spans, -2.227, 1.783)


@pytest.mark.parametrize("seed", range(12))
def test_scipy_fits_on_random_sets(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.normal(rng.uniform(-15, 15), rng.uniform(6, 20), rng.integers(15, 60))
    lines = np.sort(rng.normal(0, 15, 8))
    # Some are read on a 5 yd grid, some fall between lines, some beyond the last of them.
    low, high = np.rint(values / 5) * 5 - 2.5, np.rint(values / 5) * 5 + 2.5
    coarse = rng.random(len(values)) < 0.5
    edges = np.concatenate([[-np.inf], lines, [np.inf]])
    place = np.searchsorted(lines, values)
    low, high = np.where(coarse, edges[place], low), np.where(coarse, edges[place + 1], high)
    left, right = np.isneginf(low), np.isposinf(high)
    between = ~left & ~right
    data = stats.CensoredData(
        left=high[left], right=low[right], interval=np.column_stack([low, high])[between]
    )
    # From the spread of the values themselves, where the search of SciPy does not get lost.
    mean, sd = stats.norm.fit(data, loc=values.mean(), scale=values.std())
    check_mode(list(zip(low.tolist(), high.tolist(), strict=True)), mean, math.log(sd))


@pytest.mark.parametrize("seed", range(30))
def test_each_shape_has_a_grid_that_is_fine_enough_and_reaches_far_enough(seed: int) -> None:
    """Sums over steps of up to 0.83 posterior sds are as good as integrals (see `fit`)."""
    rng = np.random.default_rng(seed)
    bias, spread = rng.normal(0, 25), math.exp(rng.normal(2.3, 0.8))
    values = bias + spread * rng.standard_t(2, rng.integers(1, 300))
    found = Pattern.of(rounded(values, float(rng.choice([1, 5]))), guess(225), None)
    for row in range(len(found.grid.names)):
        for axis, nodes in ((1, found.grid.bias[row]), (0, found.grid.log_half[row])):
            weight = found.weight[row].sum(axis=axis) / found.weight[row].sum()
            sd = math.sqrt(weight @ (nodes - weight @ nodes) ** 2)
            assert sd >= 1.2 * (nodes[1] - nodes[0])
            # A grid need not be wider than the guess: shots only narrow it.
            most = found.prior.bias_sd if axis == 1 else found.prior.log_sd
            whole = nodes[-1] - nodes[0] >= 7.99 * most
            assert whole or max(weight[0], weight[-1]) < 0.02 * weight.max()


@pytest.mark.parametrize("shots", [4, 40, 400])
def test_the_grid_is_as_good_as_one_four_times_as_fine(shots: int) -> None:
    values = 5.0 + 12.0 * np.random.default_rng(shots).standard_t(4, shots)
    found = Pattern.of(rounded(values, 5.0), guess(200), None, names=("t4",))
    (bias,), (half,) = found.grid.bias, found.grid.log_half
    fine = Grid(("t4",), *(np.linspace(v[0], v[-1], 4 * len(v) - 3)[None, :] for v in (bias, half)))
    weight = posterior(log_likelihood(found.groups, fine), found.prior, fine)
    for span in ((-20.0, 20.0), (-math.inf, -20.0), (-2.5, 2.5)):
        whole = fine.points.chances([span])[0] @ weight.ravel()
        assert found.grid.points.chances([span])[0] @ found.weight.ravel() == pytest.approx(
            whole, abs=3e-4
        )


def test_grids_of_one_and_five_yards_agree_in_the_limit() -> None:
    values = 4.0 + 14.0 * np.random.default_rng(5).standard_normal(4000)
    fine, coarse = (Pattern.of(rounded(values, grid), guess(225), None) for grid in (1.0, 5.0))
    for one, five, within in (
        (fine.bias, coarse.bias, 0.15),
        (fine.half_width, coarse.half_width, 0.15),
        (fine.inside(40.0), coarse.inside(40.0), 0.004),
    ):
        assert tuple(one) == pytest.approx(tuple(five), abs=within)
    assert fine.bias.low < values.mean() < fine.bias.high
    assert fine.half_width.median == pytest.approx(14.0 * TWO_IN_THREE["normal"], rel=0.03)


def test_ball_by_ball_is_all_at_once() -> None:
    rng = np.random.default_rng(8)
    balls = rounded(6.0 + 12.0 * rng.standard_t(4, 120), 5.0)
    step = Pattern.of([], guess(200))
    for ball in balls:
        step = step.after(ball)
    whole = Pattern.of(reversed(balls), guess(200))
    assert step.shots == whole.shots == 120
    for one, other, within in (
        (step.bias, whole.bias, 0.01),
        (step.half_width, whole.half_width, 0.01),
        (step.inside(40), whole.inside(40), 1e-3),
    ):
        assert tuple(one) == pytest.approx(tuple(other), abs=within)
    assert dict(step.groups) == pytest.approx(dict(whole.groups))


def test_only_the_latest_shots_matter_and_memory_stays_flat() -> None:
    rng = np.random.default_rng(9)
    balls = rounded(12.0 * rng.standard_normal(5000), 5.0)
    found = Pattern.of(balls, guess(200))
    assert found.shots == memory() == 10 * HALF_LIFE
    assert found.bias == Pattern.of(balls[: memory()], guess(200)).bias
    for ball in balls[:60]:
        found = found.after(ball)
    assert found.shots == memory()
    assert len(found.groups) < 40


# What is cut off weighs 0.1 %: 2^-10 of everything.
def test_the_cut_off_is_as_small_as_stated() -> None:
    fade = 0.5 ** (1 / HALF_LIFE)
    kept = sum(fade**age for age in range(memory()))
    assert 1.0 - kept / (1.0 / (1.0 - fade)) == pytest.approx(2.0**-10)


@pytest.mark.parametrize("distance", [60, 120, 200, 250])
@pytest.mark.parametrize("direction", ["lateral", "depth"])
def test_before_a_ball_the_laws_walked_are_within_three_tenths_of_a_point(
    distance: float, direction: Direction
) -> None:
    """Of the whole grid, for one ball in a width and for several in a row."""
    found = Pattern.of([], guess(distance, direction))
    few = found.plausible()
    assert few.weight.sum() == pytest.approx(1.0)
    assert sum(count for _, count in few.shapes) == len(few.bias)
    spans = [(-20.0, 20.0), (20.0, math.inf), (-10.0, 10.0), (-2.5, 2.5)]
    grid, laws = found.grid.points.chances(spans), few.chances(spans)
    for row in (1, 2, 3, 5, 9, 20):
        whole = grid**row @ found.weight.ravel()
        assert laws**row @ few.weight == pytest.approx(whole, abs=3e-3)


@pytest.mark.parametrize("shots", [3, 10, 50, 200])
def test_the_laws_walked_say_what_the_laws_shown_say(shots: int) -> None:
    rng = np.random.default_rng(3)
    found = Pattern.of(rounded(5.0 + 13.0 * rng.standard_t(4, shots), 5.0), guess(200))
    few, many = found.plausible(), found.laws
    spans = [(-20.0, 20.0), (20.0, math.inf), (-2.5, 2.5)]
    for row in (1, 9):
        one, other = (laws.chances(spans) ** row @ laws.weight for laws in (few, many))
        assert one == pytest.approx(other, abs=0.012)


def test_no_shots_is_the_guess() -> None:
    found = Pattern.of([], guess(200))
    assert found.guess
    assert found.shots == 0
    assert found.bias.median == pytest.approx(0.0, abs=0.2)
    assert found.half_width.median == pytest.approx(guess(200).half_width, rel=0.02)
    assert found.right == pytest.approx(0.5, abs=0.01)
    assert list(found.kinds.values()) == pytest.approx([1 / 3] * 3)
    assert side(found, "lateral") == "a guess so far"


def test_a_dozen_shots_overrule_the_guess() -> None:
    """A player of half the guessed width, well off the aim, is believed after a dozen numbers."""
    prior = guess(200)
    found = Pattern.of(rounded([14, 18, 20, 22, 16, 25, 19, 12, 21, 17, 23, 20], 1.0), prior)
    assert not found.guess
    assert found.bias.low > 14
    assert found.half_width.high < prior.half_width


def test_the_side_in_words() -> None:
    right = rounded([10, 15, 10, 5, 20, 15, 10, 0, 10, 15], 5.0)
    left = [Observation(((-span[1], -span[0]),)) for ball in right for span in ball.spans]
    assert side(Pattern.of(right, guess(150)), "lateral") == "you miss right; 99 in 100 sure"
    assert side(Pattern.of(left, guess(150)), "lateral") == "you miss left; 99 in 100 sure"
    assert side(Pattern.of(left, guess(150, "depth")), "depth").startswith("you come up short")
    evenly = rounded([-10, 15, -20, 5, 20, -15, 10, 0, -10, 5], 5.0)
    assert side(Pattern.of(evenly, guess(150)), "lateral") == "no side that is sure yet"


def test_a_side_not_seen_tells_the_spread_and_no_side() -> None:
    balls = [Observation(((-17.5, -12.5), (12.5, 17.5)))] * 30
    found = Pattern.of(balls, guess(200))
    assert found.right == pytest.approx(0.5, abs=0.05)
    assert 9 < found.half_width.median < 25 or abs(found.bias.high) > 9


def test_widths_never_in_force_are_by_shape() -> None:
    held, right = Observation(((-20.0, 20.0),), 20.0), Observation(((20.0, math.inf),), 20.0)
    verdicts = Pattern.of([held, right] * 8, guess(200))
    assert remark(verdicts, 40) is None
    assert remark(verdicts, 30) == "by shape, not seen"
    both = Pattern.of([held] * 8 + rounded(range(-10, 10, 2), 1.0), guess(200))
    assert remark(both, 30) is None
    assert remark(Pattern.of([], guess(200)), 30) is None


def test_the_chance_inside_a_known_width() -> None:
    rng = np.random.default_rng(4)
    values = 3.0 + 11.0 * rng.standard_normal(400)
    found = Pattern.of(rounded(values, 1.0), guess(200), None).inside(30)
    truth = float(Plausible.known(3.0, 11.0, "normal").chances([(-15.0, 15.0)])[0, 0])
    assert found.low < truth < found.high
    assert found.high - found.low < 0.1


def test_a_learnt_pattern_imports_no_part_of_numpy_that_it_can_do_without() -> None:
    script = (
        "import sys\n"
        "from drillrunner.odds.observe import Observation\n"
        "from drillrunner.odds.pattern import Pattern\n"
        "from drillrunner.odds.prior import guess\n"
        "Pattern.of([Observation(((4.5, 5.5),))], guess(200.0)).inside(20.0)\n"
        "heavy = {'numpy.ma', 'numpy.polynomial', 'scipy'}\n"
        "sys.exit(str(sorted(heavy & set(sys.modules)) or ''))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stderr.strip() == ""
