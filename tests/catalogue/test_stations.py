"""Stations in a drill file: defaults, misfits by line and field, units, stock carries, records."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.drill import BadDrill, Drill, NeedsStock, from_stored
from tests.catalogue.files import load_with, problems_of, write

D = Decimal
LADDER = """\
id = "mine"
title = "Mine"
game = "ladder"
club = "sand-wedge"
swing = "half"

[aim]
width = 20

[settings]
tolerance = 4

[[stations]]
aim = { carry = 40 }

[[stations]]
title = "the tall one"
club = "gap-wedge"
swing = "full"
grid = 2
aim = { carry = 85, width = 30 }
"""


def ladder(tmp_path: Path, content: str = LADDER) -> Drill:
    write(tmp_path, "mine.toml", content)
    found = load_with(tmp_path)
    assert found.problems == ()
    return found.drill("mine")


def test_what_a_station_leaves_out_is_as_at_the_top(tmp_path: Path) -> None:
    drill = ladder(tmp_path)
    first, second = drill.stations
    assert (first.club, first.swing, first.grid, first.title) == ("sand-wedge", "half", 1, "")
    assert (first.aim.carry, first.aim.width) == (40, 20)
    assert (second.club, second.swing, second.grid) == ("gap-wedge", "full", 2)
    assert (second.title, second.aim.carry, second.aim.width) == ("the tall one", 85, 30)
    assert drill.club == "sand-wedge"


def test_it_is_the_same_from_what_is_stored_and_in_its_own_unit(tmp_path: Path) -> None:
    drill = ladder(tmp_path)
    again = from_stored(drill.as_set(), drill.game_class, drill.game_hash)
    assert again.fingerprint == drill.fingerprint
    assert again.stations == drill.stations
    metres = drill.in_unit("m")
    assert [station.aim.carry for station in metres.stations] == [37, 78]
    assert [station.aim.width for station in metres.stations] == [18, 27]
    assert metres.in_unit("m").fingerprint == metres.fingerprint != drill.fingerprint


def test_a_title_is_no_part_of_the_record_and_all_else_is(tmp_path: Path) -> None:
    drill = ladder(tmp_path)

    def changed(pair: str) -> str:
        return drill.with_set([pair]).fingerprint

    assert changed("stations.1.title=other") == drill.fingerprint
    pairs = ("club=lob-wedge", "swing=half", "aim.carry=90", "grid=1")
    found = {changed(f"stations.1.{pair}") for pair in pairs} | {changed("aim.width=22")}
    assert len(found | {drill.fingerprint}) == 6


def test_what_stations_say_for_themselves_is_not_set_at_the_top(tmp_path: Path) -> None:
    with pytest.raises(BadDrill, match=r"expected stations.0.aim.carry"):
        ladder(tmp_path).with_set(["aim.carry=50"])
    with pytest.raises(BadDrill, match="a station from 0 to 1"):
        ladder(tmp_path).with_set(["stations.2.aim.carry=50"])


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "said"),
    [
        ('"ladder"', '"on_the_number"', 13, "stations", "expected one station, not 2"),
        ("aim = { carry = 40 }", "aim = { depth = 40 }", 14, "stations.0.aim.carry", "a carry"),
        ('club = "gap-wedge"', 'club = "gap-wegde"', 18, "stations.1.club", "did you mean"),
        ("grid = 2", "grit = 2", 20, "stations.1.grit", "unknown field"),
        ("grid = 2", 'asks = "miss"', 20, "stations.1.asks", "asks nothing else"),
        ("tolerance = 4", "limit = 1", 11, "settings.limit", "2"),
    ],
)
def test_a_misfit_is_refused_by_line_and_field(
    tmp_path: Path, old: str, new: str, line: int, field: str, said: str
) -> None:
    assert old in LADDER
    found = problems_of(LADDER.replace(old, new), tmp_path)
    assert [(at, where) for at, where, _ in found] == [(line, field)]
    assert said in found[0][2]


def test_a_game_of_several_wants_two_at_least(tmp_path: Path) -> None:
    alone = LADDER[: LADDER.index("[[stations]]\ntitle")]
    ((_, field, reason),) = problems_of(alone, tmp_path)
    assert field == "stations"
    assert "two or more" in reason


def test_one_station_is_the_drill_that_says_it_at_the_top(tmp_path: Path) -> None:
    top = LADDER[: LADDER.index("[settings]")].replace('"ladder"', '"on_the_number"')
    plain = ladder(tmp_path, top.replace("width = 20", "width = 20\ncarry = 40"))
    listed = ladder(tmp_path, top + "[[stations]]\naim = { carry = 40 }\n")
    assert listed.fingerprint == plain.fingerprint


def test_stock_carries_are_filled_in_station_by_station(tmp_path: Path) -> None:
    stock = LADDER.replace("carry = 40", 'carry = "stock"').replace("carry = 85", 'carry = "stock"')
    drill = ladder(tmp_path, stock)
    assert drill.wants == (("sand-wedge", "half"), ("gap-wedge", "full"))
    half = drill.with_stock(D(44), of=("sand-wedge", "half"))
    with pytest.raises(NeedsStock, match="Gap wedge"):
        half.game()
    whole = half.with_stock(D(80), "m", of=("gap-wedge", "full"))
    assert [station.aim.carry for station in whole.game().stations] == [44, 87]
