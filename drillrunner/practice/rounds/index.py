"""The handicap index of a record of dated differentials, and what the next round can do to it.

Rules of Handicapping (The R&A and USGA), 2020 and 2024, rules 5.2, 5.3, 5.7, 5.8, 5.9. Pure: a
record is folded score by score, oldest first, and every step can be looked at. Inside, indices and
the differentials that count are whole tenths; the unrounded differential is kept beside them,
because exceptional scores are told by it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import takewhile

from drillrunner.practice.rounds.handicap import (
    MAXIMUM,
    USUAL,
    BadScore,
    Exact,
    Options,
    differential,
    nearest_whole,
    tenth,
)

LATEST = 20
"""Scores that the index is worked out from, and from how many on it is capped (5.2, 5.7)."""

TABLE: Mapping[int, tuple[int, int]] = {
    3: (1, -20),
    4: (1, -10),
    5: (1, 0),
    6: (2, -10),
    **dict.fromkeys((7, 8), (2, 0)),
    **dict.fromkeys((9, 10, 11), (3, 0)),
    **dict.fromkeys((12, 13, 14), (4, 0)),
    **dict.fromkeys((15, 16), (5, 0)),
    **dict.fromkeys((17, 18), (6, 0)),
    19: (7, 0),
    20: (8, 0),
}
"""Scores in the record: how many of the lowest count, and tenths added to their mean (5.2a)."""

YEAR = timedelta(days=365)
"""How far back the low index is looked for (rule 5.7)."""

SOFT, HARD = 30, 50
"""Tenths above the low index where half counts, and where nothing does (rule 5.8)."""

EXCEPTIONAL = ((100, -20), (70, -10))
"""Tenths that a differential is below the index, and tenths taken off the latest scores (5.9)."""

LOWEST, HIGHEST = Decimal("-54.0"), Decimal("99.9")
"""Between these the needed differential is looked for: the lowest is eighteen strokes on a par 72
of standard slope."""

MOST_GROSS = 199
"""Up to here the needed gross score is looked for."""

MOST = int(MAXIMUM * 10)


@dataclass(frozen=True)
class RatedScore:
    """One score of a record. differential: to a tenth. exact: unrounded, or as it was typed."""

    day: date
    differential: Decimal
    exact: Fraction

    @classmethod
    def of(cls, day: date, exact: Exact) -> RatedScore:
        """A score with this differential, rounded to a tenth where it is not yet."""
        return cls(day, tenth(exact), Fraction(exact))


@dataclass(frozen=True)
class NineHoles:
    """Nine holes that wait for a partner. exact: half a differential, unrounded (5.1b of 2020)."""

    day: date
    exact: Fraction


@dataclass(frozen=True)
class Step:
    """A score in a record, and what the index was after it.

    adjusted: tenths that exceptional scores took off it, so far. exceptional: tenths that this one
    took off the latest scores. plain: tenths before the caps. index: tenths, `None` while there are
    too few scores. low: the low index that the caps went by, in tenths.
    """

    score: RatedScore
    adjusted: int = 0
    exceptional: int = 0
    plain: int | None = None
    index: int | None = None
    low: int | None = None

    @property
    def tenths(self) -> int:
        """The differential that counts, adjustments included, in tenths."""
        return int(self.score.differential * 10) + self.adjusted


@dataclass(frozen=True)
class ListedScore:
    """A score as it is shown. counts: in the index of now. drops: out with the next score.

    differential: adjustments for exceptional scores included.
    """

    day: date
    differential: Decimal
    counts: bool
    drops: bool


@dataclass(frozen=True)
class Record:
    """Scores by day, oldest first, those of one day in the order given; each with its step."""

    steps: tuple[Step, ...] = ()
    options: Options = USUAL

    @classmethod
    def of(cls, scores: Iterable[RatedScore], options: Options = USUAL) -> Record:
        """The record of these scores, in any order of days. Raises BadScore."""
        record = cls((), options)
        for score in sorted(scores, key=lambda score: score.day):
            record = record.after(score)
        return record

    @property
    def index(self) -> Decimal | None:
        """The index of now; `None` while there are too few scores."""
        return _decimal(self.steps[-1].index) if self.steps else None

    @property
    def low(self) -> Decimal | None:
        """The low index that the caps of now go by, if there is one yet."""
        return _decimal(self.steps[-1].low) if self.steps else None

    @property
    def latest(self) -> tuple[Step, ...]:
        """The scores that the index of now is worked out from, oldest first."""
        return self.steps[-LATEST:]

    @property
    def scores(self) -> tuple[ListedScore, ...]:
        """All scores, newest last, and which of them count and drop."""
        in_the_record = _counting(self.latest, self.options)
        before = len(self.steps) - len(self.latest)
        return tuple(
            ListedScore(
                step.score.day,
                Decimal(step.tenths).scaleb(-1),
                at - before in in_the_record,
                at == before and len(self.latest) == LATEST,
            )
            for at, step in enumerate(self.steps)
        )

    def after(self, score: RatedScore) -> Record:
        """The record with one more score, the newest. Raises BadScore for one from before."""
        if self.steps and score.day < self.steps[-1].score.day:
            raise BadScore(f"{score.day}: expected a day from {self.steps[-1].score.day} on")
        taken = self._exceptional(score)
        steps = [*self.steps, Step(score, exceptional=taken)]
        if taken:
            steps[-LATEST:] = [
                replace(step, adjusted=step.adjusted + taken) for step in steps[-LATEST:]
            ]
        latest = steps[-LATEST:]
        plain = mean_of_lowest([step.tenths for step in latest], self.options)
        low = self._low(score.day) if len(steps) >= LATEST else None
        index = None if plain is None else min(capped(plain, low), MOST)
        steps[-1] = replace(steps[-1], plain=plain, index=index, low=low)
        return replace(self, steps=tuple(steps))

    def _exceptional(self, score: RatedScore) -> int:
        """Tenths that a score far below the index in force takes off the latest ones (5.9)."""
        in_force = self.steps[-1].index if self.steps else None
        if in_force is None:
            return 0
        rounded = self.options.exceptional == "rounded"
        below = in_force - (Fraction(score.differential) if rounded else score.exact) * 10
        return next((taken for least, taken in EXCEPTIONAL if below >= least), 0)

    def _low(self, newest: date) -> int | None:
        """The lowest index worked out in the year before this day, the one of now left out."""
        # Days are in order: what is older than the first of the year need not be looked at.
        within = takewhile(
            lambda numbered: numbered[1].score.day >= newest - YEAR,
            zip(range(len(self.steps), 0, -1), reversed(self.steps), strict=True),
        )
        known = [
            step.index
            for number, step in within
            if step.index is not None and number >= self.options.low_from
        ]
        return min(known, default=None)


def joined(
    played: Iterable[RatedScore | NineHoles],
) -> tuple[tuple[RatedScore, ...], NineHoles | None]:
    """Nine holes put together two by two in the order played, and the one that still waits.

    played: oldest first. The two make one score, of the later day.
    """
    waiting: NineHoles | None = None
    scores: list[RatedScore] = []
    for one in played:
        if isinstance(one, RatedScore):
            scores.append(one)
        elif waiting is None:
            waiting = one
        else:
            scores.append(RatedScore.of(max(waiting.day, one.day), waiting.exact + one.exact))
            waiting = None
    return tuple(scores), waiting


def mean_of_lowest(tenths: Iterable[int], options: Options = USUAL) -> int | None:
    """The mean of the lowest, adjustment included, in tenths; `None` with too few (5.2a)."""
    known = sorted(tenths)
    found = _use(len(known), options)
    if found is None:
        return None
    use, added = found
    return nearest_whole(Fraction(sum(known[:use]), use)) + added


def capped(plain: int, low: int | None) -> int:
    """An index held back by the low index: half of what is over 3.0, never over 5.0 (5.8)."""
    if low is None or plain <= low + SOFT:
        return plain
    return min(low + SOFT + nearest_whole(Fraction(plain - low - SOFT, 2)), low + HARD)


def needed_differential(
    record: Record, goal: Decimal, day: date, low: Decimal = LOWEST, high: Decimal = HIGHEST
) -> Decimal | None:
    """The highest differential that brings the index to the goal with the next round.

    day: of that round. `None` if none from `low` on can; `high` if any will do.
    """

    def reaches(tenths: int) -> bool:
        return _reaches(record, RatedScore.of(day, Fraction(tenths, 10)), goal)

    found = _highest(int(low * 10), int(high * 10), reaches)
    return _decimal(found)


def needed_gross(
    record: Record,
    goal: Decimal,
    day: date,
    rating: Exact,
    slope: int,
    pcc: Exact = 0,
    low: int = 18,
    high: int = MOST_GROSS,
) -> int | None:
    """The highest adjusted gross score from a tee that brings the index to the goal.

    `None` if none from `low` on can; `high` if any will do. Raises BadScore for a wrong tee.
    """

    def reaches(gross: int) -> bool:
        score = RatedScore.of(day, differential(gross, rating, slope, pcc))
        return _reaches(record, score, goal)

    return _highest(low, high, reaches)


def _reaches(record: Record, score: RatedScore, goal: Decimal) -> bool:
    index = record.after(score).index
    return index is not None and index <= goal


def _highest(low: int, high: int, reaches: Callable[[int], bool]) -> int | None:
    """The highest number that reaches, where every lower one does: a lower score never hurts."""
    if not reaches(low):
        return None
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if reaches(middle) else (low, middle - 1)
    return low


def _use(count: int, options: Options) -> tuple[int, int] | None:
    """How many of the lowest count, and what is added in tenths; `None` with too few scores."""
    if count in options.early and count not in TABLE:
        return 1, int(options.early[count] * 10)
    return TABLE.get(min(count, LATEST))


def _counting(latest: tuple[Step, ...], options: Options) -> set[int]:
    """Places of the scores that count; of equal ones the newer, which stays longer."""
    found = _use(len(latest), options)
    places = sorted(range(len(latest)), key=lambda at: (latest[at].tenths, -at))
    return set(places[: 0 if found is None else found[0]])


def _decimal(tenths: int | None) -> Decimal | None:
    return None if tenths is None else Decimal(tenths).scaleb(-1)
