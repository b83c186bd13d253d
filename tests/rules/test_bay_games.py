"""Bands, pairs, and the numbers up and back: scored by hand, and against SciPy's distributions."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from scipy.stats import binom, multinomial, norm

from drillrunner.odds.chance import Patterns, score_distribution
from drillrunner.odds.shape import Plausible
from drillrunner.rules import Aim, AnyGame, Ask, Run, Station
from drillrunner.rules.keypad import read
from tests.rules.bundled import game_class, make

D = Decimal


def played(game: AnyGame, typed: str) -> Run:
    """A run in which this was typed."""
    run = Run.begin(game)
    for word in typed.split():
        run = run.add(read(word, run.ask))
    return run


def pair(wide: int, narrow: int, pairs: int) -> AnyGame:
    cls = game_class("both_hold")
    gates = [
        Station(Aim(width=D(width)), "verdict", D(1), club)
        for club, width in (("driver", wide), ("9-iron", narrow))
    ]
    return cls(cls.Settings(pairs=pairs), gates[0].aim, D(1), "yd", gates)


def numbers(*carries: int, cap: int = 20) -> AnyGame:
    cls = game_class("up_and_back")
    rungs = [Station(Aim(carry=D(carry)), "carry", D(1), "sand-wedge") for carry in carries]
    return cls(cls.Settings(cap=D(cap)), rungs[0].aim, D(1), "yd", rungs)


def test_bands_by_hand() -> None:
    """5 off is still in a band 10 wide, 15 off in one of 30; 16 off and lost balls are outside."""
    game = make("bands", Aim(width=D(30)), "1", balls=6)
    run = played(game, "0 -5 +6 15 -16 lost")
    assert (run.over, run.score) == (True, 3 + 3 + 1 + 1)


def test_pairs_by_hand() -> None:
    """Held both, missed first, missed second, held both."""
    run = played(pair(40, 24, 4), "5 5 4 5 5 6 5 5")
    assert (run.over, run.score) == (True, 2)


def test_a_pair_asks_one_club_and_then_the_other() -> None:
    run = played(pair(40, 24, 2), "5")
    assert (run.ask.club, run.ask.aim.width) == ("9-iron", 24)
    assert played(pair(40, 24, 2), "5 5").ask.club == "driver"


def test_up_and_back_by_hand() -> None:
    """40 55 70 55 40: off by 2, 0, 5, 20 (30 off counts at most 20) and 1."""
    run = played(numbers(40, 55, 70), "42 55 65 25 39")
    assert (run.over, run.score) == (True, 28)


def test_the_way_up_and_back_passes_the_top_once() -> None:
    run, asked = Run.begin(numbers(40, 55, 70)), []
    while not run.over:
        asked.append(run.ask.aim.carry)
        run = run.add(read("50", run.ask))
    assert asked == [40, 55, 70, 55, 40]


def test_points_are_a_multinomial() -> None:
    """Balls are independent, each in the inner band, the outer one or outside (SciPy)."""
    bias, spread = 2.0, 9.0
    found = score_distribution(
        make("bands", Aim(width=D(30)), "1", balls=4),
        Patterns(Plausible.known(bias, spread, "normal")),
    )
    truth = norm(bias, spread)
    # Read to the yard, a ball up to half a yard beyond an edge is read as on it.
    inner = truth.cdf(5.5) - truth.cdf(-5.5)
    within = truth.cdf(15.5) - truth.cdf(-15.5)
    law = multinomial(4, [inner, within - inner, 1 - within])
    wanted: dict[int, float] = {}
    for a in range(5):
        for b in range(5 - a):
            points = 3 * a + b
            wanted[points] = wanted.get(points, 0.0) + float(law.pmf([a, b, 4 - a - b]))
    for points, share in wanted.items():
        assert found.get(points, 0.0) == pytest.approx(share, abs=1e-9)


class TwoClubs:
    """A known pattern for each of two clubs."""

    def __init__(self) -> None:
        self.by_club = {
            club: Patterns(Plausible.known(1.0, spread, "normal"))
            for club, spread in (("driver", 16.0), ("9-iron", 8.0))
        }

    def at(self, ask: Ask) -> Patterns:
        return self.by_club[ask.club]


def test_pairs_that_hold_are_binomial() -> None:
    """Six pairs, each of which both hold with the product of the two chances (SciPy)."""
    found = score_distribution(pair(40, 24, 6), TwoClubs())
    drive, iron = norm(1.0, 16.0), norm(1.0, 8.0)
    both = (drive.cdf(20) - drive.cdf(-20)) * (iron.cdf(12) - iron.cdf(-12))
    for held in range(7):
        assert found.get(held, 0.0) == pytest.approx(float(binom(6, both).pmf(held)), abs=1e-9)


def test_the_mean_total_is_that_of_folded_normals() -> None:
    """Mean of a folded normal: Leone, Nelson & Nottingham 1961, Technometrics 3:543-550 (from
    memory). Whole yards and the cap far out change it by little.
    """
    bias, spread = 2.0, 6.0
    found = score_distribution(
        numbers(60, 70, cap=60),
        Patterns(depth=Plausible.known(bias, spread, "normal")),
    )
    mean = sum(float(score or 0) * share for score, share in found.items())
    one = spread * math.sqrt(2 / math.pi) * math.exp(-(bias**2) / 2 / spread**2) + bias * (
        1 - 2 * norm.cdf(-bias / spread)
    )
    assert mean == pytest.approx(3 * one, abs=0.06)
