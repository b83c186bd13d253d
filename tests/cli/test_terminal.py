"""Nothing that was typed, named or written by others reaches a terminal as an order to it."""

from __future__ import annotations

import ast
import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.escapes import CONTROL, escaped, without
from drillrunner.cli import terminal
from drillrunner.cli.layout import as_json, labelled, table
from drillrunner.cli.lines import sheet
from tests.catalogue.files import changed, write
from tests.cli.run import Run

PACKAGE = Path(__file__).parents[2] / "drillrunner"
ORDERS = "\x1b[2J\x1b]0;title\x07 \x9b31m \x7f\u202e\u2028"


def printing(path: Path) -> list[str]:
    """Every place in a source that could print: `print`, `input`, the standard streams."""
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        named = isinstance(node, ast.Name) and node.id in ("print", "input")
        stream = (
            isinstance(node, ast.Attribute)
            and node.attr in ("stdout", "stderr", "__stdout__", "__stderr__")
            and isinstance(node.value, ast.Name)
            and node.value.id == "sys"
        )
        taken = isinstance(node, ast.ImportFrom) and node.module == "sys"
        if named or stream or taken:
            found.append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    return found


def test_one_module_prints_and_no_other() -> None:
    places = [
        place
        for path in sorted(PACKAGE.rglob("*.py"))
        if path != PACKAGE / "cli" / "terminal.py"
        for place in printing(path)
    ]
    assert places == []
    assert printing(PACKAGE / "cli" / "terminal.py"), "and the search finds what prints"


@given(st.text())
def test_nothing_is_left_to_obey(text: str) -> None:
    assert not CONTROL.search(escaped(text))
    assert not CONTROL.search(without(text))
    assert not CONTROL.search(escaped(text, lines=True).replace("\n", ""))
    assert CONTROL.search(text) or escaped(text) == without(text) == text


@given(st.text())
def test_a_table_and_json_hold_what_was_said(text: str) -> None:
    assert not CONTROL.search(table(("a",), [(text,)]).replace("\n", ""))
    assert len(labelled({"a": text}).split("\n")) == 1
    document = as_json({"a": text})
    assert json.loads(document) == {"a": text}
    assert not CONTROL.search(document.replace("\n", ""))


def test_titles_problems_and_arguments_are_escaped(run: Run, home: Path) -> None:
    folder = home / "more"
    write(folder, "evil.toml", changed("lives = 2", 'lives = "\\u001b[2J\\u009b31m"'))
    write(folder, "e\x1b[31mvil.toml", "id = 3\n")
    for words in (
        ["drills", "--games", str(folder)],
        ["check", str(folder)],
        ["play", f"no{ORDERS}"],
        ["score", "hold-the-corridor", f"5{ORDERS}"],
        ["score", "hold-the-corridor", "5", "--set", f"lives={ORDERS}"],
        [f"play{ORDERS}"],
        ["history", "--db", f"{home}/{ORDERS.replace('/', '')}/x.db"],
    ):
        said = run(words)
        assert not CONTROL.search((said.out + said.err).replace("\n", "")), words
        assert said.err.count("\n") < 10


def test_a_document_goes_to_a_file_as_it_is_and_is_shown_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    terminal.put_data([f"a{ORDERS}\r\n"])
    assert capsys.readouterr().out == f"a{ORDERS}\r\n"
    import sys

    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    terminal.put_data([f"a{ORDERS}\r\n"])
    assert not CONTROL.search(capsys.readouterr().out.replace("\n", ""))


@pytest.mark.parametrize("number", ["-15", "+35", "-2,5", "0", "12.75", ""])
def test_a_number_stays_a_number_in_a_sheet(number: str) -> None:
    assert list(csv.reader(sheet([["x", number]]))) == [["x", number]]


@pytest.mark.parametrize("cell", ["=1+1", "+1+1", "-1+cmd", "@SUM(A1)", "\t=1", "\r=1", "-", "+"])
def test_no_spreadsheet_runs_a_cell(cell: str) -> None:
    """What a spreadsheet may run, and how it is kept from it: OWASP, CSV Injection."""
    (row,) = csv.reader(io.StringIO("".join(sheet([[cell, "x"]])), newline=""))
    assert row == [f"'{cell}", "x"]


def test_the_export_is_a_sheet_that_nothing_runs(run: Run) -> None:
    run(["score", "hold-the-corridor", "5", "-15", "+", "--save", "--player", "=HYPERLINK(1)"])
    run(["score", "miss-total", "-15", "+2,5", "--save", "--player", "=HYPERLINK(1)"])
    rows = list(csv.DictReader(io.StringIO(run("export --format csv").out, newline="")))
    assert {row["player"] for row in rows} == {"'=HYPERLINK(1)"}
    assert [row["typed"] for row in rows][-2:] == ["-15", "+2,5"]


def test_csv_is_written_in_one_place() -> None:
    writers = [
        path.name
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute)
        and node.attr in ("writer", "DictWriter")
        and isinstance(node.value, ast.Name)
        and node.value.id == "csv"
    ]
    assert writers == ["lines.py"]


@pytest.mark.parametrize("entry", ["--5", "---15", "--+5", "--.5", "--5=3"])
def test_an_entry_that_looks_like_an_option_is_named_by_its_place(entry: str, run: Run) -> None:
    said = run(["score", "miss-total", "-15", "+5", entry, "0"])
    assert (said.code, said.out) == (2, "")
    assert f"entry 3 ('{entry}'): means nothing here: expected a signed number" in said.err
