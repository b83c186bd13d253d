"""Odds where the target moves: against closed forms, a chain of states, and simulation."""

from __future__ import annotations

import math
import random
import tracemalloc
from decimal import Decimal

import numpy as np
import pytest

from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds import chance as chance_module
from drillrunner.odds import graph
from drillrunner.odds.chance import Chance, Patterns, chance, score_distribution
from drillrunner.odds.desk import BALLS, Bag, Picture, bag_of, player_for, states_for
from drillrunner.odds.shape import Plausible
from drillrunner.odds.usual import half_reach
from drillrunner.odds.weigh import Table, halton, joined
from drillrunner.rules import Aim, AnyGame, Ask, Ball, Shot, Station
from tests.rules.bundled import game_class, make
from tests.shipped import CATALOGUE

D = Decimal


def phi(z: float) -> float:
    """The standard normal distribution."""
    return math.erfc(-z / math.sqrt(2.0)) / 2.0


def held(width: float, bias: float, spread: float) -> float:
    """How likely a normal ball finishes inside a corridor."""
    return phi((width / 2 - bias) / spread) - phi((-width / 2 - bias) / spread)


def narrowing(width: int, **settings: object) -> AnyGame:
    return make("narrowing", Aim(width=D(width)), **settings)


@pytest.mark.parametrize(
    "id", ["ladder-of-wedges", "miss-total", "miss-total-five", "on-the-number"]
)
def test_what_a_game_goes_by_changes_no_chance(id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each shot tried by itself gives the same chances as those alike taken together."""
    game = load([bundled("games")]).drill(id).game()
    truth = Patterns(Plausible.known(4.0, 9.0), Plausible.known(-3.0, 4.0))
    together = score_distribution(game, truth)
    monkeypatch.setattr(type(game), "goes_by", lambda self, ask, shot: shot)
    monkeypatch.setattr(graph, "_graphs", {})
    apart = score_distribution(game, truth)
    assert apart.keys() == together.keys()
    for score, share in apart.items():
        assert share == pytest.approx(together[score], rel=1e-9, abs=1e-15)


def test_what_the_stretches_of_a_group_weigh_is_the_sum_of_its_answers() -> None:
    game = load([bundled("games")]).drill("miss-total").game()
    truth = Patterns(Plausible.known(4.0, 9.0))
    table, own = Table(game, (game.ask,), truth), graph.graph_of(game)
    own.edges(own.number(game.start()))
    each = table.outcomes(game.ask, own.outcomes_of(game.ask))
    for number, chances in enumerate(table.groups(own)):
        _, places = own.taken(number)
        assert chances == pytest.approx(each[list(places)].sum(axis=0), rel=1e-12)
    rising = [(None, D(1)), (D(1), D(2)), (D(3), D(4)), (D(4), None)]
    assert joined(rising) == [(None, D(2)), (D(3), None)]


@pytest.mark.parametrize(("lives", "floor"), [(1, 10), (3, 10), (2, 30)])
def test_narrowing_is_the_chain_that_its_rules_are(lives: int, floor: int) -> None:
    """A Markov chain over (held, lives), its end by elimination (Kemeny & Snell, Finite Markov
    Chains, 1960, absorbing chains; from memory). Where the floor is the width it is the negative
    binomial (Feller, vol. 1, VI.8; from memory): mean L p/q.
    """
    bias, spread, width, narrower = 3.0, 12.0, 30, 4
    found = score_distribution(
        narrowing(width, lives=lives, floor=D(floor), narrower=D(narrower)),
        Patterns(Plausible.known(bias, spread, "normal")),
    )
    # reach[l]: the chance to stand with l lives left and k held, for k = 0, 1, 2 ...
    reach = [0.0] * (lives + 1)
    reach[lives] = 1.0
    for k in range(40):
        p = held(max(width - k * narrower, floor), bias, spread)
        for left in range(lives, 0, -1):
            reach[left - 1] += reach[left] * (1 - p)
        assert found.get(k, 0.0) == pytest.approx(reach[0], abs=1e-9)
        reach = [0.0, *(r * p for r in reach[1:])]
    if floor == width:
        p = held(width, bias, spread)
        mean = sum(float(score or 0) * share for score, share in found.items())
        assert mean == pytest.approx(lives * p / (1 - p), rel=1e-6)


def rungs(*stations: tuple[int, str], tolerance: int = 3, limit: int = 200) -> AnyGame:
    cls = game_class("ladder")
    listed = [Station(Aim(carry=D(carry)), "carry", D(1), club) for carry, club in stations]
    settings = cls.Settings(tolerance=D(tolerance), limit=limit)
    return cls(settings, listed[0].aim, D(1), "yd", listed)


class Known:
    """Patterns known exactly, by club."""

    def __init__(self, **depth: tuple[float, float]) -> None:
        self.by_club = {
            club: Patterns(depth=Plausible.known(*values, "normal"))
            for club, values in depth.items()
        }

    def at(self, ask: Ask) -> Patterns:
        return self.by_club[ask.club]


def test_a_ladder_is_a_sum_of_waits() -> None:
    """Each rung takes a geometric number of balls (Feller, vol. 1, VI.8; from memory): the mean is
    the sum of 1/p, the variance the sum of q/p^2.
    """
    game = rungs((50, "a"), (60, "b"), (70, "a"))
    truth = Known(a=(1.0, 5.0), b=(-2.0, 7.0))
    hits = [held(7, 1.0, 5.0), held(7, -2.0, 7.0), held(7, 1.0, 5.0)]
    found = score_distribution(game, truth)
    mean = sum(float(score or 0) * share for score, share in found.items())
    square = sum(float(score or 0) ** 2 * share for score, share in found.items())
    assert mean == pytest.approx(sum(1 / p for p in hits), rel=1e-6)
    assert square - mean**2 == pytest.approx(sum((1 - p) / p**2 for p in hits), rel=1e-5)
    straight = chance(game, game.start(), truth, 4)
    assert straight.exact
    assert straight.chance == pytest.approx(math.prod(hits), rel=1e-9)


def test_one_rung_again_and_again_is_the_negative_binomial() -> None:
    """r successes: chance of exactly n balls is C(n-1, r-1) p^r q^(n-r) (Feller, vol. 1, VI.8)."""
    game = rungs((50, "a"), (50, "a"), (50, "a"))
    p = held(7, 0.0, 6.0)
    found = score_distribution(game, Known(a=(0.0, 6.0)))
    for n in range(3, 20):
        expected = math.comb(n - 1, 2) * p**3 * (1 - p) ** (n - 3)
        assert found[n] == pytest.approx(expected, abs=1e-10)


def unknown(seed: int, count: int = 60) -> Plausible:
    """A made-up posterior."""
    rng = np.random.default_rng(seed)
    weight = rng.random(count)
    return Plausible(
        rng.normal(0, 2, count),
        rng.uniform(3, 9, count),
        weight / weight.sum(),
        (("normal", count),),
    )


class TwoClubs:
    """Two clubs with a posterior each, independent of each other."""

    def __init__(self) -> None:
        self.by_club = {club: Patterns(depth=unknown(seed)) for seed, club in enumerate("ab")}

    def at(self, ask: Ask) -> Patterns:
        return self.by_club[ask.club]


def test_two_patterns_are_averaged_over_joint_draws() -> None:
    """Against the whole sum over every pair of patterns, which two clubs still allow."""
    game, both = rungs((50, "a"), (60, "b"), limit=12), TwoClubs()
    found = chance(game, game.start(), both, 5)
    first, second = (both.by_club[club].depth for club in "ab")
    assert first is not None
    assert second is not None
    p, q = (part.chances([(-3.5, 3.5)])[0] for part in (first, second))

    def within(balls: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
        waits = [(p * (1 - p) ** k, q * (1 - q) ** k) for k in range(balls)]
        return sum(  # type: ignore[return-value]
            np.outer(waits[i][0], waits[j][1])
            for i in range(balls)
            for j in range(balls)
            if i + j + 2 <= balls
        )

    truth = first.weight @ within(4) @ second.weight
    assert not found.exact
    assert 0 < found.error < 0.005
    assert abs(found.chance - truth) < 0.005
    assert chance(game, game.start(), both, 5) == found


def test_one_pattern_is_walked_as_it_is() -> None:
    """A corridor that narrows asks for one pattern: exact, without a draw."""
    pattern = unknown(3)
    game = narrowing(40, lives=2)
    found = chance(game, game.start(), Patterns(lateral=pattern), 6)
    assert found.exact
    assert found.error == 0.0


def test_rolled_and_walked_agree_where_the_target_moves() -> None:
    game, both = rungs((50, "a"), (60, "b"), limit=12), TwoClubs()
    walked = chance(game, game.start(), both, 8)
    rolled = chance(game, game.start(), both, 8, states=3, rollouts=4000)
    assert not rolled.exact
    assert abs(walked.chance - rolled.chance) < 4 * rolled.error


def test_a_simulated_player_climbs_as_often_as_is_said() -> None:
    """Balls drawn one by one through the game's own rules; 4 standard errors."""
    game = rungs((45, "a"), (60, "b"), (75, "a"), tolerance=4, limit=10)
    truth, rng = Known(a=(1.0, 5.0), b=(-2.0, 7.0)), random.Random(9)
    said = chance(game, game.start(), truth, 7).chance
    won = 0
    for _ in range(2000):
        state = game.start()
        while not game.over(state):
            ask = game.asked(state)
            bias, spread = (1.0, 5.0) if ask.club == "a" else (-2.0, 7.0)
            carry = round(float(ask.aim.carry or 0) + rng.gauss(bias, spread))
            state = game.after(state, Shot(carry=D(carry), carry_grid=D(1)))
        score = game.score(state)
        won += score is not None and score < 7
    assert abs(won / 2000 - said) < 4 * math.sqrt(said * (1 - said) / 2000)


def test_a_bag_follows_the_ball_with_its_own_club() -> None:
    bag = Bag(lambda ask: Picture((), player_for(ask.aim, ask.unit, 60.0)))
    game = rungs((50, "a"), (60, "b"))
    asks = [game.asked_at(station) for station in game.stations]
    before = [bag.picture(ask) for ask in asks]
    later = bag.after(Ball(Shot(carry=D(52), carry_grid=D(1)), asks[0]))
    assert later.picture(asks[0]).depth.shots == 1
    assert later.picture(asks[1]) is before[1]


def test_halton_fills_evenly() -> None:
    """The first points by hand (van der Corput in base 2 and 3), and the discrepancy of a few."""
    points = halton(4, 2)
    assert points.tolist() == [
        pytest.approx([1 / 2, 1 / 3]),
        pytest.approx([1 / 4, 2 / 3]),
        pytest.approx([3 / 4, 1 / 9]),
        pytest.approx([1 / 8, 4 / 9]),
    ]
    assert abs(halton(256, 3).mean(axis=0) - 0.5).max() < 0.02


def _asked(id: str) -> Chance:
    """The chance on a drill of one who is not known at all, as somebody waits for it."""
    drill = CATALOGUE.drill(id)
    game, bag = drill.game(), bag_of(None, None)
    return chance(
        game, game.start(), bag, half_reach(drill), states=states_for(game, BALLS), rollouts=1_000
    )


def test_a_wide_walk_goes_back_pattern_by_pattern_to_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    at_once = _asked("ladder-of-wedges")
    monkeypatch.setattr(chance_module, "HELD", 5_000)
    assert _asked("ladder-of-wedges") == at_once


@pytest.mark.parametrize("id", ["holes-of-larch-bottom", "irons-up-and-back", "six-long-putts"])
def test_no_drill_takes_much_room_while_it_is_weighed(id: str) -> None:
    """Some 100, 55 and 50 MiB were held at once by those that ask of many patterns or answers."""
    graph._graphs.clear()
    tracemalloc.start()
    _asked(id)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 40 * 2**20
