"""The aim, the shot, and where the ball can have finished."""

import json
from dataclasses import fields
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from drillrunner.catalogue.stations import AimFields, aim_setting
from drillrunner.rules.settings import Distance
from drillrunner.rules.shot import Aim, Direction, Interval, Seen, Shot

D = Decimal
hundredths = st.integers(1, 20000).map(lambda n: D(n) / 100)
misses = st.integers(-15000, 15000).map(lambda n: D(n) / 100)
CORRIDOR, WINDOW, BOTH = Aim(width=D(40)), Aim(depth=D(12)), Aim(width=D(40), depth=D(12))


def inside(span: Interval, low: Decimal | None, high: Decimal | None) -> bool:
    return (low is None or (span[0] is not None and span[0] >= low)) and (
        high is None or (span[1] is not None and span[1] <= high)
    )


@pytest.mark.parametrize("direction", ["lateral", "depth"])
@given(span=hundredths, miss=misses)
def test_a_number_holds_when_it_is_no_further_than_the_edge(
    direction: Direction, span: Decimal, miss: Decimal
) -> None:
    seen = Seen.number(miss, D("0.01"))
    aim = Aim(width=span) if direction == "lateral" else Aim(depth=span)
    shot = Shot(lateral=seen) if direction == "lateral" else Shot(depth=seen)
    assert aim.holds(shot) == (-span / 2 <= miss <= span / 2)
    ((low, high),) = aim.regions(shot, direction)
    assert low is not None
    assert high is not None
    assert low < miss < high
    assert high - low == D("0.01")


@pytest.mark.parametrize("aim", [CORRIDOR, WINDOW, BOTH])
@pytest.mark.parametrize("lateral", [-1, 0, 1])
@pytest.mark.parametrize("depth", [-1, 0, 1])
def test_a_zone_holds_exactly_when_its_region_lies_inside(
    aim: Aim, lateral: int, depth: int
) -> None:
    shot = Shot(lateral=Seen(lateral), depth=Seen(depth))  # type: ignore[arg-type]
    held = all(
        inside(span, -edge, edge)
        for d in aim.judged
        for span in aim.regions(shot, d)
        if (edge := aim.edge(d)) is not None
    )
    assert aim.holds(shot) == held
    for direction in {"lateral", "depth"} - set(aim.judged):
        assert aim.regions(shot, direction) == ()  # type: ignore[arg-type]


def test_out_says_something_only_where_one_direction_is_judged() -> None:
    out = Shot(out=True)
    assert not any(aim.holds(out) for aim in (CORRIDOR, WINDOW, BOTH))
    assert CORRIDOR.regions(out, "lateral") == ((None, D(-20)), (D(20), None))
    assert CORRIDOR.regions(out, "depth") == ()
    assert WINDOW.regions(out, "depth") == ((None, D(-6)), (D(6), None))
    assert BOTH.regions(out, "lateral") == BOTH.regions(out, "depth") == ()


def test_readings_as_intervals() -> None:
    # The four examples of the design, and the ones beside them.
    def of(seen: Seen, lost_beyond: Decimal | None = None) -> tuple[Interval, ...]:
        return CORRIDOR.regions(Shot(lateral=seen), "lateral", lost_beyond)

    assert of(Seen(-1, D(15), D(5))) == ((D("-17.5"), D("-12.5")),)
    assert of(Seen(0)) == ((D(-20), D(20)),)
    assert of(Seen(1)) == ((D(20), None),)
    assert of(Seen(None, D(15), D(5))) == (
        (D("-17.5"), D("-12.5")),
        (D("12.5"), D("17.5")),
    )
    assert of(Seen(0, D(0), D(5))) == ((D("-2.5"), D("2.5")),)
    assert of(Seen(1, lost=True), D(60)) == ((D(60), None),)
    assert of(Seen(None, lost=True), D(60)) == ((None, D(-60)), (D(60), None))
    assert of(Seen(-1, lost=True)) == ((None, D(0)),)


