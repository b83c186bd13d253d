"""How fast a player changes: the half-life of a shot's weight, from the player's own days.

Each half-life tells, from the balls before, what the next balls were likely to be; how well it told
is its evidence (prequential: A. P. Dawid 1984, J. R. Statist. Soc. A 147:278-292, title from
memory). A player who stays as they are is told best by all of their balls, one who changes by the
latest. Nothing is tested: the half-lives are weighed, and the fading that is expected is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby
from typing import NamedTuple

import numpy as np

from drillrunner.odds.fit import Grid, fit, log_likelihood
from drillrunner.odds.observe import Observation
from drillrunner.odds.prior import Prior
from drillrunner.odds.tails import LIKELIHOODS, Floats

HALF_LIFE = 40.0
"""Balls after which a shot counts half, where a player's own days don't say."""

HALF_LIVES = (20.0, 40.0, 80.0, 160.0, 320.0, math.inf)
STAYS = 3.0
"""Those weighed, alike before any ball, but for staying as one is: that weighs three of them."""

BLOCK = 20
"""Balls of one day that are told together, at most."""

ENOUGH = 3
"""Blocks below which nothing is said of a player's own fading."""

_ACROSS = np.linspace(-1.5, 1.5, 49)
_ALONG = np.linspace(-0.9, 0.9, 31)


class Dated(NamedTuple):
    """What a ball said, and on which day; `None` where that is not known."""

    said: Observation
    day: date | None


def half_life(newest_first: Sequence[Dated], prior: Prior) -> float | None:
    """The half-life that this player's balls speak for, in balls; `None`: all count alike.

    40 where there are too few to tell.
    """
    blocks = _blocks(newest_first)
    if len(blocks) < ENOUGH:
        return HALF_LIFE
    weight = weighed(blocks, prior)
    rate = float(sum(w / h for w, h in zip(weight, HALF_LIVES, strict=True)))
    return 1.0 / rate if rate > 1e-4 else None


def weighed(blocks: Sequence[Sequence[Observation]], prior: Prior) -> tuple[float, ...]:
    """How plausible each of `HALF_LIVES` is, after blocks of balls, oldest first."""
    counts: list[dict[Observation, float]] = []
    whole: dict[Observation, float] = {}
    for block in blocks:
        counts.append({})
        for said in block:
            counts[-1][said] = counts[-1].get(said, 0.0) + 1.0
            whole[said] = whole.get(said, 0.0) + 1.0
    found = fit(whole, prior, LIKELIHOODS)
    best = int(np.argmax(found.weight.sum(axis=(1, 2))))
    shares = found.weight[best] / found.weight[best].sum()
    middle = float(shares.sum(axis=1) @ found.grid.bias[best])
    log_half = float(shares.sum(axis=0) @ found.grid.log_half[best])
    grid = Grid(
        (found.grid.names[best],),
        (middle + math.exp(log_half) * _ACROSS)[None, :],
        (log_half + _ALONG)[None, :],
    )
    rows = {said: log_likelihood({said: 1.0}, grid).ravel() for said in whole}
    start = -0.5 * (
        (np.repeat(grid.bias[0], len(_ALONG)) / prior.bias_sd) ** 2
        + ((np.tile(grid.log_half[0], len(_ACROSS)) - math.log(prior.half_width)) / prior.log_sd)
        ** 2
    )
    fade = np.array([0.5 ** (1.0 / h) for h in HALF_LIVES])[:, None]
    past = np.zeros((len(HALF_LIVES), len(start)))
    evidence = np.zeros(len(HALF_LIVES))
    for told in counts:
        number = sum(told.values())
        now = sum((w * rows[said] for said, w in told.items()), np.zeros(len(start)))
        evidence += _log_sum(start + past + now) - _log_sum(start + past)
        # The balls of a block fade among themselves too: on average by this much.
        inner = np.where(fade < 1.0, (1.0 - fade**number) / (1.0 - fade + 1e-300), number)
        past = past * fade**number + now * (inner / number)
    evidence += np.where(np.isinf(HALF_LIVES), math.log(STAYS), 0.0)
    weight = np.exp(evidence - evidence.max())
    return tuple((weight / weight.sum()).tolist())


def _log_sum(rows: Floats) -> Floats:
    most = rows.max(axis=1)
    found: Floats = most + np.log(np.exp(rows - most[:, None]).sum(axis=1))
    return found


def _blocks(newest_first: Iterable[Dated]) -> list[list[Observation]]:
    """Balls of one day, in their order, at most so many together."""
    oldest = list(newest_first)[::-1]
    found = []
    for _, day in groupby(oldest, key=lambda one: one.day):
        said = [one.said for one in day]
        found += [said[at : at + BLOCK] for at in range(0, len(said), BLOCK)]
    return found
