"""Plugin folders: what is found where, what is refused, and whose code runs."""

from __future__ import annotations

import ast
import hashlib
import os
import sys
from pathlib import Path

import pytest

from drillrunner.catalogue import allowed, loader, places
from drillrunner.catalogue.check import stray_imports
from drillrunner.catalogue.loader import (
    NOT_ALLOWED,
    UnknownDrill,
    bundled,
    folders,
    load,
    load_bundled,
)
from drillrunner.catalogue.reading import MOST_PROBLEMS
from drillrunner.catalogue.tomltext import LARGEST, Unreadable, read_bytes
from tests.catalogue.files import DRILL, GAME, changed, load_with, write

GAMES = sorted(bundled("games").glob("*.py"))
COUNTED = changed('"lives"', '"count"').replace("lives = 2", "balls = 2")


@pytest.fixture
def folder(home: Path) -> Path:
    return home / "mine"


def reasons(folder: Path) -> dict[str, str]:
    """File name to the reason why it can't be used; one each."""
    problems = load_with(folder).problems
    assert len({problem.file for problem in problems}) == len(problems)
    return {Path(problem.file).name: problem.reason for problem in problems}


@pytest.mark.parametrize("file", GAMES, ids=lambda file: file.stem)
def test_bundled_games_import_only_the_rules_and_the_standard_library(file: Path) -> None:
    assert list(stray_imports(ast.parse(file.read_bytes()))) == []


@pytest.mark.parametrize(
    "line",
    [
        "import numpy",
        "import os, textual.app",
        "from drillrunner.catalogue import loader",
        "from drillrunner import rules",
        "from . import lives",
        "def f():\n    import drillrunner.store",
    ],
)
def test_any_other_import_is_seen(line: str) -> None:
    assert len(list(stray_imports(ast.parse(line)))) == 1


