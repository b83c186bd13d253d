"""How often intervals of holing out hold the truth: `python -m tests.odds.green_coverage`.

`nominal` draws players from the starting guess itself. The others come from outside the model:
lag-poor (pace twice as bad beyond 20 ft), streaky (each day better or worse), improving (errors
fall by a third over the putts), careless (one putt in 30 typed wrongly).
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from drillrunner.odds.green.holing import Holing, HolingPrior, StrokesTold, _grid
from drillrunner.odds.strokes.putting import AIM_PAST, BALL_FT, HOLE_FT, TOO_FAR, Stroke

KINDS = ("nominal", "lag-poor", "streaky", "improving", "careless")
SHOTS = (5, 20, 50, 200)
LENGTHS = (4.0, 8.0, 15.0, 30.0)
ASKED = (5.0, 10.0, 20.0)
DAY = 18
PRIOR = HolingPrior("green", 15.0)


def taken(feet: float, stroke: Stroke, rng: np.random.Generator, kind: str, slope: float) -> int:
    """Putts from a length, putted out one by one by the physics and not by the tables."""
    count = 0
    while True:
        count += 1
        more = max(feet, 1.0) / 10.0
        pace = stroke.pace * more**slope * (2.0 if kind == "lag-poor" and feet > 20.0 else 1.0)
        past = AIM_PAST + (feet + AIM_PAST) * pace * rng.standard_normal()
        angle = stroke.angle * more**slope * rng.standard_normal()
        window = math.asin(min((HOLE_FT - BALL_FT) / feet, 1.0))
        if (abs(angle) < window and 0.0 < past < TOO_FAR) or count == 9:
            return count
        feet = max(math.hypot(past, feet * angle), 0.25)


def player(
    kind: str, shots: int, rng: np.random.Generator
) -> tuple[list[tuple[StrokesTold, date | None]], Stroke, float]:
    """A player's putts, newest first, and how they putt at the end."""
    grid = _grid(PRIOR)
    at = rng.choice(len(grid.weight), p=grid.weight)
    step = (grid.second[1] - grid.second[0]) / 2.0
    # Between the nodes too, so that the grid is tried.
    angle, pace = (float(v[at] + rng.uniform(-step, step)) for v in (grid.first, grid.second))
    slope = float(grid.slope[at])
    said: list[tuple[StrokesTold, date | None]] = []
    day, form = date(2026, 1, 1), 1.0
    stroke = Stroke(math.exp(angle), math.exp(pace))
    for shot in range(shots):
        if shot % DAY == 0:
            day += timedelta(days=3)
            form = math.exp(0.25 * rng.standard_normal()) if kind == "streaky" else 1.0
        if kind == "improving":
            form = 1.5 - 0.5 * shot / max(shots - 1, 1)
        length = LENGTHS[shot % len(LENGTHS)]
        now = Stroke(stroke.angle * form, stroke.pace * form)
        count = taken(length, now, rng, kind, slope)
        if kind == "careless" and rng.random() < 1 / 30:
            count = int(rng.integers(1, 5))
        said.append((StrokesTold(length, count), day))
    return said[::-1], stroke, slope


def truth(kind: str, stroke: Stroke, slope: float, feet: float, rng: np.random.Generator) -> float:
    """How often they hole out in one: the formula, over the days where those differ."""
    more = (max(feet, 1.0) / 10.0) ** slope
    stroke = Stroke(stroke.angle * more, stroke.pace * more)
    if kind == "lag-poor" and feet > 20.0:
        stroke = Stroke(stroke.angle, 2.0 * stroke.pace)
    forms = np.exp(0.25 * rng.standard_normal(400)) if kind == "streaky" else np.ones(1)
    at = np.array([feet])
    return float(np.mean([Stroke(stroke.angle * f, stroke.pace * f).holed(at)[0] for f in forms]))


def held(kind: str, shots: int, players: int, seed: int = 1) -> dict[str, float]:
    """The share of players whose truth lay in the 80 % interval, by figure."""
    rng = np.random.default_rng([seed, shots, KINDS.index(kind)])
    hits = {f"{feet:g} ft": 0 for feet in ASKED} | {"told": 0.0, "came": 0.0}
    for _ in range(players):
        said, stroke, slope = player(kind, shots, rng)
        known = Holing.of(said, PRIOR)
        for feet in ASKED:
            band = known.within(feet)
            hits[f"{feet:g} ft"] += band.low <= truth(kind, stroke, slope, feet, rng) <= band.high
        hits["told"] += known.likely(8.0)
        hits["came"] += taken(8.0, stroke, rng, kind, slope) == 1
    return {name: value / players for name, value in hits.items()}


def rows(players: int) -> Iterator[str]:
    for kind in KINDS:
        for shots in SHOTS:
            found = held(kind, shots, players)
            yield f"{kind:10}{shots:5}" + "".join(f"  {k} {100 * v:5.1f}" for k, v in found.items())


if __name__ == "__main__":
    for row in rows(int(sys.argv[1]) if len(sys.argv) > 1 else 1000):
        print(row, flush=True)
