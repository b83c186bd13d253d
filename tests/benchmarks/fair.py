"""How fair a fair fight is: known patterns, and patterns learnt from 20, 50 and 200 shots.

Each fight is fitted and then played through the real rules: whole runs of the drills so set, balls
drawn from the true patterns. Points are how far one side's share of wins, ties counted half, is
from 50 %. The bare figure is the same fight with the drill as written for both.

Players are of t4, as the patterns take them to be; learnt patterns are then played by players with
two mishits in ten, skewed, and with a two-way miss as well, whom no one shape fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from statistics import mean

import numpy as np

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds import graph
from drillrunner.odds.chance import Patterns
from drillrunner.odds.desk import Picture, Player
from drillrunner.odds.fair import CLOSE, FairSide, level_fight
from drillrunner.odds.shape import Plausible
from drillrunner.rules import Aim, Seen, Shot, beats
from tests.benchmarks.ratio import Ratio, in_turn, milliseconds
from tests.odds.balls import Ball
from tests.odds.truths import thrown

DRILLS = ("hold-the-corridor", "hold-the-narrow-corridor", "three-drives-in-a-row")
PAIRS = ((7.0, 28.0), (9.0, 22.0), (11.0, 18.0), (14.0, 30.0))
"""Spreads of a narrow and a wide pattern in yards; the narrow one misses 4 to the right."""
BIAS = 4.0
HISTORIES = (20, 50, 200)
RUNS = 4_000
WORLDS = 6
"""Histories drawn for each pair."""
TWO_WAY = math.hypot(1.0, 1.8)
"""The standard deviation of a two-way player of scale 1."""
OTHERS = ("mishits in five", "skewed", "two-way")
OTHER_WORLDS = 2
DISTANCE = 220.0


def misses(bias: float, spread: float, count: int, seed: int, kind: str = "t4") -> np.ndarray:
    """Lateral misses of a player. spread: of the scale; two-way, of both humps together."""
    scale = spread / TWO_WAY if kind == "two-way" else spread
    return bias + scale * thrown(kind, count, np.random.default_rng(seed))


def history(bias: float, spread: float, count: int, seed: int, kind: str = "t4") -> list[Ball]:
    """So many misses of a pattern, read on a 5 yd grid, newest first."""
    grid = Decimal(5)
    read = np.rint(np.clip(misses(bias, spread, count, seed, kind), -150, 150) / 5).astype(int) * 5
    return [Ball(Shot(lateral=Seen.number(Decimal(m), grid)), Aim()) for m in read.tolist()]


@lru_cache(maxsize=1024)
def scores(
    drill: str, width: Decimal, bias: float, spread: float, seed: int, kind: str = "t4"
) -> tuple:
    """Final scores of whole runs through the game's own rules."""
    game = _drill(drill).with_value("aim.width", width).game()
    edge = float(width) / 2
    left, held, right = (outcome.shot for outcome in game.outcomes())
    balls: list[float] = []
    found = []
    for run in range(RUNS):
        state = game.start()
        while not game.over(state):
            if not balls:
                balls = misses(bias, spread, 8192, seed + 7919 * (run + 1), kind).tolist()
            miss = balls.pop()
            state = game.after(state, left if miss < -edge else right if miss > edge else held)
        found.append(game.score(state))
    return tuple(found)


def points(
    drill: Drill, widths: Sequence[Decimal], pair: tuple[float, float], kind: str = "t4"
) -> float:
    """How many points from 50 % the narrow pattern's share of wins is, ties counted half."""
    mine = scores(drill.id, widths[0], BIAS, pair[0], 1, kind)
    theirs = scores(drill.id, widths[1], 0.0, pair[1], 2, kind)
    better = drill.game().better
    won = sum(
        1.0 if beats(better, a, b) else 0.0 if beats(better, b, a) else 0.5
        for a, b in zip(mine, theirs, strict=True)
    )
    return 100.0 * abs(won / RUNS - 0.5)


