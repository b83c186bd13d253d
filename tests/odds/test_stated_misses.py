"""Published figures that the model misses, held as what they are: by how much it misses them.

No constant was solved for against these rows, though some of them were seen while others were
chosen; none is met. A change that moves one of them fails here and has to be stated anew. Golfers
of the model play the test course, seeded; the bounds are about four standard errors of that. The
differences between golfers, which the needs rest on, are nearer the truth than these levels are.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from functools import cache

import numpy as np
import pytest

from drillrunner.catalogue.strokes.golfer import Golfer
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.odds.strokes.make import holes
from drillrunner.odds.strokes.putting import FEET, Stroke
from tests.odds.rounds import KNOWN, PARS, Player

ROUNDS, SHOTS = 160, 20_000


@cache
def played(index: float) -> Mapping[str, float]:
    """A round of the model's golfer on average."""
    player = Player(Golfer(ability(index)), KNOWN, random.Random(1))
    total = dict.fromkeys(("score", "greens", "putts", "three-putts", "fairways"), 0.0)
    for _ in range(ROUNDS):
        for number, (par, yards) in enumerate(zip(PARS, holes(), strict=True), 1):
            hole = player.hole(number, par, yards)
            assert hole.score is not None
            assert hole.putts is not None
            total["score"] += hole.score
            total["putts"] += hole.putts
            total["three-putts"] += hole.putts >= 3
            on = hole.strokes_before(par) + 1 + hole.all_penalties
            total["greens"] += hole.result == "on" and on <= par - 2
            total["fairways"] += 100 * (hole.tee == "fairway") / sum(par > 3 for par in PARS)
    return {name: value / ROUNDS for name, value in total.items()}


SCORES = {75.0: 3.0, 79.0: 6.5, 85.0: 12.4, 89.0: 16.0, 95.0: 22.3}
"""Average score on the test course: the index of the model's golfer who makes it."""


@pytest.mark.parametrize("score", SCORES)
def test_the_golfers_make_the_scores_that_they_stand_for(score: float) -> None:
    assert played(SCORES[score])["score"] == pytest.approx(score, abs=1.6)


RICCIO = {
    "greens": ((10, 8, 5, 3, 0), (11.6, 9.5, 6.6, 5.0, 3.3), 0.8),
    "putts": ((30.3, 31.7, 33.7, 35.0, 37.0), (32.4, 33.3, 34.5, 35.3, 36.3), 0.8),
    "fairways": ((71, 61, 46, 36, 21), (67, 67, 67, 67, 67), 4.5),
}
"""A round at these average scores: published (L. Riccio 1990, second-hand; the fairways called
weak), the model's, and how near it must stay to that."""


@pytest.mark.parametrize("what", RICCIO)
def test_a_round_beside_riccio(what: str) -> None:
    """Greens 1.5 to 3 too many; putts from 2 too many to 1 too few; fairways hardly fall at all."""
    published, ours, near = RICCIO[what]
    found = [played(index)[what] for index in SCORES.values()]
    assert found == pytest.approx(ours, abs=near)
    missed = [mine - theirs for mine, theirs in zip(found, published, strict=True)]
    stated = [mine - theirs for mine, theirs in zip(ours, published, strict=True)]
    assert missed == pytest.approx(stated, abs=near)
    if what == "fairways":
        # The widest miss: high-index driving is too straight, so its needs are understated.
        assert missed[-1] > 40


def test_three_putts_and_putts_of_an_80_and_a_90_golfer() -> None:
    """1 and 2 three-putts a round (M. Broadie, Golf Magazine, December 2014, second-hand), and 33
    putts of a 90-golfer (the same, as quoted): about half a three-putt and two putts too many."""
    eighty, ninety = played(7.2), played(16.9)
    assert eighty["three-putts"] - 1 == pytest.approx(0.5, abs=0.55)
    assert ninety["three-putts"] - 2 == pytest.approx(0.6, abs=0.55)
    assert ninety["putts"] - 33 == pytest.approx(2.3, abs=0.8)


def greens(index: float, least: float, most: float) -> float:
    """Percent of shots from the fairway that end on the green."""
    golfer = Golfer(ability(index))
    player = Player(golfer, KNOWN, random.Random(2))
    on = 0
    for shot in range(SHOTS):
        yards = least + (most - least) * shot / SHOTS
        length = min(yards, golfer.longest("fairway"))
        along, across = player.shot("fairway", length, length == yards)
        on += math.hypot(yards - along, across) <= 13
    return 100 * on / SHOTS


def test_greens_from_far() -> None:
    """Index 15 from 150 to 200 yards hits 22 % (M. Broadie, read), and a 90-golfer from 150 35 %
    (the same, as quoted): 6 to 10 points too many."""
    assert greens(15, 150, 200) - 22 == pytest.approx(9.5, abs=1.8)
    assert greens(16.9, 150, 150) - 35 == pytest.approx(5.5, abs=1.8)


def test_a_tour_player_s_long_putts() -> None:
    """1.63, about 2.0 and 2.15 from 10, 30 and 40 ft: press on Fearing et al., second-hand."""
    strokes = Stroke(0.0178021, 0.080067).putts()
    found = np.interp([10.0, 30.0, 40.0], FEET, strokes)
    assert found - [1.63, 2.0, 2.15] == pytest.approx([-0.018, -0.019, -0.101], abs=0.002)
