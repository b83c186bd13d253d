"""How often the stated 80 % intervals hold the truth, over made-up players.

`python -m tests.odds.coverage [PLAYERS]` prints both tables, 200 players a row unless said.

The first: players drawn from the starting guess itself, shapes included, all shots alike: this is
the row that must be nominal, because it is what the posterior claims.

The second: the eight kinds of `truths`, after 5, 20, 100 and 500 balls, read on a 5 yd grid, or
judged in a corridor of 40 yd. Days have 20 balls, and each player's fading is worked out from them
as the program does. From 100 balls on every figure of a kind is to hold in 68 to 92 of 100; the
average over the kinds at 5 and 20 balls in 72 to 90. Two-way and streaky players stand apart.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean
from typing import NamedTuple

import numpy as np

from drillrunner.odds.drift import Dated, half_life
from drillrunner.odds.families import families, weight_of
from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import Band, Pattern
from drillrunner.odds.prior import guess
from drillrunner.odds.shape import Floats, Plausible
from tests.odds.truths import APART, KINDS, WIDTHS, Truth, player

PRIOR = guess(200.0)
SHOTS = (5, 20, 100, 500)
GRID, CORRIDOR, DAY = 5.0, 40.0, 20
FIGURES = ("inside 20", "inside 40", "inside 60", "average", "two in three")
JUDGED = FIGURES[:4]
"""Held to the bounds; the width of two in three is printed beside them."""


@dataclass(frozen=True)
class Row:
    """held: the share of players whose truth lies in the interval, and its mean length."""

    kind: str
    asks: str
    shots: int
    held: dict[str, float]
    wide: dict[str, float]


class Drawn(NamedTuple):
    """A player drawn from the guess: the law, and shots."""

    law: Plausible
    hits: Floats


def from_the_guess(shots: int, rng: np.random.Generator) -> Drawn:
    """Draw a player from the starting guess, and so many shots."""
    names = tuple(families())
    name = names[int(rng.choice(len(names), p=weight_of(names)))]
    bias = rng.normal(0.0, PRIOR.bias_sd)
    half = PRIOR.half_width * math.exp(rng.normal(0.0, PRIOR.log_sd))
    family, one = families()[name], np.ones(1)
    spread = half / family.half
    bell = rng.choice(len(family.bells), size=shots, p=[b.share for b in family.bells])
    hits = np.empty(shots)
    for at, which in enumerate(bell.tolist()):
        part = family.bells[which]
        right = rng.random() < part.right / (part.left + part.right)
        size = abs(
            rng.standard_normal()
            if family.base == "normal"
            else rng.standard_t(int(family.base[1]))
        )
        hits[at] = part.at + (part.right if right else -part.left) * size
    return Drawn(Plausible(bias * one, spread * one, one, ((name, 1),)), bias + spread * hits)


def seen(asks: str, hits: Floats) -> Iterator[Observation]:
    """What is typed for these shots."""
    if asks == "numbers":
        for step in np.rint(hits / GRID).tolist():
            yield Observation((((step - 0.5) * GRID, (step + 0.5) * GRID),))
        return
    edge = CORRIDOR / 2
    for hit in hits.tolist():
        span = (edge, math.inf) if hit > edge else (-math.inf, -edge)
        yield Observation(((-edge, edge) if abs(hit) <= edge else span,), edge)


def found(asks: str, hits: Floats) -> Pattern:
    """The pattern of these shots, oldest first, faded as this player's days say."""
    first = date(2000, 1, 1)
    dated = [
        Dated(said, first + timedelta(days=at // DAY)) for at, said in enumerate(seen(asks, hits))
    ]
    newest = dated[::-1]
    return Pattern.of((one.said for one in newest), PRIOR, half_life(newest, PRIOR))


def holds(band: Band, truth: float) -> bool:
    """Whether an interval holds the truth."""
    return band.low <= truth <= band.high


def stated(figure: str, pattern: Pattern, truth: Truth) -> tuple[Band, float]:
    """A figure as stated, and the truth of it."""
    if figure == "average":
        return pattern.bias, truth.mean
    if figure == "two in three":
        return pattern.half_width, truth.half
    at = FIGURES.index(figure)
    return pattern.inside(WIDTHS[at]), truth.inside[at]


def cover(
    kind: str,
    asks: str,
    shots: int,
    players: int,
    seed: int = 1,
    figures: Sequence[str] = FIGURES,
) -> Row:
    """The share of so many players of a kind whose truth lies in the stated interval."""
    rng = np.random.default_rng([seed, shots, KINDS.index(kind), len(asks)])
    held = dict.fromkeys(figures, 0.0)
    wide = dict.fromkeys(figures, 0.0)
    for _ in range(players):
        truth = player(kind, shots, rng)
        pattern = found(asks, truth.hits)
        for figure in figures:
            band, true = stated(figure, pattern, truth)
            held[figure] += holds(band, true) / players
            wide[figure] += (band.high - band.low) / players
    return Row(kind, asks, shots, held, wide)


def nominal(asks: str, shots: int, players: int, seed: int = 1) -> dict[str, float]:
    """The same for players drawn from the guess, all shots alike."""
    rng = np.random.default_rng([seed, shots, len(asks)])
    held = {"inside 40": 0.0, "average": 0.0, "two in three": 0.0}
    for _ in range(players):
        drawn = from_the_guess(shots, rng)
        pattern = Pattern.of(seen(asks, drawn.hits), PRIOR, None)
        span = (-CORRIDOR / 2, CORRIDOR / 2)
        for figure, band, truth in (
            ("inside 40", pattern.inside(CORRIDOR), float(drawn.law.chances([span])[0, 0])),
            ("average", pattern.bias, float(drawn.law.bias[0])),
            ("two in three", pattern.half_width, float(drawn.law.half[0])),
        ):
            held[figure] += holds(band, truth) / players
    return held


def main(arguments: Sequence[str]) -> None:
    """Print both tables."""
    players = int(arguments[0]) if arguments else 200
    print("players drawn from the guess, in 100:")
    for asks in ("numbers", "verdicts"):
        for shots in SHOTS[:3]:
            row = nominal(asks, shots, players)
            print(f"{asks:10}{shots:5}", *(f"{k} {100 * v:3.0f}" for k, v in row.items()))
    print(f"\n{'kind':17}{'asks':10}{'shots':>5}" + "".join(f"{f:>13}" for f in FIGURES))
    for shots in SHOTS:
        rows = []
        for kind in (*(k for k in KINDS if k not in APART), *APART):
            if kind == APART[0]:
                line = "".join(f"{100 * mean(r.held[f] for r in rows):13.1f}" for f in FIGURES)
                print(f"{'on average':27}{shots:5}{line}")
            rows.append(cover(kind, "numbers", shots, players))
            _print(rows[-1])
        _print(cover("normal", "verdicts", shots, players))


def _print(row: Row) -> None:
    line = "".join(f"{100 * row.held[f]:5.0f}{row.wide[f]:8.3f}" for f in FIGURES)
    print(f"{row.kind:17}{row.asks:10}{row.shots:5}{line}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
