"""A fair fight is one: found by the exact walk, checked by playing it through the real rules."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from drillrunner.catalogue.drill import Drill
from drillrunner.odds.chance import Patterns, score_distribution
from drillrunner.odds.fair import (
    ASIDE,
    CLOSE,
    Fair,
    FairSide,
    bands,
    finals,
    level_fight,
    settled,
    shares,
    towards_even,
    worth,
)
from drillrunner.odds.shape import Plausible
from drillrunner.rules import Score, beats
from tests.shipped import CATALOGUE

MATCHES = 6_000
"""So that four standard errors are less than three points."""


def known(spread: float, bias: float = 0.0, likelihood: str = "t4") -> Patterns:
    """A pattern that is known: as wide across as along."""
    plausible = Plausible.known(bias, spread, likelihood)
    return Patterns(plausible, plausible)


def fitted(drill: Drill, *patterns: Patterns) -> Fair:
    return level_fight([FairSide(drill, lambda _, own=own: own) for own in patterns])


def played(drill: Drill, patterns: Patterns, count: int, seed: int) -> list[Score]:
    """Final scores of whole runs through the game's own rules. Shots are drawn by SciPy from the
    pattern itself, not by the walk's own arithmetic."""
    game, rng = drill.game(), np.random.default_rng(seed)
    outcomes = game.outcomes()
    draws = {}
    for direction in ("lateral", "depth"):
        own = patterns.of(direction)
        (name, _), *_ = own.shapes
        law = {"t4": stats.t(4), "t2": stats.t(2), "normal": stats.norm()}[name]
        draws[direction] = lambda own=own, law=law: (
            own.bias[0] + own.spread[0] * law.rvs(4096, random_state=rng)
        )
    edges = [
        [
            tuple(
                (-math.inf, math.inf)[at] if end is None else float(end)
                for at, end in enumerate(getattr(o, direction))
            )
            for direction in ("lateral", "depth")
        ]
        for o in outcomes
    ]
    low, high = np.array(edges)[:, :, 0], np.array(edges)[:, :, 1]
    scores: list[Score] = []
    balls: list[int] = []
    for _ in range(count):
        state = game.start()
        while not game.over(state):
            if not balls:
                across, along = draws["lateral"]()[:, None], draws["depth"]()[:, None]
                inside = (low[:, 0] <= across) & (across < high[:, 0])
                inside &= (low[:, 1] <= along) & (along < high[:, 1])
                balls = inside.argmax(axis=1).tolist()
            state = game.after(state, outcomes[balls.pop()].shot)
        scores.append(game.score(state))
    return scores


def won(better: str, mine: list[Score], theirs: list[Score]) -> float:
    """The share of matches won, ties counted half."""
    return sum(
        1.0 if beats(better, a, b) else 0.0 if beats(better, b, a) else 0.5
        for a, b in zip(mine, theirs, strict=True)
    ) / len(mine)


PAIRS = [
    ("hold-the-corridor", known(9.0), known(24.0)),
    ("hold-the-corridor", known(12.0, 8.0), known(26.0, -6.0, "normal")),
    ("hold-the-narrow-corridor", known(7.0), known(16.0)),
    ("three-drives-in-a-row", known(10.0), known(22.0)),
    ("on-the-number", known(2.0), known(4.0)),
]


@pytest.mark.parametrize(("id", "narrow", "wide"), PAIRS)
def test_either_side_of_a_fair_fight_wins_half_through_the_real_rules(id, narrow, wide):
    drill = CATALOGUE.drill(id)
    fair = fitted(drill, narrow, wide)
    assert fair.widest == 1, "who has the widest pattern keeps the drill as written"
    assert fair.drills[1].fingerprint == drill.fingerprint
    better = drill.game().better
    mine = played(fair.drills[0], narrow, MATCHES, 1)
    theirs = played(fair.drills[1], wide, MATCHES, 2)
    share = won(better, mine, theirs)
    assert share == pytest.approx(fair.chances[0].median, abs=4.5 * 0.5 / math.sqrt(MATCHES))
    if fair.why is None:
        assert abs(share - 0.5) <= CLOSE + 4 * 0.5 / math.sqrt(MATCHES)


def test_what_no_dial_can_level_is_said_and_the_true_chance_shown():
    drill = CATALOGUE.drill("on-the-number")
    fair = fitted(drill, known(2.0), known(4.0))
    assert fair.why is not None
    assert "18 points" in fair.why
    share = won(
        "lower",
        played(fair.drills[0], known(2.0), MATCHES, 3),
        played(fair.drills[1], known(4.0), MATCHES, 4),
    )
    assert share == pytest.approx(fair.chances[0].median, abs=0.03)
    undialled = CATALOGUE.drill("hold-the-corridor").with_set(["aim.width=41", "lives=2"])
    assert fitted(undialled, known(9.0), known(9.0)).why is None