def test_the_order_of_folders(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert folders() == (bundled("games"),)
    own = places.games_dir()
    own.mkdir(parents=True)
    monkeypatch.setenv("DRILLRUNNER_GAMES", f"{home}/a{os.pathsep}{home}/b")
    found = folders([home / "c", home / "a"])
    assert found == (bundled("games"), own, home / "a", home / "b", home / "c")


def test_a_folder_that_is_named_must_be_there(home: Path) -> None:
    (problem,) = load(folders([home / "none"])).problems
    assert str(problem) == f"{home}/none: expected a folder: No such file or directory"


def test_the_first_of_an_id_keeps_it_and_the_later_file_names_both(folder: Path) -> None:
    write(folder, "a.toml", DRILL)
    write(folder, "b.toml", DRILL)
    write(folder, "c.toml", changed('"mine"', '"hold-the-corridor"'))
    found = load_with(folder)
    assert found.drill("mine").source == f"{folder}/a.toml"
    assert [(p.file, p.line, p.field) for p in found.problems] == [
        (f"{folder}/b.toml", 1, "id"),
        (f"{folder}/c.toml", 1, "id"),
    ]
    assert f"{folder}/a.toml" in found.problems[0].reason
    assert str(bundled("games") / "hold-the-corridor.toml") in found.problems[1].reason


def test_a_folder_named_twice_is_read_once(folder: Path) -> None:
    write(folder, "a.toml", DRILL)
    found = load([bundled("games"), folder, folder / ".." / "mine"])
    assert found.problems == ()


def test_what_can_not_be_read_is_a_problem(folder: Path) -> None:
    write(folder, "a.toml", DRILL)
    (folder / "dangling.toml").symlink_to(folder / "nowhere")
    (folder / "folder.toml").mkdir()
    os.mkfifo(folder / "pipe.toml")
    (folder / "device.toml").symlink_to("/dev/zero")
    (folder / "binary.toml").write_bytes(b'id = "a"\n\xff\xfe')
    (folder / "huge.toml").write_bytes(b"#" * (LARGEST + 1))
    write(folder, "deep.toml", "a = " + "[\n" * 5000 + "]" * 1000)
    write(folder, "long.toml", "a = " + "9" * 5000)
    write(folder, "ignored.txt", "id =")
    write(folder / "plans", "plan.toml", "id =")
    found = reasons(folder)
    assert found == {
        "dangling.toml": "expected a file: the link leads nowhere",
        "folder.toml": "expected a file, not a folder",
        "pipe.toml": "expected a file, not a device or a pipe",
        "device.toml": "expected a file, not a device or a pipe",
        "binary.toml": "expected UTF-8 text",
        "huge.toml": "expected at most 256 KiB",
        "deep.toml": "expected TOML that is not nested so deeply: at most 16",
        "long.toml": "expected lines of at most 2000 characters",
    }
    binary = next(p for p in load_with(folder).problems if p.file.endswith("binary.toml"))
    assert binary.line == 2


def test_a_link_to_a_drill_is_a_drill(folder: Path) -> None:
    write(folder.parent / "elsewhere", "a.toml", DRILL)
    folder.mkdir()
    (folder / "b.toml").symlink_to(folder.parent / "elsewhere" / "a.toml")
    assert load_with(folder).drill("mine").source == f"{folder}/b.toml"


def test_an_unknown_drill_names_what_comes_close() -> None:
    with pytest.raises(KeyError) as caught:
        load([bundled("games")]).drill("hold-corridor")
    assert str(caught.value).startswith("no drill 'hold-corridor': did you mean hold-the-corridor")


def test_a_strangers_game_runs_only_once_it_is_allowed(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[str] = []
    monkeypatch.setattr(sys, "drillrunner_test_ran", ran, raising=False)
    game = write(folder, "count.py", GAME + "\nimport sys\nsys.drillrunner_test_ran.append('x')\n")
    write(folder, "mine.toml", COUNTED)
    first = load_with(folder)
    assert "count" not in first.games
    assert [(p.file, p.field, p.reason) for p in first.problems] == [
        (str(game), None, NOT_ALLOWED),
        (f"{folder}/mine.toml", "game", f"the game 'count' can't be used: {game}: {NOT_ALLOWED}"),
    ]
    assert ran == []

    digest = allowed.allow(game)
    assert digest == hashlib.sha256(game.read_bytes()).hexdigest()
    second = load_with(folder)
    assert second.problems == ()
    assert second.games["count"].hash == digest
    assert second.drill("mine").game_hash == digest
    assert second.drill("mine").game().start() is not None
    assert load_with(folder).games["count"].cls is second.games["count"].cls
    assert ran == ["x"]
    assert "count" not in sys.modules
    assert str(folder) not in sys.path
    assert not list(folder.rglob("*.pyc"))

    game.write_text(game.read_text() + "# changed\n")
    assert "count" not in load_with(folder).games
    assert ran == ["x"]


def test_a_link_that_flips_while_it_is_read_runs_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bytes that were read are judged: not what the path leads to a moment later."""
    theirs = write(folder.parent / "theirs", "count.py", "raise RuntimeError('it ran')\n" + GAME)
    link = folder / "count.py"
    folder.mkdir()
    link.symlink_to(theirs)

    def read_and_flip(path: Path) -> bytes:
        content = read_bytes(path)
        if path == link:
            link.unlink()
            link.symlink_to(GAMES[0])
        return content

    monkeypatch.setattr(loader, "read_bytes", read_and_flip)
    assert reasons(folder) == {"count.py": NOT_ALLOWED}


def test_a_copy_of_a_bundled_game_is_that_game(folder: Path) -> None:
    write(folder, "copy.py", GAMES[0].read_text("utf-8"))
    assert "is taken by" in reasons(folder)["copy.py"]
    write(folder, "copy.py", GAMES[0].read_text("utf-8") + "# another\n")
    assert reasons(folder)["copy.py"] == NOT_ALLOWED


def test_of_many_faults_the_first_are_told_and_then_how_many_more(folder: Path) -> None:
    file = write(folder, "many.toml", DRILL + "".join(f"x{n} = 1\n" for n in range(130)))
    found = load_with(folder).problems
    assert len(found) == MOST_PROBLEMS + 1
    assert [p.line for p in found[:-1]] == sorted(p.line or 0 for p in found[:-1])
    assert str(found[-1]) == f"{file}: and {130 - MOST_PROBLEMS} more"


def test_the_allow_list_is_the_owners_alone(folder: Path) -> None:
    game = write(folder, "count.py", GAME)
    allowed.allow(game)
    file = allowed.list_file()
    assert file.stat().st_mode & 0o777 == 0o600
    assert file.parent.stat().st_mode & 0o777 == 0o700
    assert file.is_relative_to(places.config_dir())
    other = write(folder, "other.py", GAME.replace('"count"', '"other"'))
    allowed.allow(other)
    assert set(load_with(folder).games) >= {"count", "other"}

    file.chmod(0o644)
    assert "mode 600" in reasons(folder)["count.py"]
    with pytest.raises(Unreadable, match="mode 600"):
        allowed.allow(game)
    file.chmod(0o600)
    file.write_text("{")
    assert "damaged; remove it" in reasons(folder)["count.py"]
    file.write_text('{"allowed": [1]}')
    assert "damaged; remove it" in reasons(folder)["count.py"]


def test_only_a_python_file_can_be_allowed(folder: Path) -> None:
    with pytest.raises(Unreadable, match=r"\.py"):
        allowed.allow(write(folder, "a.toml", DRILL))
    with pytest.raises(Unreadable, match="there is none"):
        allowed.allow(folder / "none.py")
    assert not allowed.list_file().exists()


@pytest.mark.parametrize(
    ("content", "line", "reason"),
    [
        ("x = 1\n1 / 0\n", 2, "raised ZeroDivisionError: division by zero"),
        ("import nowhere_at_all\n", 1, "raised ModuleNotFoundError: No module named"),
        ("raise SystemExit(3)\n", 1, "left the program (SystemExit)"),
        ("x = 1\nraise KeyboardInterrupt\n", 2, "raised KeyboardInterrupt"),
        ("def f(:\n", 1, "raised SyntaxError: invalid syntax"),
        ("x = '\0'\n", None, "raised "),
        ("x = 1\n", None, "expected one class derived from Game with all its methods"),
        (GAME.replace("def readout", "def read_out"), None, "expected one class derived from Ga"),
        (GAME + "\n\nclass Again(Count):\n    id = 'again'\n", None, "expected one class derived"),
        (GAME.replace('"count"', '"lives"'), None, "the id 'lives' is taken by"),
        (GAME.replace('"count"', '"My Count"'), None, "id: expected lower-case letters"),
        (GAME.replace('"verdict"', '"sight"'), None, "asks: expected verdict, miss, carry, "),
        (GAME.replace('"higher"', '"more"'), None, "better: expected higher or lower"),
        (GAME.replace('    title = "Count"\n', ""), None, "title: expected a line of text"),
        (GAME.replace("Settings = CountSettings", "Settings = int"), None, "Settings: expected a"),
    ],
)
def test_a_game_that_can_not_be_used_is_a_problem_and_the_rest_works(
    content: str, line: int | None, reason: str, folder: Path
) -> None:
    game = write(folder, "count.py", content)
    allowed.allow(game)
    found = load_with(folder)
    (problem,) = found.problems
    assert (problem.file, problem.line) == (str(game), line)
    assert problem.reason.startswith(reason)
    assert len(found.drills) == len(load([bundled("games")]).drills)
    assert not [
        name
        for name in sys.modules
        if name.startswith("drillrunner_game") and not hasattr(sys.modules[name], "__file__")
    ]


def test_a_game_that_raises_on_a_drill_is_that_drills_problem(folder: Path) -> None:
    broken = GAME.replace("    def start", "    def faults(self):\n        1 / 0\n\n    def start")
    allowed.allow(write(folder, "count.py", broken))
    write(folder, "mine.toml", COUNTED)
    (problem,) = load_with(folder).problems
    assert (problem.line, problem.field) == (3, "game")
    assert problem.reason == "the game raised ZeroDivisionError: division by zero"


def test_places_come_from_platformdirs_unless_they_are_named(
    monkeypatch: pytest.MonkeyPatch, home: Path
) -> None:
    assert places.config_dir() == home / "config"
    assert places.database_default() == f"{home}/data/drillrunner.db"
    for name in ("CONFIG", "DATA", "DB"):
        monkeypatch.delenv(f"DRILLRUNNER_{name}")
    monkeypatch.setenv("XDG_CONFIG_HOME", f"{home}/xc")
    monkeypatch.setenv("XDG_DATA_HOME", f"{home}/xd")
    if sys.platform == "linux":
        # XDG Base Directory Specification.
        assert places.config_dir() == home / "xc" / "drillrunner"
        assert places.database_default() == f"{home}/xd/drillrunner/drillrunner.db"


def test_a_drill_that_can_not_be_used_says_why_when_it_is_asked_for(home: Path) -> None:
    game = write(home / "mine", "count.py", GAME)
    file = write(home / "mine", "mine.toml", changed('"lives"', '"count"'))
    write(home / "mine", "taken.toml", changed('"mine"', '"on-the-number"'))
    found = load([bundled("games"), home / "mine"])
    with pytest.raises(UnknownDrill) as raised:
        found.drill("mine")
    assert str(raised.value).startswith(
        f"the drill 'mine' can't be used: {file}:3: game: the game 'count' can't be used: {game}: "
        "not allowed to run yet"
    )
    assert found.drill("on-the-number").title == "On the number"


def test_a_bundled_drill_read_alone_is_that_of_the_whole_catalogue() -> None:
    whole = load([bundled("games")])
    for drill in whole.drills:
        alone = load_bundled(drill.id)
        assert alone == drill
        assert alone.game_class is drill.game_class
    assert load_bundled("no-such-drill") is None
    assert load_bundled("../games/hold-the-corridor") is None
