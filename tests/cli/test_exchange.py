"""export, import, backup, restore and forget on the command line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from drillrunner.rules import Kind
from drillrunner.store.shot_list import COLUMNS
from drillrunner.store.store import Store
from tests.cli.run import Run
from tests.store.test_exchange import hit

SHEET = """\
Date,Club,Carry (m),Side,Target
2026-05-31,7i,120.5,-3.2,120
2026-05-31,7i,118,4 R,120
bad,7i,118,4,120
2026-06-01,spoon,118,4,120
2026-06-01,Dr,190,-22,
"""


@pytest.fixture
def own(home: Path) -> Path:
    path = home / "data" / "drillrunner.db"
    with Store.open(path) as store:
        hit(store, "Ines", "5 4 * 5 / 5 4 0 +25")
        hit(store, "Tobi", "-5 +7.5", "miss-total-five")
    return path


@pytest.fixture
def sheet(home: Path) -> Path:
    path = home / "shots.csv"
    path.write_text(SHEET)
    return path


@pytest.mark.usefixtures("own")
def test_everything_goes_out_and_comes_into_another_database(run: Run, home: Path) -> None:
    file, other = home / "all.json", home / "other.db"
    assert run(f"export --out {file}").code == 0
    assert file.read_text() == run("export --format json").out == run("export --out -").out
    assert run(f"export --out {file}").code == 2, "a file is never written over"
    assert run(f"import {file} --db {other}").code == 0
    assert run(f"export --db {other}").out == file.read_text()
    again = run(f"import {file} --db {other}")
    assert (again.code, again.out) == (0, "everything in it is here already\n")


@pytest.mark.usefixtures("own")
def test_the_sheet_has_one_row_a_shot_under_the_columns_that_are_explained(run: Run) -> None:
    rows = list(csv.DictReader(io.StringIO(run("export --format csv").out, newline="")))
    assert len(rows) == 9
    assert list(rows[0]) == list(COLUMNS)
    first = [row for row in rows if row["player"] == "Ines"]
    assert [row["typed"] for row in first] == ["5", "4", "5", "5", "4", "0", "+25"]
    assert [row["live"] for row in first] == ["1", "0", "1", "1", "1", "1", "1"]
    assert [row["void"] for row in first] == ["0", "0", "1", "0", "0", "0", "0"]
    assert [row["counts"] for row in first] == ["1", "0", "0", "1", "1", "1", "1"]
    assert {row["aim_width"] for row in first} == {"40"}
    tobi = [row for row in rows if row["player"] == "Tobi"]
    assert [(r["lateral"], r["lateral_off"], r["lateral_grid"]) for r in tobi] == [
        ("-5", "5", "5"),
        ("7.5", "7.5", "0.1"),
    ]
    explained = run("export --columns").out
    assert all(name in explained for name in COLUMNS)


def test_with_nothing_to_export_it_says_so(run: Run) -> None:
    said = run("export")
    assert (said.code, said.out) == (1, "")
    assert said.err.count("\n") == 1


@pytest.mark.usefixtures("own")
def test_a_sheet_is_shown_before_it_comes_in_and_comes_in_once(run: Run, sheet: Path) -> None:
    shown = run(f"import {sheet} --player ines")
    assert shown.code == 2
    assert "--yes" in shown.err
    assert "120.5 m, 3.2 left" in shown.out
    assert "line 4: at: expected a day" in shown.out
    assert "line 5: club: unknown club 'spoon'" in shown.out
    assert len(run("history --json").json) == 2, "nothing has come in yet"
    assert "line 6: club: unknown club 'Dr': `--club Dr=ID` says which it is" in shown.out
    told = run(f"import {sheet} --player ines --positive left --club Dr=driver --yes")
    assert told.out.endswith("3 shots imported\n")
    again = run(f"import {sheet} --player ines --yes")
    assert "3.2 right" in again.out, "the columns are kept as they were told"
    assert again.out.endswith("every row of this file is here already\n")
    assert len(run("best --json").json) == 1, "such shots are no record"


@pytest.mark.usefixtures("own")
def test_rows_that_can_be_read_later_come_in_later(run: Run, sheet: Path, own: Path) -> None:
    run(f"import {sheet} --player Ines --club Dr=driver --yes")
    text = SHEET.replace("spoon", "3w")
    sheet.write_text(text)
    said = run(f"import {sheet} --player Ines --yes").out
    assert said.endswith("4 shots imported\n"), "another file, by its content"
    with Store.open(own) as store:
        run_of = next(r for r in store.history("imported-shots") if r.club == "3-wood")
        (entry,) = store.entries(run_of.run)
        assert (entry.seq, entry.kind, entry.aim.carry) == (5, Kind.SHOT, 120)
        assert len(store.recent_shots(store.player("Ines").id, "7-iron")) == 4


@pytest.mark.usefixtures("own")
def test_the_same_file_with_more_rows_told_apart_adds_only_those(run: Run, home: Path) -> None:
    file = home / "two.csv"
    file.write_text("a,b\n100,\n,12\n")
    run(
        [
            "import",
            str(file),
            "--player",
            "Ines",
            "--column",
            "carry=a",
            "--club",
            "driver",
            "--yes",
        ]
    )
    said = run(["import", str(file), "--player", "Ines", "--column", "lateral=b", "--yes"]).out
    assert said.endswith("1 shot imported\n")


@pytest.mark.usefixtures("own")
def test_a_column_that_was_taken_for_another_can_be_left_out(run: Run, home: Path) -> None:
    file = home / "odd.csv"
    file.write_text("carry,date\n100,week 3\n")
    words = f"import {file} --player Ines --club driver --yes"
    assert "no row can be read" in run(words).err
    assert run(f"{words} --column at=").out.endswith("1 shot imported\n")


@pytest.mark.usefixtures("own")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("", "whose shots"),
        ("--player Ines --column carry", "expected FIELD=HEAD"),
        ("--player Ines --column carry=Nowhere", "no column 'Nowhere'"),
        ("--player Ines --column spin=Carry", "spin"),
        ("--player Ines --measure km", "measure: expected 'yd', 'm' or 'ft', not 'km'"),
        ("--player Ines --measure depth=m", "no column is depth"),
        ("--player Ines --positive long", "no column is depth"),
        ("--player Ines --club spoon", "unknown club 'spoon'"),
    ],
)
def test_a_sheet_that_is_told_wrongly_gets_one_line(
    words: str, said: str, run: Run, sheet: Path
) -> None:
    got = run(f"import {sheet} {words} --yes")
    assert got.code == 2
    assert said in got.err
    assert got.err.count("\n") == 1


@pytest.mark.usefixtures("own")
def test_a_file_that_is_not_there_or_damaged_gets_one_line(run: Run, home: Path) -> None:
    bad = home / "bad.json"
    bad.write_text('{"format": "drillrunner export", "version": 1, "run": [{}]}')
    for file in (home / "nowhere.json", bad):
        said = run(f"import {file}")
        assert (said.code, said.err.count("\n")) == (2, 1)
        assert str(file) in said.err


def test_a_backup_comes_back(run: Run, own: Path, home: Path) -> None:
    file = home / "copy.db"
    assert "2 players" in run(f"backup --out {file}").out
    before = run("export").out
    assert run("forget Ines").code == 2, "not without being asked"
    said = run("forget ines --yes")
    assert said.code == 0
    assert "Ines is gone" in said.out
    assert list(own.parent.glob("*before-forget*"))
    assert [one["player"] for one in run("history --json").json] == ["Tobi"]
    assert run(f"restore {file}").code == 2
    assert run(f"restore {file} --yes").code == 0
    assert run("export").out == before
    assert run(f"restore {home}/none.db --yes").code == 2
    # What can't be written is the copy: the database is where it was.
    copy = home / "none" / "copy.db"
    assert f"drillrunner: {copy}: can't be written" in run(f"backup --out {copy}").err
    assert "expected a file: it is a folder" in run(f"restore {home} --yes").err


def test_a_sheet_makes_a_new_player_and_a_database(run: Run, sheet: Path, home: Path) -> None:
    said = run(f"import {sheet} --player Zoe")
    assert said.code == 2
    assert "for Zoe, a new player?" in said.err
    assert not (home / "data").exists(), "nothing is made before it is agreed"
    assert run(f"import {sheet} --player Zoe --club Dr=driver --yes").code == 0
    assert [one["player"] for one in run("history --json").json] == ["Zoe"] * 2


def test_nothing_to_copy_and_nobody_to_forget(run: Run) -> None:
    assert run("backup").code == 2
    assert run("forget Ines --yes").code == 2


@pytest.mark.usefixtures("own")
def test_a_document_is_json_that_others_can_read(run: Run) -> None:
    found = json.loads(run("export").out)
    assert [player["name"] for player in found["player"]] == ["Ines", "Tobi"]
    assert [row["lateral_size"] for row in found["entry"] if row.get("club") == "7-iron"] == [
        5,
        7.5,
    ]
