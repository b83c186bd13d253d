"""Outcomes partition the line: disjoint regions that cover everything, one to each shot."""

from decimal import Decimal
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.rules.keypad import read
from drillrunner.rules.outcome import EVERYWHERE, Asks, Outcome, outcomes
from drillrunner.rules.shot import Aim, Direction, Interval, Shot
from drillrunner.rules.station import Ask
from drillrunner.rules.units import text, whole
from tests.rules.bundled import make

D = Decimal
spans = st.integers(1, 20000).map(lambda n: D(n) / 100)
grids = st.sampled_from([D(g) for g in ("0.1", "0.5", "1", "2", "2.5", "5", "10")])
directions = st.sampled_from(["lateral", "depth"])


def partitions(intervals: list[Interval]) -> bool:
    """Whether these intervals, in order, meet end to end from minus to plus infinity."""
    ends = [high for _, high in intervals[:-1]]
    starts = [low for low, _ in intervals[1:]]
    return (
        intervals[0][0] is None
        and intervals[-1][1] is None
        and ends == starts
        and all(end is not None for end in ends)
        and ends == sorted(cast("list[Decimal]", ends))
        and len(set(ends)) == len(ends)
    )


def within(value: Decimal, span: Interval) -> bool:
    """Inside, with halves away from zero: the end nearer to zero belongs to the step."""
    low, high = span
    above = low is None or value > low or (value == low and value > 0)
    below = high is None or value < high or (value == high and value < 0)
    return above and below


@given(directions, grids)
def test_misses_partition_the_line(direction: Direction, grid: Decimal) -> None:
    listed = outcomes("miss", Aim(), grid, direction)
    own = [o.lateral if direction == "lateral" else o.depth for o in listed]
    other = {o.depth if direction == "lateral" else o.lateral for o in listed}
    assert partitions(own)
    assert other == {EVERYWHERE}
    assert len({o.shot for o in listed}) == len(listed)


@given(spans, grids)
def test_carries_partition_the_line_and_are_never_negative(carry: Decimal, grid: Decimal) -> None:
    listed = outcomes("carry", Aim(carry=carry), grid)
    assert partitions([o.depth for o in listed])
    assert all(o.shot.carry is not None and o.shot.carry >= 0 for o in listed)
    for outcome in listed[1:-1]:
        assert outcome.shot.carry is not None
        assert within(outcome.shot.carry - carry, outcome.depth)


def test_a_carry_beyond_the_limit_still_has_outcomes() -> None:
    listed = outcomes("carry", Aim(carry=D(600)), D(1))
    assert partitions([o.depth for o in listed])
    assert listed[-1].shot.carry == 600


@given(st.none() | spans, st.none() | spans)
def test_verdicts_are_the_zones_cut_at_the_edges_of_the_aim(
    width: Decimal | None, depth: Decimal | None
) -> None:
    aim = Aim(width=width, depth=depth)
    if not aim.judged:
        with pytest.raises(ValueError, match="verdict"):
            outcomes("verdict", aim, D(5))
        return
    listed = outcomes("verdict", aim, D(5))
    assert len(listed) == (9 if width and depth else 3)
    across = list(dict.fromkeys(o.lateral for o in listed))
    along = list(dict.fromkeys(o.depth for o in listed))
    assert partitions(across)
    assert partitions(along)
    assert {(o.lateral, o.depth) for o in listed} == {(a, b) for a in across for b in along}
    held = [o for o in listed if aim.holds(o.shot)]
    half = (width / 2 if width else None, depth / 2 if depth else None)
    assert [(o.lateral[1], o.depth[1]) for o in held] == [half]
    for outcome in listed:
        for direction in aim.judged:
            region = outcome.lateral if direction == "lateral" else outcome.depth
            assert aim.regions(outcome.shot, direction) == (region,)


