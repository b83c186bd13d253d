"""How often the line over a history tells of a change: `python -m tests.odds.power [PLAYERS]`.

Players from outside the model: ten-ball totals of normal misses read to 5, and lives lost to balls
outside a corridor. Beside the bet in use stand a plain linear one and the test that was used
before (ranks of the late half against the early one, two-sided, 5 % at each look).
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from drillrunner.odds.change import ENOUGH, fortunes, no_more_than
from drillrunner.odds.luck import LEAST_DAYS

Scores = NDArray[np.float64]
"""One player's scores, oldest first, higher being better."""


def totals(rng: np.random.Generator, spreads: Scores) -> Scores:
    """Ten misses a run, each read to 5 yards."""
    misses = np.abs(rng.normal(0, 1, (len(spreads), 10)) * 12 * spreads[:, None])
    result: Scores = -(np.round(misses / 5) * 5).sum(axis=1)
    return result


def lives(rng: np.random.Generator, spreads: Scores) -> Scores:
    """Balls held in 40 yards before three miss."""
    out = np.array([2 * NormalDist(0, 20 * s).cdf(-20) for s in spreads.tolist()])
    return rng.negative_binomial(3, out).astype(float)


Game = Callable[[np.random.Generator, Scores], Scores]
GAMES: dict[str, Game] = {"ten-ball total": totals, "three lives": lives}


def told(scores: Scores) -> tuple[bool, bool]:
    """Whether the line in use tells of better, and of worse, at any look."""
    risen, fallen = fortunes(scores.tolist())
    return max(risen[LEAST_DAYS - 1 :]) >= ENOUGH, max(fallen[LEAST_DAYS - 1 :]) >= ENOUGH


def linear(scores: Scores, rng: np.random.Generator) -> bool:
    """Better, by a linear bet on the ranks at three rates."""
    stakes, best = np.ones(3), 0.0
    for k, score in enumerate(scores):
        before = scores[:k]
        rank = ((before < score).sum() + rng.random() * ((before == score).sum() + 1)) / (k + 1)
        stakes *= 1 + np.array([0.3, 0.6, 1.0]) * (2 * rank - 1)
        best = max(best, float(stakes.mean())) if k >= LEAST_DAYS - 1 else best
    return best >= ENOUGH


def halves(scores: Scores) -> bool:
    """Better at any look, by the late half's ranks against the early one's, once a look."""
    for n in range(LEAST_DAYS, len(scores) + 1):
        order = scores[:n].argsort(kind="stable").argsort(kind="stable") + 1.0
        _, group, sizes = np.unique(scores[:n], return_inverse=True, return_counts=True)
        ranks = (np.cumsum(sizes) - (sizes - 1) / 2)[group] if len(sizes) < n else order
        half = n // 2
        gap = ranks[-half:].mean() - ranks[:half].mean()
        # The permutation distribution is close to normal at these sizes.
        error = float(np.sqrt(2 / half) * ranks.std(ddof=1))
        if error and gap / error > 1.959964:
            return True
    return False


def main(players: int = 400) -> None:
    rng = np.random.default_rng(7)
    print("told `better` at least once (and `worse`), in percent; ruled out at the last look")
    for name, game in GAMES.items():
        for runs in (20, 50):
            for fall in (0.0, 0.2, 0.4):
                spreads = 1 - fall * np.arange(runs) / (runs - 1)
                rows = [game(rng, spreads) for _ in range(players)]
                both = np.array([told(row) for row in rows]).mean(axis=0) * 100
                plain = np.mean([linear(row, rng) for row in rows]) * 100
                before = np.mean([halves(row) for row in rows]) * 100
                named = [no_more_than(row.tolist()) for row in rows]
                steady = np.mean([one is not None for one in named]) * 100
                print(
                    f"{name:15} {runs} runs, spread falls by {fall:.0%}: {both[0]:.0f} "
                    f"({both[1]:.0f}); linear bet {plain:.0f}; before {before:.0f}; "
                    f"some change ruled out {steady:.0f}"
                )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
