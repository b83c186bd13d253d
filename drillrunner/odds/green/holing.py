"""What one player's strokes from a lie tell: a smooth curve over length, and how sure it is.

Every ball of every drill from that lie counts, whatever its length. Who the player may be lies on
the grid of `curves`; how their days differ and how they change is weighed with it (`forms`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from itertools import groupby

import numpy as np

from drillrunner.odds.green import chips, forms
from drillrunner.odds.green.curves import (
    Golfers,
    HolingPrior,
    Left,
    StrokesTold,
    far_of,
    golfers_of,
    leaves_at,
    log_told,
    strokes_at,
)
from drillrunner.odds.pattern import Band, quantiles
from drillrunner.odds.shape import Floats
from drillrunner.rules.outcome import MOST_STROKES, Outcome
from drillrunner.rules.station import Ask
from drillrunner.rules.units import feet

_FAINT = 1e-4
COUNTS: Floats = np.arange(1.0, MOST_STROKES + 1.0)


@dataclass(frozen=True, eq=False)
class Holing:
    """The posterior after some balls from one lie.

    past: what the days before tell under each law. today: what was said since. shots: how many
    balls stand behind it; counted: what they said. drawn: as of a `Plausible`: the nodes are a
    grid. `weight` is of how the player holes out today, which chances of a run ask for; bands are
    of how they do from day to day.
    """

    prior: HolingPrior
    past: tuple[forms.Past, ...] | None = None
    today: Mapping[StrokesTold, int] = field(default_factory=dict)
    shots: int = 0
    counted: Mapping[StrokesTold, int] = field(default_factory=dict)
    drawn: bool = False

    @classmethod
    def of(
        cls, newest_first: Sequence[tuple[StrokesTold, date | None]], prior: HolingPrior
    ) -> Holing:
        """What these balls tell, day by day; what comes after them counts as of another day."""
        days = [
            Counter(said for said, _ in group)
            for _, group in groupby(reversed(newest_first), key=lambda pair: pair[1])
        ]
        told = [(_said(prior, day), day.total()) for day in days]
        past = forms.after_days(golfers_of(prior), told)
        counted = Counter(said for said, _ in newest_first)
        return cls(prior, past, {}, len(newest_first), counted)

    def after(self, said: StrokesTold) -> Holing:
        """The posterior one ball later."""
        now = {**self.today, said: self.today.get(said, 0) + 1}
        counted = {**self.counted, said: self.counted.get(said, 0) + 1}
        return Holing(self.prior, self.past, now, self.shots + 1, counted)

    @property
    def grid(self) -> Golfers:
        """Who the player may be."""
        return golfers_of(self.prior)

    @cached_property
    def _laws(self) -> list[tuple[float, Floats, Floats]]:
        """Under each law: how much days differ, and the weights from day to day and today."""
        past = forms.before(self.grid) if self.past is None else self.past
        log = _said(self.prior, self.today)
        seen = np.exp(log - log.max())
        return [
            (
                law.day,
                share * weight * forms.blurred(self.grid, law.day, seen),
                share * forms.today(self.grid, law.day, weight) * seen,
            )
            for law, share, weight in past
        ]

    @cached_property
    def whole(self) -> Floats:
        """The weight of every node of the grid, for today; they sum to 1."""
        found: Floats = np.sum([now for _, _, now in self._laws], axis=0)
        found = found / found.sum()
        return found

    @cached_property
    def kept(self) -> chips.Places:
        """The nodes that matter."""
        return np.flatnonzero(self.whole > _FAINT * self.whole.max())

    @cached_property
    def weight(self) -> Floats:
        """Their weights; they sum to 1."""
        some: Floats = self.whole[self.kept]
        some = some / some.sum()
        return some

    def answers(self, ask: Ask, outcomes: Sequence[Outcome]) -> Floats:
        """How likely each node makes each answer to a question: outcomes x K."""
        length = far_of(ask.aim, ask.unit)
        if ask.asks == "strokes":
            rows = strokes_at(self.prior, length)
            return rows[[(o.shot.strokes or 1) - 1 for o in outcomes]][:, self.kept]
        step = float(feet(ask.grid, ask.measure))
        places = [int((o.shot.leave or 0) / ask.grid) for o in outcomes]
        return leaves_at(self.prior, Left(length, step, len(outcomes)), places, self.kept)

    def within(self, length: float, strokes: int = 1) -> Band:
        """The chance to hole out in at most so many strokes; feet on the green, else yards."""
        return self._band(strokes_at(self.prior, length)[:strokes].sum(axis=0))

    def likely(self, length: float, strokes: int = 1) -> float:
        """The same in one number, today: how likely the next ball is to."""
        rows = strokes_at(self.prior, length)[:strokes, self.kept]
        return float(rows.sum(axis=0) @ self.weight)

    def expected(self, length: float) -> Band:
        """Strokes to hole out, on average."""
        return self._band(COUNTS @ strokes_at(self.prior, length))

    def _band(self, values: Floats) -> Band:
        """Of values at every node, as they come out over the days."""
        over, weights = [], []
        for day in {day for day, _, _ in self._laws}:
            found = np.sum([large for other, large, _ in self._laws if other == day], axis=0)
            over.append(forms.blurred(self.grid, day, values))
            weights.append(found)
        weight = np.concatenate(weights)
        kept = weight > _FAINT * weight.max()
        return quantiles(np.concatenate(over)[kept], weight[kept])

    @property
    def guess(self) -> bool:
        """Whether the starting guess still outweighs the balls: see `Pattern.guess`.

        What is asked is how well one holes out at a middle length, so that is where it is judged.
        """
        length = 10.0 if self.prior.lie == "green" else 20.0
        values = COUNTS @ strokes_at(self.prior, length)
        start, now = self.grid.weight, np.sum([large for _, large, _ in self._laws], axis=0)
        return _variance(values, now / now.sum()) > _variance(values, start) / 2.0


def _said(prior: HolingPrior, balls: Mapping[StrokesTold, int]) -> Floats:
    """The logarithm of how likely every node made what some balls said."""
    log = np.zeros(len(golfers_of(prior).weight))
    for said, count in balls.items():
        log = log + count * log_told(prior, said)
    return log


def _variance(values: Floats, weight: Floats) -> float:
    mean = float(values @ weight)
    return float((values - mean) ** 2 @ weight)
