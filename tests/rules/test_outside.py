"""The games against published laws, by simulation through the real rules.

Every ball is typed on the keypad grammar and judged by the game. Seeded, so the result is always
the same; a mean must lie within `SIGMAS` standard errors of the published one (a sound game fails
one such check in 150,000 seeds), and a whole distribution must pass a chi-square test at 1e-4.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from statistics import fmean

import pytest
from scipy import integrate, stats

from drillrunner.rules import Aim, AnyGame, Entry, Kind, Run, Score, Shot
from drillrunner.rules.keypad import read
from drillrunner.rules.units import text, whole
from tests.rules.bundled import make

SIGMAS = 4.5
RUNS = 8000
D = Decimal


@dataclass(frozen=True)
class Played:
    """A whole run: its score and the balls that it took."""

    score: Score
    counted: int


def runs(game: AnyGame, typed: Callable[[], str], count: int = RUNS) -> Iterator[Played]:
    """So many whole runs of a game, each ball typed afresh.

    The game's own states are walked, which is what a run does with them, as the first few show.
    """
    shots: dict[str, Shot] = {}
    for number in range(count):
        state, balls = game.start(), 0
        run = Run.begin(game) if number < 10 else None
        while not game.over(state):
            said = typed()
            if said not in shots:
                entry = read(said, game.ask, sure=True)
                assert entry.shot is not None
                shots[said] = entry.shot
            state, balls = game.after(state, shots[said]), balls + 1
            run = run and run.add(Entry(Kind.SHOT, said, shots[said]))
        score = game.score(state)
        assert run is None or (run.over, run.score, run.counted) == (True, score, balls)
        yield Played(score, balls)


def close(values: list[float], mean: float, sd: float) -> None:
    bound = SIGMAS * sd / math.sqrt(len(values))
    assert abs(fmean(values) - mean) < bound, (fmean(values), mean, bound)


def fits(values: list[int], chance: Callable[[int], float]) -> None:
    """Chi-square of whole numbers against a law; values expected under 10 times go together."""
    counts, expected, observed = Counter(values), [], []
    for value in range(max(counts) + 1):
        wanted = chance(value) * len(values)
        if wanted >= 10:
            expected.append(wanted)
            observed.append(counts[value])
    expected.append(len(values) - sum(expected))
    observed.append(len(values) - sum(observed))
    assert stats.chisquare(observed, expected).pvalue > 1e-4


# Feller, An Introduction to Probability Theory, vol. 1, ch. VI.8: the negative binomial (formula
# from memory): L lives and hit probability p give L p/q hits, variance L p/q^2, and L/q shots.
@pytest.mark.parametrize(("p", "hits"), [(0.5, 3), (0.8, 12), (0.9, 27)])
def test_lives_follow_the_negative_binomial(p: float, hits: int) -> None:
    rng = random.Random(f"lives {p}")
    played = list(runs(make("lives"), lambda: "5" if rng.random() < p else rng.choice("46"), 4000))
    held = [int(run.score or 0) for run in played]
    assert 3 * p / (1 - p) == pytest.approx(hits)
    sd = math.sqrt(3 * p) / (1 - p)
    close([float(n) for n in held], hits, sd)
    close([float(run.counted) for run in played], 3 / (1 - p), sd)
    fits(held, lambda n: float(stats.nbinom.pmf(n, 3, 1 - p)))


def test_lives_with_typed_numbers_judge_the_step_that_was_typed() -> None:
    # Read in whole yards, a 40-yard corridor holds a ball that finished up to 20.5 off.
    rng, spread = random.Random("typed"), 16.0
    p = 2 * stats.norm.cdf(20.5 / spread) - 1

    def typed() -> str:
        miss = whole(D(str(rng.gauss(0, spread))))
        return f"{'-' if miss < 0 else '+'}{text(abs(miss))}"

    game = make("lives", grid="1", lives=9)
    held = [float(run.score or 0) for run in runs(game, typed, 2000)]
    close(held, 9 * p / (1 - p), math.sqrt(9 * p) / (1 - p))


def folded(mean: float, spread: float) -> float:
    """Leone, Nelson & Nottingham 1961, Technometrics 3:543-550: the folded normal's mean."""
    ratio = mean / spread
    return spread * math.sqrt(2 / math.pi) * math.exp(-(ratio**2) / 2) + mean * (
        1 - 2 * float(stats.norm.cdf(-ratio))
    )


def miss(rng: random.Random, mean: float, spread: float, places: int = 2) -> str:
    value = round(D(str(rng.gauss(mean, spread))), places)
    return f"{'-' if value < 0 else '+'}{text(abs(value))}"


@pytest.mark.parametrize(
    ("ratio", "published"), [(0, 0.797885), (0.5, 0.895593), (1, 1.166631), (2, 2.016981)]
)
def test_miss_totals_follow_the_folded_normal(ratio: float, published: float) -> None:
    # Typed to the hundredth, so reading adds at most 0.005 a ball, far below the bound.
    spread, balls = 12.0, 10
    assert folded(ratio * spread, spread) / spread == pytest.approx(published, abs=5e-7)
    rng = random.Random(f"miss {ratio}")
    game = make("miss_total")
    totals = [
        float(run.score or 0) for run in runs(game, lambda: miss(rng, ratio * spread, spread), 3000)
    ]
    one = spread * math.sqrt(ratio**2 + 1 - published**2)
    close(totals, balls * spread * published, one * math.sqrt(balls))


