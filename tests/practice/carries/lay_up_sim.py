"""What laying up says and what is true: `python -m tests.practice.carries.lay_up_sim [PLAYERS]`.

Nine clubs and six shots with each; the truth of a row is the share of a million further shots of
its own law that finish within 5 of the carry that was found.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from decimal import Decimal

import numpy as np
from scipy.stats import norm

from drillrunner.practice.carries import stock
from drillrunner.practice.carries.lay_up import lay_up
from drillrunner.store.shapes import StockCarry

NOW = datetime(2024, 5, 1, tzinfo=UTC)
CARRIES = (40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 115.0, 130.0)


def bag(
    rng: np.random.Generator, spreads: list[float], shots: int = 6
) -> tuple[list[StockCarry], list[float]]:
    """What a search finds for each carry, and the truth of each within 5 of it."""
    found, truth = [], []
    for at, (carry, spread) in enumerate(zip(CARRIES, spreads, strict=True)):
        typed = [Decimal(max(round(c), 1)) for c in rng.normal(carry, spread, shots).tolist()]
        one = stock.find(typed)
        kept = stock.record(one)
        found.append(
            StockCarry(
                player_id="p",
                club=f"club-{at}",
                swing="full",
                unit="yd",
                at=NOW,
                session_id=None,
                **kept,
            )
        )
        off = float(kept["carry"]) - carry
        truth.append(float(norm.cdf((off + 5) / spread) - norm.cdf((off - 5) / spread)))
    return found, truth


def said_and_true(
    rng: np.random.Generator, spreads: list[float], players: int
) -> tuple[float, float, float]:
    """Mean chance said of the best, mean truth of it, and the share that names all alike."""
    said, true, alike = [], [], []
    for _ in range(players):
        found, truth = bag(rng, spreads)
        ups = lay_up(stock.table(found, NOW))
        said.append(ups[0].within_5)
        true.append(truth[[one.club for one in found].index(ups[0].stock.club)])
        alike.append(sum(up.like_best for up in ups) >= len(ups) - 1)
    return float(np.mean(said)), float(np.mean(true)), float(np.mean(alike))


LAWS = {
    "equal, 4": [4.0] * 9,
    "equal, 6": [6.0] * 9,
    "equal, 10": [10.0] * 9,
    "by the carry": [0.08 * carry for carry in CARRIES],
    "two tight ones": [7.0, 3.5, 7.0, 7.0, 3.5, 7.0, 7.0, 7.0, 7.0],
}


def main(players: int = 400) -> None:
    rng = np.random.default_rng(9)
    for name, law in LAWS.items():
        said, true, alike = said_and_true(rng, law, players)
        print(f"{name:16} said {said:.0%}, true {true:.0%}; nearly all alike {alike:.0%}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