@given(misses, st.sampled_from(["0.01", "0.1", "1", "5"]))
def test_a_side_not_seen_is_two_intervals_that_mirror_each_other_or_one_around_the_aim(
    miss: Decimal, grid: str
) -> None:
    spans = CORRIDOR.regions(Shot(lateral=Seen(None, abs(miss), D(grid))), "lateral")
    assert spans[0][0] == -spans[-1][1]  # type: ignore[operator]
    if len(spans) == 2:
        assert spans[0][1] is not None
        assert spans[1][0] is not None
        assert spans[0][1] <= spans[1][0]


def test_a_carry_is_a_depth_miss_off_the_number() -> None:
    aim = Aim(carry=D(45))
    shot = Shot(carry=D(48), carry_grid=D(1))
    assert aim.regions(shot, "depth") == ((D("2.5"), D("3.5")),)
    assert aim.regions(shot, "lateral") == ()
    assert Aim().regions(shot, "depth") == ()


@pytest.mark.parametrize(
    ("shot", "words"),
    [
        (Shot(lateral=Seen(-1, D(15), D(5))), "15 left"),
        (Shot(lateral=Seen(1, D("2.5"), D("0.1"))), "2.5 right"),
        (Shot(lateral=Seen(0, D(0), D(5))), "dead on"),
        (Shot(lateral=Seen(None, D(15), D(5))), "15 off, side not seen"),
        (Shot(depth=Seen(-1, D(7), D(1))), "7 short"),
        (Shot(lateral=Seen(1), depth=Seen(1)), "right, long"),
        (Shot(lateral=Seen(0), depth=Seen(0)), "in"),
        (Shot(lateral=Seen(0), depth=Seen(1)), "long"),
        (Shot(out=True), "out, side not seen"),
        (Shot(lateral=Seen(-1, lost=True)), "lost left"),
        (Shot(lateral=Seen(None, lost=True)), "lost"),
        (Shot(carry=D("64.50"), carry_grid=D("0.1")), "64.5 yd"),
    ],
)
def test_a_shot_in_words(shot: Shot, words: str) -> None:
    assert shot.words() == words


def test_signed_and_unsigned_misses() -> None:
    assert Seen(-1, D(15), D(5)).signed == -15
    assert Seen(None, D(15), D(5)).signed is None
    assert Seen(-1).signed is None
    shot = Shot(lateral=Seen(-1, D(15), D(5)))
    assert (shot.miss("lateral"), shot.miss("depth")) == (15, None)


@pytest.mark.parametrize("bad", ["40", True, float("nan"), float("inf"), -1, 1001, 0.123, "x"])
def test_distances_that_are_refused(bad: object) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(Distance).validate_python(bad)
    with pytest.raises(ValidationError):
        AimFields.model_validate({"width": bad})


@given(hundredths)
def test_an_aim_survives_json(width: Decimal) -> None:
    aim = Aim(width=width, carry=width)
    kept = json.loads(json.dumps(aim_setting(aim, stock=False)))
    assert Aim(**AimFields.model_validate(kept).model_dump()) == aim == Aim(**kept)


def test_an_aim_refuses_what_it_does_not_know() -> None:
    with pytest.raises(ValidationError, match="height"):
        AimFields.model_validate({"height": D(3)})
    with pytest.raises(ValidationError):
        AimFields.model_validate({"width": D(0)})
    with pytest.raises(TypeError, match="height"):
        Aim(height=D(3))  # type: ignore[call-arg]
    assert AimFields.model_fields.keys() == {field.name for field in fields(Aim)}


def test_a_whole_number_in_an_aim_is_exact_too() -> None:
    aim = Aim(width=40, carry=62.5)  # type: ignore[arg-type]
    assert aim == Aim(width=D(40), carry=D("62.5"))
    assert isinstance(aim.edge("lateral"), Decimal)


def test_a_far_miss_is_named_where_there_is_a_second_trouble() -> None:
    aim = Aim(width=D(30), far_right=D(25))
    corner = Shot(lateral=Seen(1), depth=Seen(1))
    assert corner.words(aim=aim) == "far right"
    assert corner.words() == "right, long"
    assert Shot(lateral=Seen(-1), depth=Seen(1)).words(aim=aim) == "left, long"
    assert Shot(lateral=Seen.number(D(26), D(5))).words(aim=aim) == "far 26 right"
