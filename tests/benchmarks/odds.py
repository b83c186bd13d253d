"""The posterior beside one numpy pass over its grid; the chance beside rollouts written by hand."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import bundled, load
from drillrunner.odds import graph
from drillrunner.odds.chance import Patterns, chance, weigh
from drillrunner.odds.desk import Picture, Player, ask
from drillrunner.odds.shape import Floats, Plausible
from drillrunner.rules import Aim, Run, Seen, Shot, Unit
from tests.benchmarks.ratio import Ratio, in_turn, milliseconds

STORED = 100_000
ROLLOUTS = 100_000
TIMES = 7
SMALL_MACHINE = 50.0
"""Milliseconds from a new shot to a new chance that the odds aim at."""

BEAT: dict[str, int] = {"lives": 9, "miss_total": 110, "on_the_number": 7, "in_a_row": 9}


@dataclass(frozen=True)
class Ball:
    """A stored ball, as far as the odds read it."""

    shot: Shot
    aim: Aim
    unit: Unit = "yd"
    lost_counts: Decimal | None = None


def stored(count: int) -> list[Ball]:
    """So many balls with one club, misses on a 5 yd grid in both directions."""
    rng = np.random.default_rng(1)
    misses = np.rint(np.clip(rng.normal(3.0, 14.0, (count, 2)), -140, 140) / 5).astype(int) * 5
    aim, grid = Aim(), Decimal(5)
    return [
        Ball(Shot(*(Seen.number(Decimal(miss), grid) for miss in pair)), aim)
        for pair in misses.tolist()
    ]


def ratios() -> Iterator[Ratio]:
    """The posterior, the chance of every bundled drill, and one shot from key to figure."""
    balls = stored(STORED)
    yield from _posterior(balls)
    picture = Picture(balls, Player(200.0))
    for drill in load([bundled("games")]).drills:
        if not drill.stock:
            yield _chance(drill)
    for drill in load([bundled("games")]).drills:
        if not drill.stock:
            yield _one_shot(drill, picture, balls[0])


def _posterior(balls: list[Ball]) -> Iterator[Ratio]:
    picture = Picture(balls, Player(200.0))
    pattern = picture.lateral
    grid, weights = pattern.grid.points, pattern.fitted.log_likelihood

    def one_pass() -> Floats:
        """One observation's likelihood, put on the grid: the least that any update does."""
        z = np.abs(np.array([[2.5], [7.5]]) - grid.bias) / grid.spread
        root = np.sqrt(z * z + 4.0)
        rest = 4.0 / (root * (root + z))
        beyond = rest * rest * (3.0 - rest) * 0.25
        total = weights.ravel() + np.log(np.abs(beyond[0] - beyond[1]) + 1e-300)
        total = np.exp(total - total.max())
        done: Floats = total / total.sum()
        return done

    def after() -> Picture:
        return picture.after(balls[0])

    ours, bare = in_turn(lambda: milliseconds(after), lambda: milliseconds(one_pass), 5 * TIMES)
    yield Ratio("posterior of 100,000 shots after one more / a numpy pass", ours, bare, "ms")

    def afresh() -> object:
        return Picture(balls, Player(200.0)).lateral

    ours, bare = in_turn(lambda: milliseconds(afresh), lambda: milliseconds(one_pass), TIMES)
    yield Ratio("the same worked out afresh / a numpy pass", ours, bare, "ms")
    few = balls[:1000]
    sizes = [_peak(lambda: Picture(few, Player(200.0)).lateral), _peak(afresh)]
    yield Ratio("memory of it, 100,000 shots / 1,000 shots", sizes[1], sizes[0], "MB", 1.0)


def _peak(work: Callable[[], object]) -> float:
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


KNOWN = Patterns(Plausible.known(2.0, 13.0), Plausible.known(-1.0, 7.0))


def _chance(drill: Drill) -> Ratio:
    game = drill.game()
    beat = BEAT[game.id]

    def walked() -> None:
        graph._graphs.clear()
        chance(game, game.start(), KNOWN, beat)

    ours, bare = in_turn(
        lambda: milliseconds(walked), lambda: milliseconds(lambda: by_hand(game, beat)), TIMES
    )
    exact = chance(game, game.start(), KNOWN, beat).chance
    assert abs(exact - by_hand(game, beat)) < 4.5 * (0.25 / ROLLOUTS) ** 0.5, drill.id
    return Ratio(f"{drill.id} at its start / 100,000 rollouts", ours, bare, "ms")


def by_hand(game: Any, beat: int) -> float:
    """The same chance by 100,000 numpy rollouts that know the game. Seeded."""
    rng = np.random.default_rng(2)
    weights = weigh(game, game.outcomes(), KNOWN)
    line = np.cumsum(weights.chances[:, 0])
    shots = [outcome.shot for outcome in game.outcomes()]

    def balls(count: int) -> Any:
        return np.minimum(np.searchsorted(line, rng.random((ROLLOUTS, count))), len(line) - 1)

    if game.id == "miss_total":
        cap = game.settings.cap
        sizes = np.array([float(min(shot.miss(game.direction), cap or 1000)) for shot in shots])
        return float((sizes[balls(game.settings.balls)].sum(axis=1) < beat).mean())
    if game.id == "on_the_number":
        hits = np.array([game._hits(shot) for shot in shots])
        return float(hits[balls(beat - 1)].any(axis=1).mean())
    held = np.array([game.aim.holds(shot) for shot in shots])
    if game.id == "lives":
        most = beat + game.settings.lives
        # More than `beat` held: at most lives - 1 misses in the first beat + lives balls.
        played = held[balls(min(most, game.settings.balls or most))]
        alive = np.cumsum(~played, axis=1) < game.settings.lives
        return float(((played & alive).sum(axis=1) > beat).mean())
    row = np.zeros(ROLLOUTS, dtype=int)
    done = np.zeros(ROLLOUTS, dtype=bool)
    for ball in held[balls(beat - 1)].T:
        row = np.where(ball, row + 1, 0)
        done |= row >= game.settings.length
    return float(done.mean())


def _one_shot(drill: Drill, picture: Picture, ball: Ball) -> Ratio:
    """A ball is added to the pattern, and the chance is asked for again."""
    game = drill.game()
    run = Run.begin(game, drill.between)
    ask(game, run, picture, BEAT[game.id])

    def new() -> None:
        ask(game, run, picture.after(ball), BEAT[game.id])

    ours = sorted(milliseconds(new) for _ in range(TIMES))[TIMES // 2]
    return Ratio(
        f"{drill.id}: a shot to its chance / {SMALL_MACHINE:g} ms", ours, SMALL_MACHINE, "ms", 1.0
    )


def main() -> None:
    from tests.benchmarks.ratio import HEADINGS, line

    print(HEADINGS)
    for ratio in ratios():
        print(line(ratio), flush=True)


if __name__ == "__main__":
    main()
