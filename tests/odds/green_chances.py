"""Whether chances stated on the green come true: `python -m tests.odds.green_chances [PLAYERS]`.

Players drawn from the starting guess, known by 40 putts; each states a chance before a run of each
of these drills, and plays it by the physics. 400 players unless said.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from decimal import Decimal

import numpy as np

from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds.chance import chance
from drillrunner.odds.desk import Bag, stranger
from drillrunner.odds.green.curves import far_of
from drillrunner.odds.green.holing import Holing
from drillrunner.rules import AnyGame, Score, Shot, beats
from tests.odds.green_coverage import GREEN, balls
from tests.odds.green_players import Player

BEATS: dict[str, tuple[int, ...]] = {
    "nine-putts": (16, 17, 18, 19),
    "putts-in-a-row": (10, 18, 40),
    "six-long-putts": (16, 22, 28),
}
"""Drills, and scores to beat that are now likely, now not."""
KNOWN_BY = 40


def stated(players: int, seed: int) -> Iterator[tuple[float, bool]]:
    """A stated chance, and whether it came true, for each player and drill."""
    rng, pick = np.random.default_rng(seed), random.Random(seed)
    games = {
        drill.id: drill.game() for drill in load([bundled("games")]).drills if drill.id in BEATS
    }
    for _ in range(players):
        who = Player.drawn("nominal", GREEN, rng)
        known = Holing.of(balls("putts", who, KNOWN_BY, rng), GREEN)
        bag = Bag(lambda ask: stranger(ask.club), (), lambda _, known=known: known)  # type: ignore[misc]
        for id, game in games.items():
            beat = pick.choice(BEATS[id])
            said = chance(game, game.start(), bag, beat).chance
            yield said, beats(game.better, played(game, who, rng), beat)


def played(game: AnyGame, who: Player, rng: np.random.Generator) -> Score:
    """The score of one run, each putt by the physics."""
    state, form = game.start(), who.at_large(1, rng)
    while not game.over(state):
        ask = game.asked(state)
        feet = np.array([far_of(ask.aim, ask.unit)])
        if ask.asks == "strokes":
            shot = Shot(strokes=int(who.putts(feet, form, rng)[0]))
        else:
            left = Decimal(int(who.putt(feet, form, rng)[1][0] + 0.5))
            shot = Shot(leave=left, leave_grid=Decimal(1))
        state = game.after(state, shot)
    return game.score(state)


def table(found: list[tuple[float, bool]]) -> Iterator[tuple[float, int, float, float]]:
    """For each third of the scale: where it begins, how many, the mean stated, the share true."""
    said, came = np.array(found).T
    for low in (0.0, 1 / 3, 2 / 3):
        inside = (said >= low) & (said < low + 1 / 3 + (low > 0.5))
        yield low, int(inside.sum()), float(said[inside].mean()), float(came[inside].mean())


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    for low, count, said, came in table([*stated(many, 1)]):
        print(f"from {low:.2f}  {count:5} runs  stated {said:.3f}  came true {came:.3f}")
