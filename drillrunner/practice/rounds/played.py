"""What a round comes to: gross, adjusted gross, differential; and a player's rounds together.

Rules of Handicapping (The R&A and USGA), rules 3.1 and 5.1. A hole counts no more than net double
bogey with the index in force before the round: the one worked out here, else the one typed. A
round keeps the course as it was, so that one whose rating changed leaves old rounds theirs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from drillrunner.catalogue.courses import Course, Tee, from_kept
from drillrunner.practice.rounds.handicap import (
    USUAL,
    Options,
    adjusted_gross,
    differential,
    hole_limits,
    nearest_whole,
    nine_hole_differential,
    strokes_on_course,
    strokes_received,
    tenth,
)
from drillrunner.practice.rounds.index import RatedScore, Record
from drillrunner.rules.card import Form
from drillrunner.rules.scorecard import Scorecard
from drillrunner.store.shapes import RoundInfo

NINE, EIGHTEEN = 9, 18

TypedIndexes = Sequence[tuple[date, Decimal | None]]
"""Handicap indexes that were typed, and from which day on, oldest first."""


@dataclass(frozen=True)
class PlayedRound:
    """A round and what it comes to. Numbers are `None` where they can't be told.

    numbers: of the holes that are played. index: in force before it. adjusted: gross, no hole over
    net double bogey. exact: the unrounded differential; half of one where `half`. partner: the id
    of the nine holes that made a score together with these; whole: what the two came to, on the
    later.
    """

    info: RoundInfo
    card: Scorecard
    course: Course | None
    tee: Tee | None
    numbers: tuple[int, ...]
    form: Form
    index: Decimal | None = None
    gross: int | None = None
    adjusted: int | None = None
    exact: Fraction | None = None
    half: bool = False
    partner: str | None = None
    whole: Fraction | None = None

    @property
    def count(self) -> int:
        """How many holes it is of."""
        return len(self.numbers) if self.course else int(self.info.data.get("holes", EIGHTEEN))

    @property
    def told(self) -> int:
        """How many holes have been told."""
        return len(self.card.holes)

    @property
    def complete(self) -> bool:
        """Whether every hole has a score."""
        return not self.missing

    @property
    def missing(self) -> tuple[int, ...]:
        """The holes without a score, in the order in which they are played."""
        holes = self.card.holes
        return tuple(n for n in self.numbers if n not in holes or holes[n].score is None)

    @property
    def counts(self) -> bool:
        """Whether it is in the record: finished, not taken out, with a differential."""
        return self.card.finished and not self.card.out and self.exact is not None

    @property
    def waits(self) -> bool:
        """Whether it is nine holes that wait for another nine."""
        return self.counts and self.half and self.partner is None

    @property
    def differential(self) -> Decimal | None:
        """To a tenth; of nine holes that of the two together, on the later one."""
        exact = self.whole if self.half else self.exact
        return None if exact is None else tenth(exact)


@dataclass(frozen=True)
class PlayerRounds:
    """A player's rounds in the order in which they were played, and the record they make."""

    rounds: tuple[PlayedRound, ...]
    record: Record
    typed: Decimal | None = None

    @property
    def index(self) -> Decimal | None:
        """The index of now: worked out from the rounds, else as typed."""
        return self.typed if self.record.index is None else self.record.index

    @property
    def waiting(self) -> PlayedRound | None:
        """Nine holes that wait for a partner."""
        return next((one for one in self.rounds if one.waits), None)

    def like(
        self, day: date, course: str | None, tee: str | None, but: str = ""
    ) -> tuple[PlayedRound, ...]:
        """Rounds of the same day, course and tee that count, without the one of id `but`."""
        return tuple(
            one
            for one in self.rounds
            if (one.info.day, one.info.course, one.info.tee) == (day, course, tee)
            and not one.card.out
            and one.info.id != but
        )


def together(
    infos: Iterable[RoundInfo], typed: TypedIndexes = (), options: Options = USUAL
) -> PlayerRounds:
    """Fold all rounds of a player. typed: the handicap indexes that were typed, oldest first."""
    record = Record(options=options)
    rounds: list[PlayedRound] = []
    waiting: int | None = None
    for begun in sorted(map(folded, infos), key=_order):
        index = in_force(typed, begun.info.day) if record.index is None else record.index
        one = worked_out(begun, index, options)
        if one.counts and one.exact is not None:
            if not one.half:
                record = record.after(RatedScore.of(one.info.day, one.exact))
            elif waiting is None:
                waiting = len(rounds)
            else:
                first = rounds[waiting]
                assert first.exact is not None
                both = first.exact + one.exact
                record = record.after(RatedScore.of(one.info.day, both))
                rounds[waiting] = replace(first, partner=one.info.id)
                one = replace(one, partner=first.info.id, whole=both)
                waiting = None
        rounds.append(one)
    return PlayerRounds(tuple(rounds), record, typed[-1][1] if typed else None)


