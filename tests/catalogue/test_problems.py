"""Every fault of a drill file is named with its line, its field and what was expected."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from drillrunner.catalogue.tomltext import Unreadable, parse
from tests.catalogue.files import DRILL, changed, load_with, problems_of, write


@pytest.mark.parametrize(
    ("old", "new", "line", "field", "reason"),
    [
        ('id = "mine"\n', "", None, "id", "missing: expected a value"),
        ('"mine"', '"My drill"', 1, "id", "expected lower-case letters, digits and single"),
        ('"mine"', "7", 1, "id", "expected a valid string, not 7"),
        ('"Mine"', '""', 2, "title", "expected text that can be printed"),
        ('"Mine"', '"a\\u001bb"', 2, "title", "expected text that can be printed"),
        ('"lives"', '"live"', 3, "game", "unknown game 'live': expected one of bands, both_hold, "),
        ('"driver"', '"drivel"', 4, "club", "unknown club 'drivel': did you mean driver?"),
        ("[aim]", 'between = ""\n[aim]', 6, "between", "unknown club ''"),
        ("[aim]", 'colour = "red"\n[aim]', 6, "colour", "unknown field: expected one of id, ti"),
        ("[aim]", 'unit = "ft"\n[aim]', 6, "unit", "expected 'yd' or 'm', not 'ft'"),
        ("[aim]", "grid = 0.001\n[aim]", 6, "grid", "expected no more than 2 decimal places"),
        ("width = 30", 'width = "30"', 7, "aim.width", "expected a number without quotes"),
        ("width = 30", "width = true", 7, "aim.width", "expected a number, not true"),
        ("width = 30", "width = nan", 7, "aim.width", "expected a finite number"),
        ("width = 30", "width = inf", 7, "aim.width", "expected a finite number"),
        ("width = 30", "width = 1979-05-27", 7, "aim.width", "expected"),
        ("width = 30", "width = [30]", 7, "aim.width", "expected"),
        ("width = 30", "wide = 30", 7, "aim.wide", "unknown field: expected one of carry, wid"),
        ("width = 30\n", "\n", 6, "aim", "expected a width, a depth or both"),
        ("[aim]\nwidth = 30", "aim = 3", 6, "aim", "expected a valid dictionary"),
        ("lives = 2", "lives = 2.0", 10, "settings.lives", "expected a valid integer"),
        ("lives = 2", "lives = 10", 10, "settings.lives", "expected less than or equal to 9"),
        ("lives = 2", "lives = 1979-05-27", 10, "settings.lives", "expected a plain number"),
        ("lives = 2", "axis = 2", 10, "settings.axis", "unknown field: expected one of lives"),
        ('"aim.width"', '"aim.height"', 13, "dial.field", "unknown field: expected one of aim.c"),
        ('"aim.width"', '"aim.depth"', 13, "dial.field", "expected a field with a number"),
        ('"aim.width"', '"club"', 13, "dial.field", "unknown field"),
        ('"aim.width"', '"settings.balls"', 13, "dial.field", "expected a field with a number"),
        ("from = 10", "from = 35", 7, "aim.width", "expected 35 to 60, as far as the dial goes"),
        ("from = 10", "from = 11", 7, "aim.width", "expected steps of 5 from 11"),
        ("from = 10", "from = 0", 14, "dial.from", "aim.width can't be 0: expected greater tha"),
        ("to = 60", "to = 10", 15, "dial.to", "expected more than from (10)"),
        ("to = 60", "to = 1005", 15, "dial.to", "expected less than or equal to 1000"),
        ("step = 5", "step = 0", 16, "dial.step", "expected greater than 0"),
        ("step = 5\n", "", 12, "dial.step", "missing: expected a value"),
        ("step = 5", "step = 5\n[takes]\nballs = 0", 18, "takes.balls", "expected greater than"),
        ("width = 30", "width = ", 7, None, "expected TOML: Invalid value"),
        ("[dial]", "[aim]", 12, None, "expected TOML: Cannot declare ('aim',) twice"),
        ("step = 5\n", "step = [", 16, None, "expected TOML"),
    ],
)
def test_one_fault(
    old: str, new: str, line: int | None, field: str | None, reason: str, tmp_path: Path
) -> None:
    found = problems_of(changed(old, new), tmp_path)
    assert [problem[:2] for problem in found] == [(line, field)]
    assert found[0][2].startswith(reason)


def test_every_fault_is_named_and_no_fault_hides_another(tmp_path: Path) -> None:
    content = """\
        id = "hold-the-corridor"
        title = ""
        game = "lives"
        club = "nine"
        colour = 1
        [settings]
        lives = 3
        [dial]
        field = "bogus"
        from = 1
        to = 9
        step = 1
        [takes]
        minutes = "long"
        """
    found = problems_of(content, tmp_path)
    assert [(line, field) for line, field, _ in found] == [
        (None, "aim"),
        (1, "id"),
        (2, "title"),
        (4, "club"),
        (5, "colour"),
        (14, "takes.minutes"),
    ]
    assert "hold-the-corridor.toml" in found[1][2]
    with_aim = content.replace("[settings]", "[aim]\n        width = 4\n        [settings]")
    assert (11, "dial.field") in [problem[:2] for problem in problems_of(with_aim, tmp_path)]


def test_a_broken_file_leaves_the_others_alone(tmp_path: Path) -> None:
    write(tmp_path, "a.toml", "id = ")
    write(tmp_path, "b.toml", DRILL)
    found = load_with(tmp_path)
    assert found.drill("mine").source == str(tmp_path / "b.toml")
    assert [problem.file for problem in found.problems] == [str(tmp_path / "a.toml")]


def test_the_line_counts_as_an_editor_does(tmp_path: Path) -> None:
    content = (
        'about = """\nid = "no"\n[aim]\nwidth = "quoted"\n"""\r\n'
        "# width = 1\n" + DRILL.replace("lives = 2", "'lives' = 2\n  balls = [ # none\n 1,\n]\n")
    )
    found = problems_of(content, tmp_path)
    assert [(line, field) for line, field, _ in found] == [(17, "settings.balls")]


@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ("x = 1\n" + "a." * 900 + "a = 1", 2, "keys of at most 10 parts"),
        ('"a" . ' * 100 + "a = 1", 1, "keys of at most 10 parts"),
        ("a." * 5000 + "a = 1", 1, "lines of at most 2000 characters"),
        ("[a]\n" * 400, 301, "at most 300 tables"),
        ("\n".join(f"[[a.b{n}]]" for n in range(400)), 301, "at most 300 tables"),
        ("a = [" + "1,\n" * 5000 + "]", 4000, "at most 4000 values"),
        ("a = {" * 20, 1, "TOML that is not nested so deeply: at most 16"),
        ("a = " + "[\n" * 20, 17, "TOML that is not nested so deeply: at most 16"),
    ],
)
def test_a_file_is_bounded_before_it_is_parsed(text: str, line: int, reason: str) -> None:
    """Else ten thousand parts of a key would keep the parser busy for minutes."""
    with pytest.raises(Unreadable) as refused:
        parse(text)
    assert (str(refused.value), refused.value.line) == (f"expected {reason}", line)


@pytest.mark.parametrize(
    "text",
    [
        'about = "' + "a.b [c] = {d}, " * 100 + '"',
        "about = '''\n" + "[x.y.z.a.b.c.d.e.f.g.h.i.j]\n" * 400 + "'''",
        "# " + "a." * 500 + "\nid = 1",
        "a.b.c.d.e.f.g.h.i.j = 1",
        "x = [" + "[" * 14 + "]" * 14 + "]",
    ],
)
def test_what_stands_in_texts_and_comments_counts_for_no_bound(text: str) -> None:
    assert parse(text) == tomllib.loads(text)
