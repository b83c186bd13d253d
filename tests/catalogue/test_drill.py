"""A drill as set: what names it, what is stored of it, and how it is set otherwise."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.drill import BadDrill, Drill, NeedsStock, from_stored
from drillrunner.catalogue.drill_words import setting
from tests.catalogue.files import DRILL, changed, load_with, write
from tests.shipped import CATALOGUE, DRILLS

IDS = [drill.id for drill in DRILLS]
CORRIDOR = CATALOGUE.drill("hold-the-corridor")


def made(content: str, folder: Path) -> Drill:
    write(folder, "mine.toml", content)
    found = load_with(folder)
    assert found.problems == ()
    return found.drill("mine")


def test_the_bundle_is_as_promised() -> None:
    assert CATALOGUE.problems == ()
    assert (CORRIDOR.title, CORRIDOR.club) == ("Hold the corridor", "driver")
    assert CORRIDOR.setting() == {
        "game": "lives",
        "settings": {},
        "aim": {"width": 40},
        "club": "driver",
        "between": None,
        "unit": "yd",
        "grid": 5,
    }
    total = CATALOGUE.drill("miss-total")
    assert json.loads(total.as_set())["settings"] == {"balls": 10, "axis": "lateral", "cap": None}
    assert total.club == "driver"
    number = CATALOGUE.drill("on-the-number")
    assert number.aim.carry == 45
    assert json.loads(number.as_set())["settings"] == {"tolerance": 0, "limit": 20}
    assert CATALOGUE.drill("number-between-drives").between == "driver"
    games = [drill.game_class.id for drill in DRILLS]
    # One course comes with the program, and so does one drill of its tee shots.
    assert {id for id in CATALOGUE.games if games.count(id) < 2} == {"holes"}


NO_DIAL = {"hole_out", "call_the_carry", "holes"}
"""Games of several stations in which no one number makes it easier or harder."""


@pytest.mark.parametrize("drill", DRILLS, ids=IDS)
def test_every_bundled_drill_says_what_it_takes_and_has_a_dial(drill: Drill) -> None:
    assert drill.about
    assert drill.balls
    assert drill.minutes
    if drill.game_class.id in NO_DIAL:
        return
    assert drill.dial
    for value in (drill.dial.low, drill.dial.high):
        assert drill.with_value(drill.dial.field, value).game()


@pytest.mark.parametrize("drill", DRILLS, ids=IDS)
def test_stored_and_read_again_it_is_the_same(drill: Drill) -> None:
    again = from_stored(drill.as_set(), drill.game_class, drill.game_hash)
    assert again.as_set() == drill.as_set()
    assert again.fingerprint == drill.fingerprint
    assert again.game().settings == drill.game().settings


@pytest.mark.parametrize("drill", DRILLS, ids=IDS)
def test_a_drill_is_said_as_it_is_set_and_as_it_is_stored(drill: Drill) -> None:
    stored = set(setting(json.loads(drill.as_set())).split(" · "))
    # What is stored has every setting filled in, in an order of its own.
    said = set(setting(drill.setting()).split(" · "))
    assert said <= stored or said == {"as it comes"}


def test_the_fingerprint_is_sha256_of_the_setting_as_sorted_json() -> None:
    plain = json.dumps(CORRIDOR.setting(), sort_keys=True, separators=(",", ":"))
    assert CORRIDOR.fingerprint == hashlib.sha256(plain.encode()).hexdigest()


def test_what_names_a_record_and_what_does_not(tmp_path: Path) -> None:
    drill = made(DRILL, tmp_path)
    same = [
        changed('id = "mine"', 'id = "mine"\nabout = "words"'),
        changed('"Mine"', '"Another title"'),
        changed("lives = 2", "lives = 2  # balls = none"),
        changed('club = "driver"', 'club = "driver"\nswing = "half"'),
        changed('club = "driver"', 'club = "driver"\nunit = "yd"\ngrid = 5.0'),
        DRILL + "\n[takes]\nballs = 4\n",
        DRILL[: DRILL.index("[dial]")],
    ]
    assert {made(content, tmp_path).fingerprint for content in same} == {drill.fingerprint}
    other = [
        changed("width = 30", "width = 35"),
        changed("width = 30", "width = 30\ndepth = 10"),
        changed("lives = 2", "lives = 3"),
        changed('club = "driver"', 'club = "3-wood"'),
        changed('club = "driver"', 'club = "driver"\nbetween = "putter"'),
        changed('club = "driver"', 'club = "driver"\nunit = "m"'),
        changed('club = "driver"', 'club = "driver"\ngrid = 1'),
    ]
    found = {made(content, tmp_path).fingerprint for content in other}
    assert len(found - {drill.fingerprint}) == len(other)


def test_a_setting_at_its_default_is_left_out(tmp_path: Path) -> None:
    said = made(changed("lives = 2", "lives = 3"), tmp_path)
    silent = made(changed("lives = 2", ""), tmp_path)
    assert said.fingerprint == silent.fingerprint
    assert json.loads(silent.as_set())["settings"] == {"lives": 3, "balls": None, "within": None}


@pytest.mark.parametrize(
    ("pairs", "setting"),
    [
        (["aim.width=32"], {"aim": {"width": 32}}),
        (["width=32.5", "dial=x"], None),
        (["width = 32"], {"aim": {"width": 32}}),
        (["lives=2", "balls=30"], {"settings": {"lives": 2, "balls": 30}}),
        (["settings.lives=1", "settings.lives=2"], {"settings": {"lives": 2}}),
        (["club=3-wood", "between=driver"], {"club": "3-wood", "between": "driver"}),
        (['club="putter"'], {"club": "putter"}),
        (["between="], {"between": None}),
        (["unit=m", "grid=2.5"], {"unit": "m", "grid": 2.5}),
        (["depth=20"], {"aim": {"width": 40, "depth": 20}}),
    ],
)
def test_set(pairs: list[str], setting: dict[str, object] | None) -> None:
    if setting is None:
        with pytest.raises(BadDrill):
            CORRIDOR.with_set(pairs)
    else:
        assert CORRIDOR.with_set(pairs).setting() == CORRIDOR.setting() | setting


@pytest.mark.parametrize(
    ("pair", "field", "reason"),
    [
        ("width", "width", "expected FIELD=VALUE"),
        ("=3", None, "unknown field: expected one of club, between, unit"),
        ("id=x", "id", "unknown field: expected one of club, between, unit"),
        ("lives=0", "settings.lives", "expected greater than or equal to 1, not 0"),
        ("lives=many", "settings.lives", "expected a valid integer, not 'many'"),
        ("lives=true", "settings.lives", "expected a valid integer, not true"),
        ("width=nan", "aim.width", "expected a finite number"),
        ("width=1e400", "aim.width", "expected a finite number"),
        ("width=32.555", "aim.width", "expected no more than 2 decimal places, not 32.555"),
        ("width=0", "aim.width", "expected greater than 0, not 0"),
        ("width=", "aim", "expected a width, a depth or both: this game asks in or out"),
        ("club=drver", "club", "unknown club 'drver': did you mean driver?"),
        ("unit=feet", "unit", "expected 'yd' or 'm', not 'feet'"),
        ("grid=0", "grid", "expected greater than 0, not 0"),
        ("width=1\nx = 2", "aim.width", "expected a number without quotes"),
    ],
)
def test_a_wrong_set_names_the_field_and_what_was_expected(
    pair: str, field: str | None, reason: str
) -> None:
    with pytest.raises(BadDrill) as caught:
        CORRIDOR.with_set([pair])
    problem = caught.value.problems[0]
    assert (problem.file, problem.line, problem.field) == ("--set", None, field)
    assert problem.reason.startswith(reason)
    assert "\n" not in str(problem).replace("\\n", "")


def test_no_words_speak_of_a_drill_as_it_was_before_it_was_set(home: Path) -> None:
    said = CORRIDOR.game_class.summary
    for other in (CORRIDOR.with_value("aim.width", Decimal(30)), CORRIDOR.with_set(["lives=2"])):
        assert "40 yards" in CORRIDOR.about
        assert other.about == said
        again = from_stored(other.as_set(), other.game_class, other.game_hash)
        assert again.about == said
    # Where nothing that is played is another, and where they are the user's own, they stay.
    for pairs in (["aim.width=40"], ["aim.width_error=3"]):
        assert CORRIDOR.with_set(pairs).about == CORRIDOR.about
    spoken = DRILL.replace("\n[aim]", 'about = "Between the posts."\n\n[aim]', 1)
    stock = made(spoken.replace("[aim]", '[aim]\ncarry = "stock"'), home / "others")
    assert stock.with_stock(Decimal(62)).about == "Between the posts."
    own = made(spoken, home / "config" / "games")
    assert own.with_set(["lives=3"]).about == "Between the posts."


@pytest.mark.parametrize(("value", "reached"), [("10", True), ("105", False), ("32.5", False)])
def test_set_to_where_the_dial_does_not_reach_there_is_none(value: str, reached: bool) -> None:
    drill = CORRIDOR.with_set([f"width={value}"])
    assert drill.aim.width == Decimal(value)
    assert (drill.dial is not None) is reached
    assert CORRIDOR.with_set(["width=40", "width=105"]).dial is None


def test_every_wrong_set_is_named_at_once() -> None:
    with pytest.raises(BadDrill) as caught:
        CORRIDOR.with_set(["club=x", "lives=0", "width=-1"])
    assert {problem.field for problem in caught.value.problems} == {
        "club",
        "settings.lives",
        "aim.width",
    }


def test_a_name_that_two_tables_have_must_be_told_apart(home: Path) -> None:
    from drillrunner.catalogue.allowed import allow
    from tests.catalogue.files import GAME

    folder = home / "games"
    allow(write(folder, "count.py", GAME.replace("balls: int = Field", "width: int = Field")))
    content = changed('"lives"', '"count"').replace("lives = 2", "width = 2")
    write(folder, "mine.toml", content)
    drill = load_with(folder).drill("mine")
    with pytest.raises(BadDrill, match=r"expected aim\.width or settings\.width"):
        drill.with_set(["width=20"])
    assert drill.with_set(["settings.width=20"]).setting()["settings"] == {"width": 20}


def test_in_metres_every_distance_is_the_nearest_whole_one() -> None:
    # 1 yd = 0.9144 m exactly (international yard, 1959; NIST SP 811): 40 yd = 36.576 m.
    metric = CORRIDOR.in_unit("m")
    assert (metric.unit, metric.aim.width, metric.grid) == ("m", Decimal(37), Decimal(5))
    assert metric.dial is not None
    assert (metric.dial.low, metric.dial.high, metric.dial.step) == (9, 91, 1)
    five = CATALOGUE.drill("miss-total-five").in_unit("m")
    assert json.loads(five.as_set())["settings"] == {"balls": 5, "axis": "lateral", "cap": 37}
    assert five.dial is not None
    assert (five.dial.low, five.dial.high) == (3, 15)
    number = CATALOGUE.drill("number-between-drives").in_unit("m")
    assert number.aim.carry == 73
    assert json.loads(number.as_set())["settings"]["tolerance"] == 2
    assert CORRIDOR.in_unit("yd") is CORRIDOR


def test_a_drill_that_can_not_be_converted_stays_as_it_is() -> None:
    # 950 m = 1038.9 yd, and no distance may be beyond 1000.
    document = {**CORRIDOR.document, "unit": "m", "aim": {"width": 950}}
    del document["dial"]
    metric = from_stored(json.dumps(document), CORRIDOR.game_class, "")
    assert metric.in_unit("yd") is metric


@given(
    low=st.integers(1, 30),
    step=st.integers(1, 12),
    steps=st.integers(1, 20),
    start=st.integers(0, 20),
)
def test_any_dial_can_be_turned_after_a_change_of_unit(
    low: int, step: int, steps: int, start: int
) -> None:
    start = min(start, steps)
    document = {
        **CORRIDOR.document,
        "aim": {"width": low + start * step},
        "dial": {"field": "width", "from": low, "to": low + steps * step, "step": step},
    }
    drill = from_stored(json.dumps(document), CORRIDOR.game_class, "")
    metric = drill.in_unit("m")
    assert metric.dial is not None
    assert metric.aim.width is not None
    assert metric.dial.low <= metric.aim.width <= metric.dial.high
    assert (metric.aim.width - metric.dial.low) % metric.dial.step == 0


def test_a_stock_carry_is_filled_in_and_kept_as_a_number(tmp_path: Path) -> None:
    content = """\
        id = "mine"
        title = "Mine"
        game = "on_the_number"
        club = "gap-wedge"
        swing = "half"
        [aim]
        carry = "stock"
        """
    drill = made(content, tmp_path)
    assert drill.stock
    with pytest.raises(NeedsStock, match=r"stock carry .Gap wedge") as caught:
        drill.game()
    assert "\n" not in str(caught.value)
    assert drill.in_unit("m").stock
    resolved = drill.with_stock(Decimal("71.5"))
    assert resolved.aim.carry == Decimal("71.5")
    assert resolved.setting()["aim"] == {"carry": 71.5}
    assert resolved.game().aim.carry == Decimal("71.5")
    assert drill.with_set(["carry=60"]).aim.carry == 60
    assert resolved.with_set(["carry=stock"]).fingerprint == drill.fingerprint
    # 80 m = 87.49 yd.
    assert drill.with_stock(Decimal(80), "m").aim.carry == 87


def test_a_stored_drill_that_fits_no_more_is_refused() -> None:
    miss_total = CATALOGUE.games["miss_total"].cls
    with pytest.raises(BadDrill, match=r"settings\.lives: unknown field"):
        from_stored(CORRIDOR.as_set(), miss_total, "")
    with pytest.raises(BadDrill, match="expected JSON"):
        from_stored("{", miss_total, "")
