"""The index worked out a second time, from the sentences of the Rules and with fractions alone.

Rules of Handicapping (The R&A and USGA), 2020 and 2024, rules 5.1, 5.2, 5.3, 5.7, 5.8 and 5.9. None
of the program's own code is used here; it is slow, and looks at every round again each time.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drillrunner.practice.rounds.handicap import Options, differential
from drillrunner.practice.rounds.index import RatedScore, Record

DAY = date(2024, 3, 1)
USED = [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4, 5, 5, 6, 6, 7, 8]
ADDED = {3: -2, 4: -1, 6: -1}

Round = tuple[int, int, int, int, int]
"""Days after the one before; gross, rating in tenths, slope and playing conditions."""


def to_a_tenth(value: Fraction) -> Fraction:
    """A half goes upward, toward plus infinity."""
    return Fraction(math.floor(value * 10 + Fraction(1, 2)), 10)


def indices(played: list[tuple[date, Fraction]]) -> list[Fraction | None]:
    """The index after each round. played: day and unrounded differential, in order."""
    found: list[Fraction | None] = []
    taken = [Fraction(0)] * len(played)
    for now, (day, exact) in enumerate(played):
        first = max(0, now - 19)
        before = found[-1] if found else None
        if before is not None:
            below = before - exact
            off = 2 if below >= 10 else 1 if below >= 7 else 0
            for at in range(first, now + 1):
                taken[at] -= off
        latest = sorted(to_a_tenth(played[at][1]) + taken[at] for at in range(first, now + 1))
        count = len(latest)
        if count < 3:
            found.append(None)
            continue
        lowest = latest[: USED[count]]
        index = to_a_tenth(Fraction(sum(lowest), len(lowest)) + ADDED.get(count, 0))
        if count == 20:
            year = [
                one
                for one, (when, _) in zip(found, played, strict=False)
                if one is not None and (day - when).days <= 365
            ]
            if year and index > min(year) + 3:
                over = index - min(year) - 3
                index = min(to_a_tenth(min(year) + 3 + over / 2), min(year) + 5)
        found.append(min(index, Fraction(54)))
    return found


@st.composite
def records(draw: st.DrawFn) -> list[Round]:
    """Rounds with streaks and leaps, so that caps and exceptional scores come up."""
    middle = draw(st.integers(70, 120))
    rounds = []
    for _ in range(draw(st.integers(3, 45))):
        leap = draw(st.sampled_from((0, 0, 0, 0, -14, 12)))
        middle += draw(st.sampled_from((0, 0, 0, 1, -1)))
        rounds.append(
            (
                draw(st.sampled_from((0, 1, 7, 30, 200))),
                max(middle + leap + draw(st.integers(-4, 4)), 55),
                draw(st.integers(640, 760)),
                draw(st.integers(55, 155)),
                draw(st.integers(-1, 3)),
            )
        )
    return rounds


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(records())
def test_a_second_working_comes_to_the_same(rounds: list[Round]) -> None:
    record, played, day = Record(options=Options()), [], DAY
    for days, gross, rating, slope, conditions in rounds:
        day += timedelta(days)
        exact = Fraction(113, slope) * (gross - Fraction(rating, 10) - conditions)
        played.append((day, exact))
        ours = differential(gross, Fraction(rating, 10), slope, conditions)
        assert ours == exact
        record = record.after(RatedScore.of(day, ours))
    found = [None if step.index is None else Fraction(step.index, 10) for step in record.steps]
    assert found == indices(played)
