"""The index of a record: the table, the caps, exceptional scores, and what the next round needs.

Sources: Rules of Handicapping (The R&A and USGA), 2020 and 2024, by rule. Worked examples are the
published ones of these rules, or computed by hand from their sentences.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.odds.goal import NONE, form, rolled
from drillrunner.practice.rounds.handicap import BadScore, Options, differential, tenth
from drillrunner.practice.rounds.index import (
    HIGHEST,
    LOWEST,
    TABLE,
    NineHoles,
    RatedScore,
    Record,
    capped,
    joined,
    mean_of_lowest,
    needed_differential,
    needed_gross,
)
from drillrunner.practice.rounds.outlook import chances, rules, season

D = Decimal
DAY = date(2025, 4, 1)


def scores(*differentials: object, apart: int = 7, first: date = DAY) -> list[RatedScore]:
    return [
        RatedScore.of(first + timedelta(apart * at), D(str(value)))
        for at, value in enumerate(differentials)
    ]


def record(*differentials: object, apart: int = 7, options: Options = Options()) -> Record:  # noqa: B008
    return Record.of(scores(*differentials, apart=apart), options)


@pytest.mark.parametrize(
    ("count", "use", "added"),
    [
        # Rule 5.2a.
        (3, 1, "-2.0"),
        (4, 1, "-1.0"),
        (5, 1, "0"),
        (6, 2, "-1.0"),
        (7, 2, "0"),
        (8, 2, "0"),
        (9, 3, "0"),
        (11, 3, "0"),
        (12, 4, "0"),
        (14, 4, "0"),
        (15, 5, "0"),
        (16, 5, "0"),
        (17, 6, "0"),
        (18, 6, "0"),
        (19, 7, "0"),
        (20, 8, "0"),
    ],
)
def test_the_table(count: int, use: int, added: str) -> None:
    # Worst first, so that nothing is capped.
    differentials = [D("40.0") - at for at in range(count)]
    found = record(*differentials)
    assert found.index == tenth(sum(differentials[-use:]) / use + D(added))
    assert [listed.counts for listed in found.scores] == [at >= count - use for at in range(count)]
    assert [listed.drops for listed in found.scores] == [
        at == 0 < count - 19 for at in range(count)
    ]


def test_too_few_scores_make_no_index_but_where_an_association_says_so() -> None:
    assert Record().index is None
    assert record(20, 21).index is None
    early = Options(early={1: D("-4.0"), 2: D("-3.0")})
    assert record(20, options=early).index == D("16.0")
    assert record(20, 21, options=early).index == D("17.0")
    assert record(20, 21, 22, options=early).index == D("18.0")


def test_the_lowest_eight_of_a_worked_example() -> None:
    lowest = ["22.2", "24.8", "23.7", "20.5", "21.3", "30.1", "24.3", "22.4"]
    assert mean_of_lowest([int(D(v) * 10) for v in (*lowest, *["30.2"] * 12)]) == 237
    mixed = [one for pair in zip(["30.2"] * 8, reversed(lowest), strict=True) for one in pair]
    assert record("30.2", "30.2", *mixed, "30.2", "30.2").index == D("23.7")


def test_no_index_is_over_54() -> None:
    assert record(70, 71, 72).index == D("54.0")


@pytest.mark.parametrize(
    ("low", "plain", "held"),
    [
        # Rule 5.8.
        (100, 134, 132),
        (65, 116, 106),
        (131, 400, 181),
        (100, 130, 130),
        (100, 131, 131),
        (100, 132, 131),
        (100, 170, 150),
        (100, 90, 90),
        (None, 400, 400),
    ],
)
def test_the_caps(low: int | None, plain: int, held: int) -> None:
    assert capped(plain, low) == held


def test_the_low_index_is_of_the_year_before_and_holds_from_the_twentieth_score() -> None:
    """Rule 5.7; that indices from fewer than twenty scores count too is our reading."""
    early = record(*[10] * 10, *[30] * 9)
    assert early.low is None
    assert early.index == D("10.0")
    late = record(*[10] * 12, *[30] * 20)
    assert late.steps[19].low == 80, "10.0 less 2.0 after three scores"
    assert late.index == D("13.0"), "never more than 5.0 above it"
    only_whole = record(*[10] * 12, *[30] * 20, options=Options(low_from=20))
    assert only_whole.index == D("15.0")
    year = record(*[10] * 3, *[30] * 30, apart=20)
    assert year.low == min(
        step.index / D(10)
        for step in year.steps[:-1]
        if step.index is not None and step.score.day >= year.steps[-1].score.day - timedelta(365)
    )
    assert year.low > D("8.0"), "the early ones are more than a year ago"


@pytest.mark.parametrize(
    ("differential", "off"),
    [
        # Rule 5.9: 7.0 to 9.9 below the index in force, and 10.0 or more.
        ("7.9", 0),
        ("7.81", 0),
        ("7.8", 10),
        ("4.81", 10),
        ("4.8", 20),
        ("-9", 20),
    ],
)
def test_exceptional_scores(differential: str, off: int) -> None:
    before = record(*["14.8"] * 8, *[20] * 12)
    assert before.index == D("14.8")
    after = before.after(RatedScore.of(before.steps[-1].score.day, D(differential)))
    assert {step.adjusted for step in after.latest} == {-off}
    assert after.steps[0].adjusted == 0, "it has dropped out"
    assert sum(step.exceptional for step in after.steps) == -off


def test_an_exceptional_score_of_a_worked_example() -> None:
    """Index 14.8, a differential of 6.8, plain result 13.5: the index is 12.5."""
    before = record(25, *["14.4"] * 6, "14.8", "17.2", *[25] * 11)
    assert before.index == D("14.8")
    after = before.after(RatedScore.of(before.steps[-1].score.day, D("6.8")))
    assert mean_of_lowest([int(s.score.differential * 10) for s in after.latest]) == 135
    assert after.index == D("12.5")


def test_exceptional_scores_add_up_and_the_text_of_2020_rounds_first() -> None:
    before = record(*["20.0"] * 20)
    day = before.steps[-1].score.day
    twice = before.after(RatedScore.of(day, D("12.0"))).after(RatedScore.of(day, D("8.0")))
    assert [step.exceptional for step in twice.steps[-2:]] == [-10, -20]
    assert twice.steps[5].adjusted == -30
    assert twice.steps[-1].adjusted == -20
    close = RatedScore.of(day, Fraction("13.04"))
    assert close.differential == D("13.0")
    assert before.after(close).steps[-1].exceptional == 0
    rounding = record(*["20.0"] * 20, options=Options(exceptional="rounded"))
    assert rounding.after(close).steps[-1].exceptional == -10


def test_nine_holes_wait_for_a_partner() -> None:
    halves = [NineHoles(DAY, Fraction("9.44")), NineHoles(DAY + timedelta(3), Fraction("9.43"))]
    whole = RatedScore.of(DAY + timedelta(1), D("18.2"))
    made, waiting = joined([halves[0], whole])
    assert (made, waiting) == ((whole,), halves[0])
    made, waiting = joined([halves[0], whole, halves[1]])
    assert waiting is None
    assert [(s.day, s.differential, s.exact) for s in made] == [
        (whole.day, D("18.2"), Fraction("18.2")),
        (halves[1].day, D("18.9"), Fraction("18.87")),
    ]


def test_days_decide_the_order_and_within_a_day_the_order_given() -> None:
    mixed = [RatedScore.of(DAY + timedelta(at % 3), D(at)) for at in range(9)]
    found = Record.of(mixed)
    assert [s.differential for s in found.scores] == [D(at) for at in (0, 3, 6, 1, 4, 7, 2, 5, 8)]
    with pytest.raises(BadScore, match=r"expected a day from 2025-04-03 on"):
        found.after(RatedScore.of(DAY, D(1)))


def test_what_the_next_round_needs() -> None:
    now = record(*range(29, 9, -1))
    assert now.index == D("13.5")
    day = now.steps[-1].score.day
    # 10 to 16 and the new one must add up to less than 8 x 13.05.
    assert needed_differential(now, D("13.0"), day) == D("13.3")
    assert needed_differential(now, D("13.5"), day) == HIGHEST
    assert needed_differential(Record(), D("10.0"), day) is None
    assert needed_differential(record(20, 21), D("5.0"), DAY + timedelta(20)) == D("7.0")
    assert needed_differential(now, D("-30.0"), day) is None
    gross = needed_gross(now, D("13.0"), day, D("71.5"), 125)
    assert tenth(differential(gross, D("71.5"), 125)) <= D("13.3")
    assert tenth(differential(gross + 1, D("71.5"), 125)) > D("13.3")


TENTHS = st.integers(-80, 540)
RECORDS = st.lists(TENTHS, min_size=1, max_size=45)


@settings(max_examples=60)
@given(RECORDS, st.integers(0, 60), st.integers(-50, 540))
def test_what_is_needed_is_the_highest_that_does(tenths: list[int], apart: int, goal: int) -> None:
    now = record(*[D(t) / 10 for t in tenths], apart=apart)
    day, wanted = now.steps[-1].score.day, D(goal) / 10
    found = needed_differential(now, wanted, day)

    def after(value: Decimal) -> Decimal | None:
        return now.after(RatedScore.of(day, value)).index

    if found is None:
        lowest = after(LOWEST)
        assert lowest is None or lowest > wanted
        return
    assert after(found) <= wanted
    assert found == HIGHEST or after(found + D("0.1")) > wanted


@settings(max_examples=60)
@given(RECORDS, st.integers(0, 40), st.integers(0, 44), st.integers(0, 60))
def test_a_lower_score_never_raises_the_index_after_it(
    tenths: list[int], apart: int, place: int, less: int
) -> None:
    whole = [D(t) / 10 for t in tenths]
    now = record(*whole, apart=apart)
    before, last = now.steps[:-1], now.steps[-1]
    lower = Record(before, now.options).after(
        RatedScore.of(last.score.day, whole[-1] - D(less) / 10)
    )
    if now.index is not None:
        assert lower.index <= now.index


@settings(max_examples=80)
@given(RECORDS, st.integers(0, 40))
def test_every_index_is_within_its_bounds(tenths: list[int], apart: int) -> None:
    found = record(*[D(t) / 10 for t in tenths], apart=apart)
    for number, step in enumerate(found.steps, 1):
        if number < 3:
            assert step.index is None
            continue
        assert step.index <= 540
        assert (step.low is None) == (number < 20 or not _known(found, number))
        if step.low is not None:
            assert step.index <= step.low + 50
        if step.low is None or step.plain <= step.low + 30:
            assert step.index == min(step.plain, 540)
    use = TABLE[min(len(tenths), 20)][0] if len(tenths) >= 3 else 0
    assert sum(listed.counts for listed in found.scores) == use
    assert sum(listed.drops for listed in found.scores) == (len(tenths) >= 20)
    in_the_record = [listed.differential for listed in found.scores if listed.counts]
    rest = [listed.differential for listed in found.scores[-20:] if not listed.counts]
    assert not in_the_record or not rest or max(in_the_record) <= min(rest)


def _known(found: Record, number: int) -> bool:
    newest = found.steps[number - 1].score.day
    return any(
        step.index is not None and step.score.day >= newest - timedelta(365)
        for step in found.steps[: number - 1]
    )


ANY = st.tuples(
    st.lists(TENTHS, max_size=30), st.lists(st.floats(-80, 500), min_size=1, max_size=12)
)
RISING = st.tuples(
    st.lists(st.integers(100, 120), min_size=19, max_size=22),
    st.lists(st.floats(130, 190), min_size=14, max_size=20),
)
"""A record that is good and then worse: the caps hold it."""


@settings(max_examples=80)
@given(
    st.one_of(ANY, RISING),
    st.integers(1, 120),
    st.sampled_from([Options(), Options(low_from=20, exceptional="rounded")]),
)
def test_rolling_is_the_record_itself(
    played: tuple[list[int], list[float]], apart: int, options: Options
) -> None:
    """The seasons rolled at once come out as one score added after the other."""
    import numpy as np

    tenths, coming = played
    now = record(*[D(t) / 10 for t in tenths], apart=apart, options=options)
    last = now.steps[-1].score.day if now.steps else DAY
    days = [last + timedelta(apart * at) for at in range(len(coming))]
    # Sixteenths of a tenth: floats and fractions say the same.
    drawn = [round(value * 16) / 16 for value in coming]
    found = rolled(season(now, days), rules(now), np.array([[value] * 2 for value in drawn]))
    for day, value, indices in zip(days, drawn, found, strict=True):
        now = now.after(RatedScore.of(day, Fraction(value) / 10))
        expected = NONE if now.index is None else int(now.index * 10)
        assert indices.tolist() == [expected] * 2


def test_the_form_is_the_players_own_pulled_to_what_goes_with_the_index() -> None:
    """The lowest 8 of 20 normals lie 0.9284 sd below their mean (order statistics, computed)."""
    mean, spread = form([15.0] * 20, 12.0)
    assert mean == pytest.approx((20 * 15 + 10 * (12 + 0.93 * 2.7)) / 30)
    assert spread == pytest.approx((10 * 2.7**2 / 30) ** 0.5)
    with pytest.raises(ValueError, match="at least one"):
        form([], 12.0)


def test_chances_grow_with_the_rounds_and_fall_with_the_goal() -> None:
    now = record(*[14, 18, 16, 15, 19, 20, 13, 17, 16, 18] * 2)
    day = now.steps[-1].score.day
    near = chances(now, D("14.0"), 10, day, rolls=500)
    far = chances(now, D("11.0"), 10, day, rolls=500)
    assert len(near) == 10
    assert list(near) == sorted(near)
    assert all(one >= other for one, other in zip(near, far, strict=True))
    assert near == chances(now, D("14.0"), 10, day, rolls=500), "same seed, same answer"
    assert chances(now, D("54.0"), 3, day, rolls=50) == (1.0, 1.0, 1.0)
    assert chances(now, D("-20.0"), 3, day, rolls=50) == (0.0, 0.0, 0.0)


def test_a_steady_player_plays_to_the_index_one_round_in_five() -> None:
    """About 20 % (USGA Handicap Manual, appendix E, as its odds imply): by rolling, no fit."""
    import numpy as np

    from drillrunner.odds.goal import Season

    rng = np.random.default_rng(3)
    drawn = rng.normal(18.0, 3.0, (60, 400)) * 10
    rolls = rolled(Season((), 0, None, (None,) * 60, (0,) * 60), rules(Record()), drawn)
    better = np.floor(drawn[21:] + 0.5) <= rolls[20:-1]
    assert 0.15 < better.mean() < 0.25
