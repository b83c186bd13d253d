"""Made-up players on the green and beside it, by the physics and not by the tables.

`nominal` players are drawn from the starting guess itself, their days by its laws; `steady` ones
too, but none of their days is better or worse. The others come from outside the model:
lag-poor (pace twice as bad beyond 20 ft), misreading (angle error 1.6 times as large beyond 10 ft),
duffing (two and a half times as many bad chips), streaky (each day better or worse), improving
(errors fall by a third over the balls), careless (one ball in 30 typed wrongly).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from drillrunner.catalogue.strokes.golfer import LIE_SD, SHORT_SHARE, Golfer, Lie
from drillrunner.odds.green import chips
from drillrunner.odds.green.curves import GROWTHS, OWN_SD, HolingPrior, golfers_of
from drillrunner.odds.green.forms import LAWS, Law
from drillrunner.odds.green.putts import EVEN, Growth
from drillrunner.odds.shape import Floats
from drillrunner.odds.strokes.putting import AIM_PAST, BALL_FT, HOLE_FT, TOO_FAR, Stroke
from drillrunner.odds.strokes.solver import (
    LONG_OF,
    SHORT_ACROSS,
    SHORT_OF,
    SHORT_SD,
    TEST_GROUND,
)

Counts = np.ndarray[Any, np.dtype[np.int_]]
MOST, WINDOW = 9, HOLE_FT - BALL_FT
STREAK = 0.25
ALIKE = Law(0.0, None)


@dataclass(frozen=True)
class Player:
    """How one putts and chips. short: factor on the spreads of the short game.

    bad: how many times as often a chip goes bad as for the prior's index. law, ahead: how the days
    of a nominal player differ, and how much worse than the index they are by now, a logarithm.
    """

    kind: str
    prior: HolingPrior
    angle: float
    pace: float
    growth: Growth = EVEN
    short: float = 1.0
    bad: float = 1.0
    law: Law = ALIKE
    ahead: float = 0.0

    @classmethod
    def drawn(cls, kind: str, prior: HolingPrior, rng: np.random.Generator) -> Player:
        """From the starting guess, between its nodes, so that the grid is tried."""
        grid = golfers_of(prior)
        ahead = grid.sd * float(rng.standard_normal())
        apart = OWN_SD / 2**0.5 * float(rng.standard_normal())
        first, second = float(np.exp(ahead + apart)), float(np.exp(ahead - apart))
        stroke, law = Stroke.of(prior.ability), ALIKE
        if kind == "nominal":
            law = LAWS[rng.choice(len(LAWS), p=[share for _, share in LAWS])][0]
        if prior.lie == "green":
            growth = GROWTHS[rng.choice(len(GROWTHS), p=[share for _, share in GROWTHS])][0]
            angle, pace = stroke.angle * first, stroke.pace * second
            return cls(kind, prior, angle, pace, growth, law=law, ahead=ahead)
        bad = float(rng.choice(chips.BAD, p=chips.BAD_SHARES))
        angle, pace = stroke.angle * second, stroke.pace * second
        return cls(kind, prior, angle, pace, EVEN, first, bad, law, ahead)

    def forms(self, shots: int, days: Counts, rng: np.random.Generator) -> Floats:
        """What all errors are multiplied by, ball by ball, oldest first."""
        if self.kind == "nominal":
            return self._by_law(days, rng)
        if self.kind == "streaky":
            return np.exp(STREAK * rng.standard_normal(days[-1] + 1))[days]
        if self.kind == "improving":
            return 1.5 - 0.5 * np.arange(shots) / max(shots - 1, 1)
        return np.ones(shots)

    def _by_law(self, days: Counts, rng: np.random.Generator) -> Floats:
        """Backwards from what the player is by now: such a walk is the same both ways."""
        sd, at = golfers_of(self.prior).sd, self.ahead
        found = np.empty(len(days))
        for day in range(days[-1], -1, -1):
            stays = self.law.stays(int((days == day).sum()))
            at = stays * at + sd * (1.0 - stays**2) ** 0.5 * float(rng.standard_normal())
            more = self.law.day * float(rng.standard_normal())
            found[days == day] = np.exp(at + more - self.ahead)
        return found

    def at_large(self, count: int, rng: np.random.Generator) -> Floats:
        """The same as they are at the end, over the days where those differ."""
        day = STREAK if self.kind == "streaky" else self.law.day
        return np.exp(day * rng.standard_normal(count))

    def putt(self, feet: Floats, form: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """One putt from each length: whether it dropped, and what it left."""
        wider, further = np.array([self.growth.of(float(x)) for x in np.unique(feet)]).T
        at = np.searchsorted(np.unique(feet), feet)
        angle = self.angle * form * wider[at]
        pace = self.pace * form * further[at]
        if self.kind == "lag-poor":
            pace = pace * np.where(feet > 20.0, 2.0, 1.0)
        if self.kind == "misreading":
            angle = angle * np.where(feet > 10.0, 1.6, 1.0)
        past = AIM_PAST + (feet + AIM_PAST) * pace * rng.standard_normal(len(feet))
        off = angle * rng.standard_normal(len(feet))
        drops = np.abs(off) < np.arcsin(np.minimum(WINDOW / feet, 1.0))
        drops &= (past > 0.0) & (past < TOO_FAR)
        return drops, np.where(drops, 0.0, np.maximum(np.hypot(past, feet * off), 0.25))

    def putts(self, feet: Floats, form: Floats, rng: np.random.Generator) -> Counts:
        """How many it took from each length."""
        taken = np.full(len(feet), MOST)
        on = np.arange(len(feet))
        left = np.asarray(feet, float)
        for stroke in range(1, MOST):
            # A quarter of a foot tells lengths apart well enough.
            drops, after = self.putt(np.round(left * 4.0) / 4.0, form[on], rng)
            taken[on[drops.astype(bool)]] = stroke
            stays = ~drops.astype(bool)
            on, left = on[stays], np.maximum(after[stays], 0.25)
            if not len(on):
                break
        return taken

    def chips(self, yards: Floats, form: Floats, rng: np.random.Generator) -> Counts:
        """How many strokes it took from each length off the green, from the prior's lie."""
        assert self.prior.lie != "green"
        bad_more = 2.5 if self.kind == "duffing" else self.bad
        golfer = Golfer(self.prior.ability, self.prior.sex, short=self.short)
        base = np.array(replace(golfer, short=1.0).sds(30.0, "fairway")) / 30.0**0.9
        taken = np.full(len(yards), MOST)
        on, far = np.arange(len(yards)), np.asarray(yards, float)
        lies: list[Lie] = [chips.LIE[self.prior.lie]] * len(yards)
        for stroke in range(1, MOST):
            sd = np.array([LIE_SD[lie] for lie in lies]) * self.short * form[on]
            sd *= np.minimum(far, 59.99) ** 0.9
            across, along = base[0] * sd, base[1] * sd
            share = np.array([SHORT_SHARE[lie] for lie in lies])
            bad = rng.random(len(on)) < np.minimum(
                golfer.bad_shots * bad_more * share, chips.MOST_BAD
            )
            thin = rng.random(len(on)) < 0.5
            mean = far * np.where(bad, np.where(thin, LONG_OF, SHORT_OF), 1.0)
            deep = np.where(bad, SHORT_SD * far, along)
            wide = np.where(bad, SHORT_ACROSS * across, across)
            gone = np.maximum(mean + deep * rng.standard_normal(len(on)), 0.0)
            off = wide * rng.standard_normal(len(on))
            past = 3.0 * (gone - far)
            drops = ~bad & (np.abs(3.0 * off) < WINDOW) & (past > 0.0) & (past < TOO_FAR)
            left = np.hypot(far - gone, off)
            green = ~drops & (left <= TEST_GROUND.green)
            taken[on[drops]] = stroke
            feet = np.maximum(3.0 * left[green], 0.25)
            holed = self.putts(feet, form[on[green]], rng) if green.any() else 0
            taken[on[green]] = np.minimum(stroke + holed, MOST)
            stays = ~drops & ~green
            on, far = on[stays], np.clip(left[stays], 13.0, 60.0)
            if not len(on):
                break
            mix = (TEST_GROUND.apron, 1.0 - TEST_GROUND.apron - TEST_GROUND.sand, TEST_GROUND.sand)
            lies = list(rng.choice(["fairway", "rough", "sand"], len(on), p=mix))
        return taken
