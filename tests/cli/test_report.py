"""`report` on the command line."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from drillrunner.services.demo import build
from drillrunner.store.store import Store
from tests.cli.conftest import Told

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The demo, which a report only reads."""
    path = tmp_path_factory.mktemp("report") / "demo.db"
    build(path, date(2025, 5, 10))
    return str(path)


def test_the_command_writes_a_new_file_and_never_over_one(
    database: str, tmp_path: Path, told: Told
) -> None:
    out = tmp_path / "page.html"
    words = ("--db", database, "--player", "Ines", "--since", "2025-05-01", "--out")
    code, shown, said = told("report", *words, str(out))
    assert (code, shown) == (0, "")
    assert said.startswith(f"written to {out}: Ines, ")
    assert re.search(r", \d+ days, .*\d+ drills, \d+ finished runs, \d+ balls\n$", said), said
    html = out.read_text("utf-8")
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert html.rstrip().endswith("</html>")
    code, _, err = told("report", *words, str(out))
    assert (code, err) == (
        2,
        f"drillrunner: {out}: can't be written: it is there already: name a new file\n",
    )
    assert out.read_text("utf-8") == html
    code, shown, _ = told("report", "--db", database, "--session", "last", "--out", "-")
    assert code == 0
    assert shown.startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--since", "2025-05-01"), "the following arguments are required: --out"),
        (("--since", "May", "--out", "-"), "--since 'May': expected a day, as 2025-04-01"),
        (("--session", "7", "--out", "-"), "no session 7"),
        (("--session", "1", "--since", "2025-05-01", "--out", "-"), "not allowed with"),
        (("--player", "Bo", "--out", "-"), "no player 'Bo'"),
        (("--session", "last", "--out", "/nowhere/at/all.html"), "can't be written"),
    ],
)
def test_wrong_words_are_one_line(
    words: tuple[str, ...], said: str, database: str, told: Told
) -> None:
    code, out, err = told("report", "--db", database, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_where_no_page_can_be_written_none_is_gathered(
    database: str, tmp_path: Path, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drillrunner.services.report.gather", None)
    (tmp_path / "there.html").touch()
    for name in ("there.html", "no folder/page.html", "there.html/page.html"):
        code, _, err = told("report", "--db", database, "--out", str(tmp_path / name))
        assert (code, "can't be written" in err) == (2, True), err


def test_without_a_session_the_last_one_is_asked_for_in_vain(tmp_path: Path, told: Told) -> None:
    path = str(tmp_path / "new.db")
    with Store.open(path) as store:
        store.add_player("Ines")
    code, out, err = told("report", "--db", path, "--session", "last", "--out", "-")
    assert (code, out) == (2, "")
    assert "no session yet" in err
    assert err.count("\n") == 1


def test_nothing_to_tell_writes_nothing(database: str, tmp_path: Path, told: Told) -> None:
    out = tmp_path / "page.html"
    words = ("--player", "Ines", "--since", "2026-01-01", "--out", str(out))
    code, _, err = told("report", "--db", database, *words)
    assert code == 1
    assert "played nothing in these days" in err
    code, _, err = told("report", "--db", str(tmp_path / "none.db"), "--out", str(out))
    assert code == 1
    assert not out.exists()


def test_only_this_command_imports_the_plotting_library() -> None:
    code = (
        "import sys; from drillrunner.cli.main import main; "
        "main(['drills']); import drillrunner.app.app, drillrunner.services.report; "
        "sys.exit('matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The places of the test below; the library keeps in one of them which fonts there are."""
    folder = tmp_path_factory.mktemp("places")
    for name in ("home/matplotlib", "here", "named"):
        (folder / name).mkdir(parents=True)
    return folder


@pytest.mark.parametrize("where", ["here", "home/matplotlib", "named"])
def test_no_file_of_settings_for_drawing_is_read(places: Path, where: str) -> None:
    """One that can't be read would be told of, and one that can would change the page."""
    home, here, named = (places / name for name in ("home", "here", "named"))
    for place in ("here", "home/matplotlib", "named"):
        (places / place / "matplotlibrc").unlink(missing_ok=True)
    (places / where / "matplotlibrc").write_text("font.size: 99\nno such key: 7\n")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_CONFIG_HOME": str(home)}
    env |= {"MPLCONFIGDIR": str(home / "matplotlib"), "MATPLOTLIBRC": str(named)}
    code = (
        "import os; here = os.getcwd()\n"
        "from drillrunner.practice.looking_back.report import drawing\n"
        "print(drawing.matplotlib.rcParams['font.size'], os.getcwd() == here,"
        f" os.environ['MATPLOTLIBRC'] == {str(named)!r})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, cwd=here, env=env, text=True
    )
    assert (done.stdout, done.stderr) == ("10.0 True True\n", "")
