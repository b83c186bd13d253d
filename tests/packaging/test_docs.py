"""The documents against the code: commands, keys, fields, settings, links and their examples."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from drillrunner.catalogue import drill, places, plans
from drillrunner.catalogue import ranges as range_profile
from drillrunner.catalogue.stations import AimFields
from drillrunner.cli.main import main
from tests.packaging import tables
from tests.rules.bundled import IDS, game_class

ROOT = Path(__file__).parents[2]
DOCUMENTS = {
    name: (ROOT / name).read_text("utf-8")
    for name in ("README.md", "DEVELOPERS.md", "games/README.md", "drillrunner/REFERENCE.md")
}
README, _, AUTHORS, REFERENCE = DOCUMENTS.values()


def section(text: str, title: str) -> str:
    """The text under a heading, up to the next one of its rank."""
    level, _ = re.match(r"(#+)( .*)", title).groups()  # type: ignore[union-attr]
    start = text.index(f"\n{title}\n")
    end = re.compile(rf"^#{{1,{len(level)}}} ", re.MULTILINE).search(text, start + len(title) + 2)
    return text[start : end.start() if end else None]


def rows(text: str) -> Iterator[str]:
    """The first cell of each row of the tables in a text, if it is code."""
    return (found[1] for found in re.finditer(r"^\| `([^`]+)` \|", text, re.MULTILINE))


def blocks(text: str, kind: str) -> list[str]:
    """The fenced blocks of one kind."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def test_the_readme_is_short() -> None:
    assert len(README.splitlines()) <= 300


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_link_leads_somewhere(name: str) -> None:
    home = (ROOT / name).parent
    links = re.findall(r"\]\(([^)#]+)[^)]*\)", DOCUMENTS[name])
    assert [link for link in links if not (home / link).exists() and "://" not in link] == []


def test_the_tables_of_the_reference_are_as_the_code_has_them() -> None:
    stale = "python -m tests.packaging.tables writes them anew"
    assert tables.written(REFERENCE) == REFERENCE, stale


def test_every_binding_has_a_name_and_says_what_it_does() -> None:
    silent = [binding for binding in tables.bindings() if not (binding.id and binding.description)]
    assert silent == []


def drawn(id: str) -> str:
    """The key of a binding, as it is drawn."""
    (found,) = (binding for binding in tables.bindings() if binding.id == id)
    return found.key_display or found.key


AT_HOME = {
    "width": 2,
    "session": 1,
    "stock": 1,
    "pattern": 1,
    "tune": 1,
    "match": 1,
    "standings": 1,
    "history": 1,
    "where_lost": 1,
}
"""What the README says that a key of the home screen does, and how often."""


def test_the_keys_of_home_in_the_readme_are_those_of_the_app() -> None:
    told = re.findall(r"`([^`]+)` on\s+the\s+home\s+screen", README)
    wanted = [drawn(f"home.{act}") for act, often in AT_HOME.items() for _ in range(often)]
    assert sorted(told) == sorted(wanted)


def test_the_keys_of_a_session_in_the_readme_are_those_of_the_app() -> None:
    told = re.findall(r"^\| `(.)` \| `(\w+)` \|", README, re.MULTILINE)
    acts = ("next", "pause", "more", "put_back", "skip", "stop")
    assert told == [(drawn(f"session.key_{act}"), drawn(f"session.{act}")) for act in acts]
    assert f"`{drawn('session.bring_back')}` brings it back" in README


def named(model: type[BaseModel], table: str = "") -> Iterator[str]:
    """The dotted names of a model's fields."""
    for name, field in model.model_fields.items():
        inner = field.annotation
        inner = next((p for p in getattr(inner, "__args__", ()) if _is_model(p)), inner)
        if _is_model(inner):
            yield from named(inner, f"{name}.")  # type: ignore[arg-type]
        else:
            yield table + (field.alias or name)


def test_every_drill_field_is_in_the_table() -> None:
    assert set(rows(section(AUTHORS, "## Write a drill"))) == set(named(drill._Document))
    assert {f"aim.{name}" for name in AimFields.model_fields} <= set(
        rows(section(AUTHORS, "## Write a drill"))
    )


def test_every_plan_field_is_in_the_table() -> None:
    assert set(rows(section(AUTHORS, "## Write a session plan"))) == set(named(plans._PlanFields))