def test_four_of_them_have_a_quarter_each():
    patterns = [known(9.0), known(24.0), known(12.0), known(18.0, 5.0)]
    drill = CATALOGUE.drill("hold-the-corridor")
    fair = fitted(drill, *patterns)
    assert fair.widest == 1
    assert fair.why is None
    games = [d.game() for d in fair.drills]
    scores = [
        played(d, own, MATCHES, n)
        for n, (d, own) in enumerate(zip(fair.drills, patterns, strict=True))
    ]
    for at in range(4):
        shared = 0.0
        for row in zip(*scores, strict=True):
            best = max(row)
            shared += (row[at] == best) / sum(score == best for score in row)
        assert shared / MATCHES == pytest.approx(0.25, abs=CLOSE)
        assert shared / MATCHES == pytest.approx(fair.chances[at].median, abs=0.025)
    assert all(game.settings == games[0].settings for game in games)


def test_what_is_hardly_ever_reached_is_left_out_of_a_walk_within_what_is_said():
    game = CATALOGUE.drill("miss-total").game()
    whole = {
        worth(score, game.better): p for score, p in score_distribution(game, known(16.0)).items()
    }
    found = finals(game, known(16.0))
    kept = dict(zip(found.values, found.whole, strict=True))
    assert kept.keys() < whole.keys(), "the walk is shorter for it"
    assert sum(abs(p - kept.get(value, 0.0)) for value, p in whole.items()) <= ASIDE
    assert found.exact


def test_shares_against_every_way_that_three_small_runs_can_end():
    """By listing all of them (no formula): ties are shared, no score is worse than any."""
    drill = CATALOGUE.drill("hold-the-corridor").with_set(["lives=1", "balls=3"])
    sides = [finals(drill.game(), known(spread)) for spread in (10.0, 20.0, 30.0)]
    expected = [0.0] * 3
    for ends in product(*(zip(one.values, one.whole, strict=True) for one in sides)):
        chance = math.prod(end[1] for end in ends)
        best = max(end[0] for end in ends)
        level_ = [at for at, end in enumerate(ends) if end[0] == best]
        for at in level_:
            expected[at] += chance / len(level_)
    assert shares(sides) == pytest.approx(expected, abs=1e-12)
    assert sum(shares(sides)) == pytest.approx(1.0)
    assert shares([settled(None, "lower"), settled(4, "lower")]) == (0.0, 1.0)
    assert shares([settled(3, "lower"), settled(4, "lower")]) == (1.0, 0.0)
    assert shares([settled(3, "higher"), settled(3, "higher")]) == (0.5, 0.5)


def test_a_pattern_that_is_not_known_has_a_wider_interval():
    drill = CATALOGUE.drill("hold-the-corridor")
    sure = bands([finals(drill.game(), known(10.0)), finals(drill.game(), known(14.0))])
    assert all(band.high - band.low < 1e-9 for band in sure)
    spreads = np.array([6.0, 10.0, 16.0])
    vague = Plausible(np.zeros(3), spreads, np.array([0.25, 0.5, 0.25]), (("t4", 3),))
    unsure = bands([finals(drill.game(), Patterns(vague)), finals(drill.game(), known(14.0))])
    assert unsure[0].low < unsure[0].median < unsure[0].high
    assert unsure[0].high - unsure[0].low > 0.3


@given(
    steps=st.integers(0, 200),
    first=st.integers(0, 200),
    middle=st.floats(-50.0, 250.0),
    width=st.floats(0.5, 200.0),
    rises=st.booleans(),
)
def test_the_nearest_of_all_steps_is_found_in_few(
    steps: int, first: int, middle: float, width: float, rises: bool
) -> None:
    def off_at(step: int) -> float:
        share = 1.0 / (1.0 + math.exp(min((middle - step) / width, 700.0)))
        return (share if rises else 1.0 - share) - 0.5

    tried = towards_even(off_at, min(first, steps), steps)
    assert set(tried) <= set(range(steps + 1))
    nearest = min(abs(off_at(step)) for step in range(steps + 1))
    assert min(map(abs, tried.values())) == nearest
    assert len(tried) <= 8 + 2 * math.log2(steps + 1)


def test_a_step_that_cannot_be_played_ends_the_search() -> None:
    assert towards_even(lambda step: None if step > 4 else step - 9.5, 3, 20) == {3: -6.5, 4: -5.5}
    assert towards_even(lambda _: None, 3, 20) == {}