def test_a_cap_cuts_the_folded_normal_off() -> None:
    spread, cap = 20.0, 30.0
    rng = random.Random("cap")
    law = stats.foldnorm(0, scale=spread)
    mean = integrate.quad(law.sf, 0, cap)[0]
    second = integrate.quad(lambda x: 2 * x * law.sf(x), 0, cap)[0]
    game = make("miss_total", balls=5, cap=D(30))
    totals = [float(run.score or 0) for run in runs(game, lambda: miss(rng, 0, spread), 3000)]
    close(totals, 5 * mean, math.sqrt(5 * (second - mean**2)))


def test_the_outcomes_carry_the_mean_of_misses_read_on_a_coarse_grid() -> None:
    # SciPy's normal over each outcome's region, beside simulated misses rounded to 5 yd.
    spread, rng = 14.0, random.Random("grid")
    game = make("miss_total", balls=1)
    law = stats.norm(3, spread)
    mean = square = total = 0.0
    for outcome in game.outcomes():
        low, high = (None if end is None else float(end) for end in outcome.lateral)
        share = (1.0 if high is None else law.cdf(high)) - (0.0 if low is None else law.cdf(low))
        size = float(game.score(game.after(game.start(), outcome.shot)) or 0)
        total, mean, square = total + share, mean + share * size, square + share * size**2
    assert total == pytest.approx(1)

    def typed() -> str:
        value = 5 * whole(D(str(rng.gauss(3, spread))) / 5)
        return f"{'-' if value < 0 else '+'}{text(abs(value))}"

    scores = [float(run.score or 0) for run in runs(game, typed)]
    close(scores, mean, math.sqrt(square - mean**2))


# The first success among independent trials is geometric, mean 1/p (Feller, vol. 1, ch. VI).
@pytest.mark.parametrize(("tolerance", "spread"), [(0, 2.0), (2, 5.0)])
def test_hitting_the_number_follows_the_geometric_law(tolerance: int, spread: float) -> None:
    rng = random.Random(f"number {tolerance}")
    reach = (tolerance + 0.5) / spread
    p = float(2 * stats.norm.cdf(reach) - 1)
    game = make("on_the_number", tolerance=D(tolerance), limit=200)
    played = list(runs(game, lambda: text(whole(D(str(rng.gauss(45, spread)))))))
    scores = [int(run.score or 0) for run in played]
    close([float(n) for n in scores], 1 / p, math.sqrt(1 - p) / p)
    fits(scores, lambda n: float(stats.geom.pmf(n, p)))


def test_a_limit_leaves_the_share_without_a_score_that_the_geometric_law_gives() -> None:
    rng, p, limit = random.Random("limit"), 0.15, 10
    game = make("on_the_number", limit=limit)
    played = list(runs(game, lambda: "45" if rng.random() < p else "47"))
    none = [float(run.score is None) for run in played]
    share = (1 - p) ** limit
    close(none, share, math.sqrt(share * (1 - share)))


# Balls needed for r in a row: (1 - p^r) / (p^r q) (Feller, vol. 1, ch. XIII; from memory); the
# variance is 1/(q p^r)^2 - (2r + 1)/(q p^r) - p/q^2, of the same place. The limit of 200 balls
# is reached in fewer than one run in a million here.
@pytest.mark.parametrize(("r", "mean"), [(2, 6), (3, 14)])
def test_so_many_in_a_row_needs_the_balls_that_recurrent_events_give(r: int, mean: int) -> None:
    rng, p, q = random.Random(f"row {r}"), 0.5, 0.5
    assert (1 - p**r) / (p**r * q) == mean
    game = make("in_a_row", length=r, limit=200)
    needed = [float(run.score or 0) for run in runs(game, lambda: "5" if rng.random() < p else "4")]
    variance = 1 / (q * p**r) ** 2 - (2 * r + 1) / (q * p**r) - p / q**2
    close(needed, mean, math.sqrt(variance))


def test_a_225_yard_drive_3_4_degrees_off_line() -> None:
    # Lateral spread = distance x tan(angle): 225 yd at 3.4 degrees is 13.37 yd, and 0.7382 of a
    # normal player's shots are then inside 30 yd (computed). Read as verdicts at the edge itself.
    spread = 225 * math.tan(math.radians(3.4))
    assert spread == pytest.approx(13.37, abs=0.005)
    game = make("lives", Aim(width=D(30)))
    (inside,) = [o for o in game.outcomes() if game.aim.holds(o.shot)]
    low, high = inside.lateral
    assert low is not None
    assert high is not None
    share = stats.norm.cdf(float(high) / spread) - stats.norm.cdf(float(low) / spread)
    assert share == pytest.approx(0.7382, abs=5e-5)