def _is_model(kind: object) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def test_every_field_of_a_range_is_in_the_table_and_the_example_is_one(tmp_path: Path) -> None:
    told = set(rows(section(AUTHORS, "## Describe your range")))
    assert told == set(named(range_profile._ProfileFields))
    (tmp_path / "river.toml").write_text(blocks(AUTHORS, "toml")[3], "utf-8")
    (profile,), problems = range_profile.load_ranges(tmp_path)
    assert problems == ()
    assert len(profile.gaps()) == 2


@pytest.mark.parametrize("stem", IDS)
def test_every_game_and_its_settings_are_told(stem: str) -> None:
    cls = game_class(stem)
    games = section(AUTHORS, "## The games")
    assert f"**{cls.title}** (`{cls.id}`, {cls.better} is better)" in games
    told = re.split(r"^\*\*", games[games.index(f"(`{cls.id}`") :], flags=re.MULTILINE)[0]
    assert set(rows(told)) == {f"settings.{name}" for name in cls.Settings.model_fields}


def test_every_variable_is_in_the_table() -> None:
    source = Path(places.__file__).parents[1]
    used = {
        name
        for path in source.rglob("*.py")
        for name in re.findall(r"DRILLRUNNER_[A-Z]+", path.read_text("utf-8"))
    }
    assert {row for row in rows(REFERENCE) if row.startswith("DRILLRUNNER")} == used


class Typed:
    """Types commands in a folder of somebody who has just begun; what each says and returns."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *words: str) -> tuple[int, str, str]:
        self._capsys.readouterr()
        return main(words), *self._capsys.readouterr()


@pytest.fixture
def run(home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    monkeypatch.chdir(home)
    return Typed(capsys)


def test_the_example_drill_plan_and_game_pass_the_check(home: Path, run: Typed) -> None:
    own = home / "config" / "games"
    own.mkdir(parents=True)
    example, stations, plan, _, _, holes = blocks(AUTHORS, "toml")
    (own / "wedge-window.toml").write_text(example, "utf-8")
    (own / "two-wedges-up.toml").write_text(stations, "utf-8")
    (own / "my-tee-shots.toml").write_text(holes, "utf-8")
    (own / "plans").mkdir()
    (own / "plans" / "before-work.toml").write_text(plan, "utf-8")
    checked = run("check", str(own))
    assert checked == (0, "no faults in 4 files\n", "")

    (game,) = blocks(AUTHORS, "python")
    (own / "hold_some.py").write_text(game, "utf-8")
    (own / "mine.toml").write_text(
        example.replace("wedge-window", "mine")
        .replace('"lives"', '"hold_some"')
        .replace("lives = 5\nballs = 20", "wanted = 5"),
        "utf-8",
    )
    assert run("check", str(own / "hold_some.py"))[0] == 1
    assert run("allow", str(own / "hold_some.py"))[0] == 0
    checked = run("check", str(own))
    assert checked == (0, "no faults in 6 files\n", "")
    _, scored, _ = run("score", "mine", *"5545655", "--json")
    assert json.loads(scored)["score"] == 7


@pytest.mark.parametrize(
    "line",
    sorted(set(re.findall(r"^\$ (drillrunner score .*)$", README + REFERENCE, re.MULTILINE))),
)
def test_the_tallies_shown_can_be_scored(line: str, run: Typed) -> None:
    code, _, said = run(*line.split()[1:])
    assert (code, said) == (0, "")


def test_every_picture_is_there_and_shown_and_fetches_nothing() -> None:
    shown = set(re.findall(r"!\[[^\]]+\]\((?:\.\./)?(demo_data/[^)]+)\)", README + AUTHORS))
    assert shown == {f"demo_data/{path.name}" for path in (ROOT / "demo_data").glob("*.svg")}
    for path in shown:
        assert "url(http" not in (ROOT / path).read_text("utf-8").replace('"', "")


def test_the_first_two_sh_blocks_are_the_two_commands() -> None:
    opens, tests = blocks(README, "sh")[:2]
    assert opens.strip().endswith("drillrunner demo")
    assert tests.strip().endswith("pytest -n 4 --dist worksteal")
    assert all(len(block.strip().splitlines()) == 1 for block in (opens, tests))
    assert (ROOT / ".ci" / "run").read_text("utf-8").count("README.md") >= 2