def test_verdicts_are_not_cut_on_a_grid() -> None:
    assert outcomes("verdict", Aim(width=D(33)), D(5)) == outcomes(
        "verdict", Aim(width=D(33)), D(1)
    )


def test_a_carry_needs_an_aim() -> None:
    with pytest.raises(ValueError, match="carry"):
        outcomes("carry", Aim(), D(1))


def step_of(listed: tuple[Outcome, ...], value: Decimal, direction: Direction) -> Outcome:
    (one,) = [o for o in listed if within(value, o.lateral if direction == "lateral" else o.depth)]
    return one


@given(st.integers(-15000, 15000), directions, grids)
def test_every_typed_miss_falls_in_the_outcome_of_its_step(
    hundredth: int, direction: Direction, grid: Decimal
) -> None:
    value = D(hundredth) / 100
    ask = Ask("miss", Aim(), grid, direction=direction)
    entry = read(f"{'-' if value < 0 else '+'}{text(abs(value))}", ask)
    assert entry.shot is not None
    seen = entry.shot.seen(direction)
    assert seen is not None
    assert seen.signed == value
    listed = outcomes("miss", Aim(), grid, direction)
    outcome = step_of(listed, value, direction)
    most = max(o.shot.miss(direction) or D(0) for o in listed)
    assert outcome.shot.miss(direction) == min(abs(whole(value / grid)) * grid, most)
    if value % grid == 0:
        assert entry.shot == outcome.shot


@given(st.integers(0, 40000), st.integers(1, 400), grids)
def test_every_typed_carry_falls_in_the_outcome_of_its_step(
    hundredth: int, number: int, grid: Decimal
) -> None:
    value, aim = D(hundredth) / 100, Aim(carry=D(number))
    entry = read(text(value), Ask("carry", aim, grid))
    assert entry.shot is not None
    listed = outcomes("carry", aim, grid)
    outcome = step_of(listed, value - number, "depth")
    if value % grid == 0 and number % grid == 0:
        assert entry.shot == outcome.shot


@pytest.mark.parametrize("asks", ["miss", "carry"])
def test_the_last_step_on_each_side_takes_its_whole_tail(asks: Asks) -> None:
    listed = outcomes(asks, Aim(carry=D(45)), D(5))
    shots = (listed[0].shot, listed[-1].shot)
    if asks == "miss":
        assert [s.lateral.signed for s in shots if s.lateral] == [-150, 150]
    else:
        assert [s.carry for s in shots] == [0, 400]
    inner = listed[1].lateral if asks == "miss" else listed[1].depth
    outer = listed[0].lateral if asks == "miss" else listed[0].depth
    assert outer == (None, inner[0])


@given(st.integers(1, 300), st.integers(0, 10), st.sampled_from(["0.5", "1", "2", "5"]))
def test_on_the_number_is_half_open(number: int, steps: int, grid: str) -> None:
    tolerance = steps * D(grid)
    game = make("on_the_number", Aim(carry=D(number)), grid=grid, tolerance=tolerance, limit=1)
    low, high = number - tolerance - D(grid) / 2, number + tolerance + D(grid) / 2
    for carry in (low - D("0.01"), low, D(number), high - D("0.01"), high):
        if carry >= 0:
            state = game.after(game.start(), Shot(carry=carry, carry_grid=D("0.01")))
            assert state.hit == (low <= carry < high)
    hits = [o.depth for o in game.outcomes() if game.after(game.start(), o.shot).hit]
    first = hits[0][0]
    assert first is None or first == low - number
    assert hits[-1][1] is None or hits[-1][1] == high - number


def test_forty_five_with_no_tolerance_is_the_whole_yard() -> None:
    game = make("on_the_number", tolerance=D(0))
    said = {t: game.after(game.start(), read(t, game.ask).shot).hit for t in
            ("44.49", "44.5", "45", "45.49", "45.5", "44", "46")}  # fmt: skip
    assert [t for t, hit in said.items() if hit] == ["44.5", "45", "45.49"]
