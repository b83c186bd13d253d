"""How fast old shots should fade: predictive score of half-lives on simulated players.

`python -m tests.odds.recency` prints the table from which `HALF_LIFE` was chosen.

Each player hits 400 balls at the same aim, read on a 5 yd grid. One third stay as they are; one
third drift (bias and log spread walk at random, by about 3 yd and 7 % over a bucket of 50); one
third jump once, as after a lesson, by as much as two players differ.
After every 20th ball from the 60th on, the posterior of each way of weighing old balls predicts
the next one; the score is the mean natural logarithm of what it gave to the cell that came.
All players share one grid of patterns, the same guess and the shapes of the program.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from drillrunner.odds.pattern import HALF_LIFE, Grid
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import LIKELIHOODS, Floats

KINDS = ("stay", "drift", "jump")
HALF_LIVES = (20.0, 30.0, 40.0, 60.0, 80.0, 120.0, 200.0, 400.0)
BALLS, STEP, CELLS = 400, 5.0, 40
ASKED = range(60, BALLS, 20)


@dataclass(frozen=True)
class Table:
    """Mean predictive log score by way of weighing and kind of player."""

    scores: dict[str, dict[str, float]]

    def together(self, way: str) -> float:
        """The mean over the three kinds."""
        return float(np.mean([self.scores[way][kind] for kind in KINDS]))


def balls(kind: str, players: int, rng: np.random.Generator) -> Floats:
    """Cells in which the balls of so many players of a kind finish: players x balls."""
    shape = (players, BALLS)
    prior = guess(200.0)
    bias = np.repeat(rng.normal(0.0, prior.bias_sd / 2.0, (players, 1)), BALLS, axis=1)
    log = np.repeat(rng.normal(math.log(prior.half_width), 0.35, (players, 1)), BALLS, axis=1)
    if kind == "drift":
        bias += np.cumsum(rng.normal(0.0, 0.42, shape), axis=1)
        log += np.cumsum(rng.normal(0.0, 0.01, shape), axis=1)
    elif kind == "jump":
        after = np.arange(BALLS) >= rng.integers(80, 320, (players, 1))
        bias += after * rng.normal(0.0, prior.bias_sd / 2.0, (players, 1))
        log += after * rng.normal(0.0, 0.35, (players, 1))
    hits = bias + np.exp(log) / 1.0994 * rng.standard_t(4, shape)
    cells = np.clip(np.rint(hits / STEP), -CELLS, CELLS) + CELLS
    return cells.astype(np.intp)


def table(players: int = 200, seed: int = 1, only: Collection[str] = ()) -> Table:
    """Score every way of weighing, or only those named, on so many players of each kind."""
    rng = np.random.default_rng(seed)
    prior = guess(200.0)
    grid = Grid(
        np.linspace(-75.0, 75.0, 61),
        math.log(prior.half_width) + np.linspace(-1.6, 1.6, 25),
        LIKELIHOODS,
    )
    edges = (np.arange(2 * CELLS + 2) - CELLS - 0.5) * STEP
    edges[0], edges[-1] = -math.inf, math.inf
    spans = list(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True))
    chances = np.maximum(grid.points.chances(spans), 1e-300)
    logs = np.log(chances)
    points = grid.points
    half = np.tile(grid.log_half, len(grid.bias) * len(LIKELIHOODS))
    start = -0.5 * (
        (points.bias / prior.bias_sd) ** 2
        + ((half - math.log(prior.half_width)) / prior.log_sd) ** 2
    )
    scores: dict[str, dict[str, float]] = {}
    played = {kind: balls(kind, players, rng) for kind in KINDS}
    for way, weights in ways().items():
        if only and way not in only:
            continue
        scores[way] = {}
        for kind, cells in played.items():
            found = []
            for at in ASKED:
                counts = np.zeros((players, len(spans)))
                rows = np.arange(players)
                for age in range(1, at + 1):
                    if weights[age] > 0.0:
                        counts[rows, cells[:, at - age]] += weights[age]
                total = counts @ logs + start
                total -= total.max(axis=1, keepdims=True)
                np.exp(total, out=total)
                total /= total.sum(axis=1, keepdims=True)
                came = np.einsum("pk,pk->p", total, chances[cells[:, at]])
                found.append(np.log(came).mean())
            scores[way][kind] = float(np.mean(found))
    return Table(scores)


def ways() -> dict[str, Floats]:
    """The weight of a ball by its age, for each way of weighing."""
    ages = np.arange(BALLS + 1)
    found = {f"half-life {h:g}": 0.5 ** ((ages - 1) / h) for h in HALF_LIVES}
    found["all alike"] = np.ones(BALLS + 1)
    found["last 50 only"] = (ages <= 50).astype(float)
    return found


def main() -> None:
    found = table()
    print(f"{'':16}" + "".join(f"{kind:>10}" for kind in KINDS) + f"{'together':>10}")
    for way, row in found.scores.items():
        line = "".join(f"{row[kind]:10.4f}" for kind in KINDS)
        mark = "  <- used" if way == f"half-life {HALF_LIFE:g}" else ""
        print(f"{way:16}{line}{found.together(way):10.4f}{mark}")


if __name__ == "__main__":
    main()