def fitted(drill: Drill, patterns: Sequence[Patterns]) -> tuple[list[Decimal], bool]:
    """The widths of a fight, and whether it is said to be fair."""
    fair = level_fight([FairSide(drill, lambda _, own=own: own) for own in patterns])
    return [one.aim.width or Decimal(0) for one in fair.drills], fair.why is None


def _drill(ident: str) -> Drill:
    return load([bundled("games")]).drill(ident)


TIMED = "miss-total"
"""Ten balls whose misses are added up: of all bundled drills its dial takes the longest walks."""


def _drawn() -> None:
    misses = np.abs(np.random.default_rng(1).standard_t(4, (100_000, 10)))
    np.sort(np.cumsum(misses, axis=1), axis=0)


def _time() -> Iterator[Ratio]:
    """A fight fitted, beside NumPy alone over 100,000 runs: a million balls drawn, added up ball
    by ball, and sorted. What is kept of an earlier fight is thrown away first."""
    drill = _drill(TIMED)
    for name, sides in (
        ("known patterns", _known(PAIRS[1])),
        ("learnt from 50 shots each", _pair(drill, PAIRS[1], 50, 1)),
    ):

        def fit(sides: Sequence[Patterns] = sides) -> float:
            graph._graphs.clear()
            return milliseconds(lambda: fitted(drill, sides))

        def bare() -> float:
            return milliseconds(_drawn)

        ours, theirs = in_turn(fit, bare, times=3)
        what = f"{TIMED}: fair fight, {name} / a million balls"
        yield Ratio(what, ours, theirs, "ms", "1 s", "8-18 s")


def ratios() -> Iterator[Ratio]:
    """Points off 50 %, beside the drill as written for both; first, how long a fight takes.

    A pair that no setting of the dial can level is left out; the program says so of such a one.
    """
    yield from _time()
    for ident in DRILLS:
        drill = _drill(ident)
        width = drill.aim.width or Decimal(0)
        off = {}
        for pair in PAIRS:
            widths, fair = fitted(drill, _known(pair))
            if fair:
                off[pair] = points(drill, widths, pair)
        noise = 100.0 * 4.0 * 0.5 / math.sqrt(RUNS)
        assert off, ident
        assert max(off.values()) <= 100.0 * CLOSE + noise, (ident, off)
        bare = mean(points(drill, (width, width), pair) for pair in off)
        known = f"{ident}: {len(off)} pairs, known / as written"
        yield Ratio(known, mean(off.values()), bare, "pts", 0.1)
        for count in HISTORIES:
            found = mean(_learnt(drill, pair, count, n) for pair in off for n in range(WORLDS))
            yield Ratio(f"  from {count} shots each / as written", found, bare, "pts")
        for kind in OTHERS:
            bare = mean(points(drill, (width, width), pair, kind) for pair in PAIRS)
            for count in HISTORIES:
                found = mean(
                    _learnt(drill, pair, count, n, kind)
                    for pair in PAIRS
                    for n in range(OTHER_WORLDS)
                )
                yield Ratio(f"  {kind}, from {count} shots each / as written", found, bare, "pts")


def _known(pair: tuple[float, float]) -> list[Patterns]:
    both = zip((BIAS, 0.0), pair, strict=True)
    return [Patterns(Plausible.known(bias, spread)) for bias, spread in both]


def _learnt(
    drill: Drill, pair: tuple[float, float], count: int, world: int, kind: str = "t4"
) -> float:
    widths, _ = fitted(drill, _pair(drill, pair, count, world, kind))
    return points(drill, widths, pair, kind)


def _pair(
    drill: Drill, pair: tuple[float, float], count: int, world: int, kind: str = "t4"
) -> list[Patterns]:
    patterns = []
    for side, (bias, spread) in enumerate(zip((BIAS, 0.0), pair, strict=True)):
        balls = history(bias, spread, count, 1000 * world + 10 * side + count, kind)
        patterns.append(Picture(balls, Player(DISTANCE)).patterns(drill.game()))
    return patterns