def folded(info: RoundInfo) -> PlayedRound:
    """A round as it was told, before its numbers."""
    card = info.card
    if info.as_played is None:
        return PlayedRound(info, card, None, None, (), "score")
    course = from_kept(info.as_played)
    numbers = tuple(info.data.get("holes") or range(1, len(course.holes) + 1))
    form = card.form({number: course.holes[number - 1].par for number in numbers})
    return PlayedRound(info, card, course, course.tee(info.tee), numbers, form)


def worked_out(one: PlayedRound, index: Decimal | None, options: Options = USUAL) -> PlayedRound:
    """The round with its numbers. index: in force before it. Raises BadScore."""
    if one.course is None or one.tee is None:
        return _from_a_list(one, index)
    if not one.complete:
        return replace(one, index=index, exact=_shown(one))
    scores = [one.card.holes[number].score or 0 for number in one.numbers]
    adjusted = adjusted_gross(scores, limits(one.course, one.tee, one.numbers, index, options))
    found = replace(one, index=index, gross=sum(scores), adjusted=adjusted, exact=_shown(one))
    if found.exact is not None or len(one.numbers) != len(one.course.holes):
        # Of nine of eighteen holes no rating is known: the club's own figure can be typed.
        return found
    return replace(
        found, **_rated(adjusted, one.tee.rating, one.tee.slope, one.card.pcc, len(one.numbers))
    )


def limits(
    course: Course,
    tee: Tee,
    numbers: Sequence[int],
    index: Decimal | None,
    options: Options = USUAL,
) -> tuple[int, ...]:
    """The most that each of these holes counts, with this index. Raises BadScore."""
    holes = [course.holes[number - 1] for number in numbers]
    strokes: Fraction | None = None
    if index is not None:
        count = len(course.holes)
        strokes = strokes_on_course(index, count, tee.rating, tee.slope, tee.par, options)
        if count != len(numbers):
            # Which strokes fall on these nine is told by the stroke indices of all eighteen.
            every = dict(
                zip(range(1, len(course.holes) + 1), _limits(course, strokes), strict=True)
            )
            return tuple(every[number] for number in numbers)
    return hole_limits([hole.par for hole in holes], [hole.index for hole in holes], strokes)


def strokes_on(one: PlayedRound, index: Decimal | None, options: Options = USUAL) -> dict[int, int]:
    """Strokes that a player of this index gets on each hole; none without one."""
    course, tee = one.course, one.tee
    if course is None or tee is None or index is None:
        return {}
    exact = strokes_on_course(index, len(course.holes), tee.rating, tee.slope, tee.par, options)
    strokes = nearest_whole(exact)
    received = strokes_received(strokes, [hole.index for hole in course.holes])
    return dict(enumerate(received, 1))


def _limits(course: Course, strokes: Fraction) -> tuple[int, ...]:
    return hole_limits(
        [hole.par for hole in course.holes], [hole.index for hole in course.holes], strokes
    )


def _from_a_list(one: PlayedRound, index: Decimal | None) -> PlayedRound:
    """A score that came with its course rating and slope, or with its differential."""
    data = one.info.data
    gross, shown = data.get("gross"), _shown(one)
    found = replace(one, index=index, gross=gross, adjusted=gross, exact=shown)
    if shown is not None or gross is None:
        return found
    rating, slope = Decimal(str(data["rating"])), int(data["slope"])
    return replace(found, **_rated(gross, rating, slope, one.card.pcc, one.count))


def _rated(gross: int, rating: Decimal, slope: int, pcc: int, holes: int) -> dict[str, Any]:
    half = holes == NINE
    find = nine_hole_differential if half else differential
    return {"exact": find(gross, rating, slope, pcc), "half": half}


def _shown(one: PlayedRound) -> Fraction | None:
    return None if one.card.shown is None else Fraction(one.card.shown)


def in_force(typed: TypedIndexes, day: date) -> Decimal | None:
    """The index that was typed last on or before a day; the first one for a day before all."""
    before = [index for since, index in typed if since <= day]
    return before[-1] if before else typed[0][1] if typed else None


def _order(one: PlayedRound) -> tuple[date, int]:
    # What has no place of its own within the day stays where it was told: sorting keeps that.
    return one.info.day, one.card.order if one.card.order is not None else 1
