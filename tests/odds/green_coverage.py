"""How often intervals of holing out hold the truth: `python -m tests.odds.green_coverage`.

`python -m tests.odds.green_coverage [PLAYERS] [CASE | KIND]...`, 1,000 players a row unless said.
The cases: `putts` and what a putt leaves, `leave`, on the green, and chips from the `fringe`,
`rough` and `sand`. The kinds of players are those of `green_players`. `nominal` is what the
posterior claims, so that row must hold 80 in 100 within its error, and the chances that it told
must have come true; the average over the others at each number of balls is to lie between 75 and
88.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean
from typing import NamedTuple

import numpy as np

from drillrunner.odds.green.curves import HolingPrior, StrokesTold
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.shape import Floats
from tests.odds.green_players import Counts, Player

SHOTS = (5, 20, 50, 200)
DAY = 18
TRUE, TRUE_IN_TESTS = 10_000, 3_000
"""Balls that a player's truth is worked out from. By 3,000 a row of 200 balls loses one point."""


class Case(NamedTuple):
    """What is played from which lengths; the chance within so many strokes is asked from others."""

    prior: HolingPrior
    lengths: tuple[float, ...]
    asked: tuple[tuple[float, int], ...]
    kinds: tuple[str, ...]


PUTTERS = ("nominal", "steady", "lag-poor", "misreading", "streaky", "improving", "careless")
CHIPPERS = ("nominal", "steady", "duffing", "streaky", "improving", "careless")
GREEN = HolingPrior("green", 15.0)
NEAR = (8.0, 15.0, 25.0, 40.0)
DOWN = ((10.0, 2), (20.0, 2), (30.0, 2))
CASES = {
    "putts": Case(GREEN, (4.0, 8.0, 15.0, 30.0), ((5.0, 1), (10.0, 1), (20.0, 1)), PUTTERS),
    "leave": Case(GREEN, (20.0, 30.0, 40.0, 60.0), ((25.0, 2), (35.0, 2), (50.0, 2)), PUTTERS),
    "fringe": Case(HolingPrior("fringe", 15.0), NEAR, DOWN, CHIPPERS),
    "rough": Case(HolingPrior("rough", 15.0), NEAR, DOWN, CHIPPERS),
    "sand": Case(HolingPrior("sand", 15.0), NEAR, DOWN, CHIPPERS),
}


@dataclass(frozen=True)
class Row:
    """held: the share of players whose truth lay in the 80 % interval, for each length asked.

    told, came: the chance stated of one more ball from the middle one, and how often it came true.
    """

    kind: str
    shots: int
    held: tuple[float, ...]
    told: float
    came: float


def strokes(who: Player, lengths: Floats, form: Floats, rng: np.random.Generator) -> Counts:
    """How many strokes it took from each length."""
    on = who.prior.lie == "green"
    return who.putts(lengths, form, rng) if on else who.chips(lengths, form, rng)


def balls(
    case: str, who: Player, shots: int, rng: np.random.Generator
) -> list[tuple[StrokesTold, date | None]]:
    """What was typed of a player's balls, newest first."""
    days = np.arange(shots) // DAY
    form = who.forms(shots, days, rng)
    lengths = np.resize(np.array(CASES[case].lengths), shots)
    if case == "leave":
        left = np.floor(who.putt(lengths, form, rng)[1] + 0.5).astype(int)
        wrong = rng.integers(0, 20, shots)
    else:
        left, wrong = strokes(who, lengths, form, rng), rng.integers(1, 5, shots)
    if who.kind == "careless":
        left = np.where(rng.random(shots) < 1 / 30, wrong, left)
    start, found = date(2026, 1, 1), []
    for length, value, day in zip(lengths, left, days, strict=True):
        told = (None, (int(value), 1.0)) if case == "leave" else (int(value),)
        found.append((StrokesTold(float(length), *told), start + timedelta(days=3 * int(day))))
    return found[::-1]


def held(
    case: str, kind: str, shots: int, players: int, seed: int = 1, true: int = TRUE_IN_TESTS
) -> Row:
    """One row of the table."""
    prior, _, asked, kinds = CASES[case]
    rng = np.random.default_rng([seed, shots, kinds.index(kind), [*CASES].index(case)])
    inside, told, came = np.zeros(len(asked)), 0.0, 0.0
    for _ in range(players):
        who = Player.drawn(kind, prior, rng)
        known = Holing.of(balls(case, who, shots, rng), prior)
        for at, (length, within) in enumerate(asked):
            band = known.within(length, within)
            taken = strokes(who, np.full(true, length), who.at_large(true, rng), rng)
            inside[at] += band.low <= np.mean(taken <= within) <= band.high
            if at == 1:
                told += known.likely(length, within)
                came += taken[0] <= within
    return Row(kind, shots, tuple(inside / players), told / players, came / players)


def rows(case: str, players: int, kinds: Sequence[str]) -> Iterator[str]:
    """The table of a case, and the average over all but `nominal`, at each number of balls."""
    asked = "".join(f"{f'{length:g} in {n}':>10}" for length, n in CASES[case].asked)
    yield f"{case:<12}{'balls':>6}{asked}{'told':>8}{'came':>6}"
    whole: dict[int, list[float]] = {shots: [] for shots in SHOTS}
    for kind in kinds:
        for shots in SHOTS:
            row = held(case, kind, shots, players, true=TRUE)
            if kind != "nominal":
                whole[shots] += row.held
            shares = "".join(f"{100 * share:10.1f}" for share in row.held)
            yield f"{kind:<12}{shots:6}{shares}{100 * row.told:8.1f}{100 * row.came:6.1f}"
    if whole[SHOTS[0]]:
        averages = ", ".join(f"{shots}: {100 * mean(found):.1f}" for shots, found in whole.items())
        yield f"average over the others {averages}"


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    named = sys.argv[2:]
    for name in [case for case in CASES if case in named] or CASES:
        known = CASES[name].kinds
        for line in rows(name, many, [kind for kind in known if kind in named] or known):
            print(line, flush=True)
