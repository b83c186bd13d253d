"""Any CSV of carries and misses: heads, units, signs, and the rows that can't be read."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.practice.carries.columns import (
    BadSheet,
    Column,
    ColumnMap,
    club_of,
    guess_columns,
    preview,
    read,
    sheet,
)
from drillrunner.rules import Seen

ZONE = timezone(timedelta(hours=1))
D = Decimal


def rows(text: str, mapping: ColumnMap):
    return read(sheet(text.encode()), mapping, ZONE, date(2026, 6, 30))


def one(text: str, **columns: Column | str):
    named = {k: Column(head=c) if isinstance(c, str) else c for k, c in columns.items()}
    (reading,), faults = rows(text, ColumnMap(columns=named, club="driver"))
    assert not faults
    return reading


def test_a_file_is_read_by_its_mapping_with_its_dates_and_clubs():
    text = (
        "Date;Club;Carry;Side\n"
        "2026-05-31;7 Iron;142,5;-3\n"
        "2026-05-31 18:30;PW;98;4 R\n"
        "2026-05-31T18:31:00+02:00; driver ;;12L\n"
    )
    heads = sheet(text.encode()).heads
    mapping = guess_columns(heads, "yd")
    assert {what: c.head for what, c in mapping.columns.items()} == {
        "at": "Date",
        "club": "Club",
        "carry": "Carry",
        "lateral": "Side",
    }
    readings, faults = rows(text, mapping)
    assert faults == ()
    assert [r.club for r in readings] == ["7-iron", "pitching-wedge", "driver"]
    assert [(r.shot.carry, r.shot.carry_grid) for r in readings] == [
        (D("142.5"), D("0.1")),
        (D(98), D(1)),
        (None, None),
    ]
    assert [r.shot.lateral for r in readings] == [
        Seen(-1, D(3), D(1)),
        Seen(1, D(4), D(1)),
        Seen(-1, D(12), D(1)),
    ]
    assert [r.at for r in readings] == [
        datetime(2026, 5, 31, 12, tzinfo=ZONE),
        datetime(2026, 5, 31, 18, 30, tzinfo=ZONE),
        datetime(2026, 5, 31, 18, 31, tzinfo=timezone(timedelta(hours=2))),
    ]
    assert next(preview(readings)) == (2, "7-iron (full)", "", "142.5 yd, 3 left")


def test_units_are_the_columns_own_and_what_is_kept_is_exact_to_the_hundredth():
    """1 yd = 0.9144 m exactly (international yard, 1959; NIST SP 811), and 3 ft."""
    metres = one("Carry (m)\n91.44\n", carry=Column(head="Carry (m)", measure="m"))
    assert (metres.unit, metres.shot.carry) == ("m", D("91.44")), "kept in the file's own unit"
    feet = one("c,s\n100,6\n", carry="c", lateral=Column(head="s", measure="ft"))
    assert (feet.unit, feet.shot.lateral.size) == ("yd", D(2))
    mixed = one("c,s\n100,9.144\n", carry="c", lateral=Column(head="s", measure="m"))
    assert mixed.shot.lateral.size == D(10)
    third = one("c,s\n100,1\n", carry="c", lateral=Column(head="s", measure="ft"))
    assert (third.shot.lateral.size, third.shot.lateral.grid) == (D("0.33"), D("0.33"))
    said = one("c\n91.44 m\n", carry="c")
    assert said.shot.carry == D(100), "a unit in the cell beats the column's"


def test_either_side_can_be_the_positive_one_and_a_side_in_the_cell_beats_it():
    left = one("s,d\n5,-7\n", lateral=Column(head="s", positive="left"), depth="d")
    assert (left.shot.lateral.side, left.shot.depth.side) == (-1, -1)
    short = one("d\n7\n", depth=Column(head="d", positive="short"))
    assert short.shot.depth.side == -1
    named = one("s,d\nR 5,3 L\n", lateral=Column(head="s", positive="left"), depth="d")
    assert (named.shot.lateral.side, named.shot.depth.side) == (1, 1), "L is long in depth"
    assert one("s\n0.0\n", lateral="s").shot.lateral == Seen(0, D(0), D("0.1"))
    assert one("s\n\u22125\n", lateral="s").shot.lateral.side == -1, "a typographic minus"


def test_a_first_line_that_says_where_the_cells_are_cut_is_no_head():
    assert one("sep=;\nCarry;Note\n142,5;a, b, c\n", carry="Carry").shot.carry == D("142.5")


def test_a_date_with_points_has_the_day_first():
    for said in ("31.05.2026", "31.05.2026 18:30"):
        found = one(f"carry,at\n100,{said}\n", carry="carry", at="at").at
        assert found.date().isoformat() == "2026-05-31", said


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("far,2,driver,2026-05-31", "line 2: carry: expected a number, not 'far'"),
        ("0,2,driver,2026-05-31", "carry: expected more than 0"),
        ("-100,2,driver,2026-05-31", "carry: expected more than 0"),
        ("401,2,driver,2026-05-31", "at most 400"),
        ("nan,2,driver,2026-05-31", "carry: expected a number"),
        ("200,151,driver,2026-05-31", "lateral: expected at most 150"),
        ("200,-5 L,driver,2026-05-31", "lateral: expected a sign or a side, not both"),
        ("200,5 X,driver,2026-05-31", "lateral: expected a number"),
        (",,driver,2026-05-31", "neither a carry nor a miss"),
        ("200,2,spoon,2026-05-31", "club: unknown club 'spoon'"),
        ("200,2,,2026-05-31", "club: no club named"),
        ("200,2,driver,31/05/2026", "at: expected a day as 2026-05-31"),
        ("200,2,driver,31.02.2026", "not '31.02.2026'"),
        ("200,2,driver,2062-05-31", "at: expected a day that has come, not 2062-05-31"),
        ("200,2,driver", "3 cells under 4 heads"),
        ("1e2,2,driver,2026-05-31", "carry: expected a number"),
    ],
)
def test_a_row_that_cannot_be_read_is_named_and_the_next_still_is(row, said):
    text = f"carry,side,club,date\n{row}\n210,3,driver,2026-05-31\n"
    readings, faults = rows(text, guess_columns(sheet(text.encode()).heads, "yd"))
    assert [reading.line for reading in readings] == [3]
    assert len(faults) == 1
    assert said in str(faults[0])


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"  \n\n", "empty"),
        (b"a,a\n1,2\n", "two columns are called 'a'"),
        (b'a,b\n1,2\n"1,2\n', "line 3: expected a CSV file"),
        (b"a\0b\n", "no text"),
    ],
)
def test_a_file_that_is_no_table_is_refused(content, said):
    with pytest.raises(BadSheet, match=said):
        sheet(content)


@pytest.mark.parametrize(
    ("mapping", "said"),
    [
        (ColumnMap(columns={"club": Column(head="b")}), "expected a column of carries"),
        (ColumnMap(columns={"carry": Column(head="z")}, club="driver"), "no column 'z'"),
        (ColumnMap(columns={"carry": Column(head="a")}), "names the club"),
        (ColumnMap(columns={"carry": Column(head="a")}, club="spoon"), "unknown club 'spoon'"),
        (
            ColumnMap(columns={"carry": Column(head="a", positive="left")}, club="driver"),
            "'left' is no side",
        ),
    ],
)
def test_a_mapping_that_does_not_fit_is_refused(mapping, said):
    with pytest.raises(BadSheet, match=said):
        rows("a,b\n1,2\n", mapping)


def test_marks_of_other_encodings_and_line_ends_are_read():
    for content in (
        "\ufeffcarry\r\n99\r\n".encode(),
        "carry\n99\n".encode("utf-16"),
        "carry,h\u00f6he\n99,1\n".encode("latin-1"),
    ):
        table = sheet(content)
        readings, _ = read(
            table, ColumnMap(columns={"carry": Column(head="carry")}, club="driver"), ZONE
        )
        assert [r.shot.carry for r in readings] == [D(99)]


@pytest.mark.parametrize(
    ("said", "id"),
    [
        ("Driver", "driver"),
        ("3W", "3-wood"),
        ("7i", "7-iron"),
        ("7 iron", "7-iron"),
        ("4 Hybrid", "hybrid"),
        ("pitching wedge", "pitching-wedge"),
        ("AW", "gap-wedge"),
        ("lob_wedge", "lob-wedge"),
    ],
)
def test_the_usual_names_of_clubs_are_understood(said, id):
    assert club_of(said) == id


@pytest.mark.parametrize("said", ["Dr", "D", "W3", "i7", "Hy", "7 IR", "spoon"])
def test_what_a_file_calls_a_club_in_its_own_way_the_player_says(said):
    with pytest.raises(ValueError, match=f"unknown club '{said}': `--club {said}=ID` says which"):
        club_of(said)
    columns = {"carry": Column(head="c"), "club": Column(head="k")}
    mapping = ColumnMap(columns=columns, clubs={said.upper(): "3-wood"})
    (reading,), faults = rows(f"c,k\n200,{said}\n", mapping)
    assert (reading.club, faults) == ("3-wood", ())
    wrong = ColumnMap(columns=columns, clubs={said: "spade"})
    with pytest.raises(BadSheet, match="unknown club 'spade'"):
        rows(f"c,k\n200,{said}\n", wrong)


def test_only_plain_words_are_offered_for_columns():
    """Heads of other files are theirs to say; nothing is taken for what it may not be."""
    heads = ["Carry", "Target (yd)", "Side", "Depth", "Club", "Swing", "Date"]
    assert len(guess_columns(heads, "yd").columns) == 7
    other = ["Carry Distance", "Offline", "Carry Side", "Club Type", "Total", "Ball Speed", "Aim"]
    assert guess_columns(other, "yd").columns == {}


@settings(max_examples=300)
@given(st.binary(max_size=200), st.sampled_from(["carry", "lateral", "depth"]))
def test_no_bytes_at_all_raise_anything_but_one_line(content, what):
    try:
        table = sheet(content)
        head = next((head for head in table.heads if head), "x")
        readings, faults = read(
            table, ColumnMap(columns={what: Column(head=head)}, club="driver"), ZONE
        )
    except BadSheet as error:
        said = [str(error)]
    else:
        said = [str(fault) for fault in faults]
        assert len(readings) + len(faults) == len(table.rows)
    assert all(len(line.splitlines()) == 1 for line in said)
