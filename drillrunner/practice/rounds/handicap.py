"""From a score to a differential, and from an index to strokes on a course.

Rules of Handicapping (The R&A and USGA), 2020 and 2024; rules 3.1, 5.1, 6.1, 6.2 and appendix C.
Everything is exact: numbers are integers, `Decimal` or `Fraction`, never binary floats. A half is
rounded upward, toward plus infinity (our reading of "upward"): -1.55 becomes -1.5.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Literal

from drillrunner.catalogue.courses import SLOPES

STANDARD_SLOPE = 113
PCC = (-1, 3)
"""The playing conditions calculation is between these (rule 5.6)."""

HOLES = 18
FEWEST = 3
"""Scores that make an index, unless the association says otherwise (rule 5.2a)."""

MAXIMUM = Decimal("54.0")
"""The highest index (rule 5.3)."""

Exact = int | Decimal | Fraction


class BadScore(ValueError):
    """A score, course or index that can't be: one line, what and what was expected."""


@dataclass(frozen=True)
class Options:
    """What an association may choose, and what the Rules leave to be read.

    early: an index from one or two scores: their number to what is added to the lowest; none unless
    the association says so. low_from: from how many scores an index counts for the low index; our
    reading is all of them. exceptional: whether the unrounded differential is compared with the
    index (2024), or the rounded one (2020). par_counts: whether a course handicap takes in course
    rating less par. allowance: of a playing handicap, as 0.95 for individual stroke play.
    """

    early: dict[int, Decimal] = field(default_factory=dict)
    low_from: int = 3
    exceptional: Literal["unrounded", "rounded"] = "unrounded"
    par_counts: bool = True
    allowance: Decimal = Decimal("0.95")

    @property
    def fewest(self) -> int:
        """How many scores make an index."""
        return min([FEWEST, *self.early])


USUAL = Options()


def nearest_whole(value: Exact) -> int:
    """To the nearest whole number, a half upward."""
    return floor(Fraction(value) + Fraction(1, 2))


def tenth(value: Exact) -> Decimal:
    """To the nearest tenth, a half upward, with its one decimal."""
    return Decimal(nearest_whole(Fraction(value) * 10)).scaleb(-1)


def differential(gross: int, rating: Exact, slope: int, pcc: Exact = 0) -> Fraction:
    """The score differential of eighteen holes, unrounded (rule 5.1a). Raises BadScore.

    gross: adjusted by net double bogey. rating: the course rating.
    """
    _check(gross, rating, slope, pcc, HOLES)
    return Fraction(STANDARD_SLOPE, slope) * (gross - Fraction(rating) - Fraction(pcc))


def nine_hole_differential(gross: int, rating: Exact, slope: int, pcc: Exact = 0) -> Fraction:
    """NineHoles a differential, unrounded, from nine holes (rule 5.1b of 2020). Raises BadScore.

    rating, slope: of those nine. Two halves are added and only then rounded. The 2024 rule adds an
    expected part by a formula that is not published: there the club's own figure is typed.
    """
    _check(gross, rating, slope, pcc, HOLES // 2)
    return Fraction(STANDARD_SLOPE, slope) * (gross - Fraction(rating) - Fraction(pcc) / 2)


def course_handicap(
    index: Exact, rating: Exact, slope: int, par: int, options: Options = USUAL
) -> Fraction:
    """Strokes on a course before rounding (rule 6.1a). Raises BadScore."""
    _check_slope(slope)
    _check_index(index)
    over_par = Fraction(rating) - par if options.par_counts else Fraction(0)
    return Fraction(index) * Fraction(slope, STANDARD_SLOPE) + over_par


def nine_hole_course_handicap(
    index: Exact, rating: Exact, slope: int, par: int, options: Options = USUAL
) -> Fraction:
    """Strokes on nine holes before rounding, from half the index to a tenth. Raises BadScore.

    Rule 6.1b; that the half is rounded first is from memory.
    """
    _check_index(index)
    return course_handicap(tenth(Fraction(index) / 2), rating, slope, par, options)


def strokes_on_course(
    index: Exact, holes: int, rating: Exact, slope: int, par: int, options: Options = USUAL
) -> Fraction:
    """Strokes on all the holes of a card, nine or eighteen, before rounding. Raises BadScore."""
    find = nine_hole_course_handicap if holes == HOLES // 2 else course_handicap
    return find(index, rating, slope, par, options)


def playing_handicap(strokes: Exact, options: Options = USUAL) -> int:
    """Strokes in a competition, from an unrounded course handicap (rule 6.2a)."""
    return nearest_whole(Fraction(strokes) * Fraction(options.allowance))


def strokes_received(course_handicap: int, stroke_indices: Sequence[int]) -> tuple[int, ...]:
    """Strokes on each hole, by its stroke index; negative where they are given back.

    A plus player gives back from the last stroke index downward (appendix C). Nine holes may have
    any of eighteen stroke indices: their order decides. Raises BadScore.
    """
    count = len(stroke_indices)
    if not count or len(set(stroke_indices)) != count:
        raise BadScore(f"stroke indices {list(stroke_indices)}: expected each once")
    order = sorted(stroke_indices)
    every, more = divmod(course_handicap, count)
    # A negative number divides downward: -2 over 18 holes is one back on every hole and 16 of them
    # returned to the hardest, which leaves the last two.
    return tuple(every + (order.index(one) < more) for one in stroke_indices)


def hole_limits(
    pars: Sequence[int], stroke_indices: Sequence[int], course_handicap: Exact | None
) -> tuple[int, ...]:
    """The most that each hole counts: net double bogey (rule 3.1b), or par + 5 without an index.

    course_handicap: unrounded. Raises BadScore.
    """
    if len(pars) != len(stroke_indices):
        raise BadScore(f"{len(pars)} pars and {len(stroke_indices)} stroke indices: expected both")
    if course_handicap is None:
        return tuple(par + 5 for par in pars)
    received = strokes_received(nearest_whole(course_handicap), stroke_indices)
    return tuple(par + 2 + more for par, more in zip(pars, received, strict=True))


def adjusted_gross(scores: Sequence[int], limits: Sequence[int]) -> int:
    """The gross score that counts: no hole more than its limit. Raises BadScore."""
    if len(scores) != len(limits):
        raise BadScore(f"{len(scores)} scores for {len(limits)} holes: expected one each")
    if any(score < 1 for score in scores):
        raise BadScore(f"scores {list(scores)}: expected at least 1 on each hole")
    return sum(min(score, limit) for score, limit in zip(scores, limits, strict=True))


def _check(gross: int, rating: Exact, slope: int, pcc: Exact, holes: int) -> None:
    _check_slope(slope)
    if gross < holes:
        raise BadScore(f"gross {gross}: expected at least {holes}, one a hole")
    if not 0 < Fraction(rating) < 200:
        raise BadScore(f"course rating {rating}: expected more than 0 and under 200")
    if not PCC[0] <= Fraction(pcc) <= PCC[1]:
        raise BadScore(f"playing conditions {pcc}: expected {PCC[0]} to +{PCC[1]}")


def _check_slope(slope: int) -> None:
    if not SLOPES[0] <= slope <= SLOPES[1]:
        raise BadScore(f"slope {slope}: expected {SLOPES[0]} to {SLOPES[1]}")


def _check_index(index: Exact) -> None:
    if Fraction(index) > Fraction(MAXIMUM):
        raise BadScore(f"index {index}: expected at most {MAXIMUM}")
