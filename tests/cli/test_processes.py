"""What only a process of its own can show: imports, closed pipes, real arguments."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]

SCREENS = ("textual", "textual_plotext", "plotext", "rich")
RECORDS = ("sqlmodel", "sqlalchemy", "alembic", "sqlite3")
NUMBERS = ("numpy", "scipy")

FORBIDDEN = {
    "--help": SCREENS + RECORDS + NUMBERS,
    "drills": SCREENS + RECORDS + NUMBERS,
    "drills --json": SCREENS + RECORDS + NUMBERS,
    "score hold-the-corridor 5 4 -15": SCREENS + RECORDS + NUMBERS,
    "score miss-total -15 --json --player Ana": SCREENS + RECORDS + NUMBERS,
    "check games/hold-the-corridor.toml": SCREENS + RECORDS + NUMBERS,
    "allow games/lives.py": SCREENS + RECORDS + NUMBERS,
    "score on-the-number 45 --save --player Ana": SCREENS + NUMBERS,
    "best": SCREENS + NUMBERS,
    "history --json": SCREENS + NUMBERS,
    "export": SCREENS + NUMBERS,
}
"""Command to the modules that it must not import; no exceptions, and it should stay so."""


def python(code: str, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, cwd=HOME, check=False
    )


@pytest.mark.parametrize("words", FORBIDDEN)
def test_a_plain_command_imports_only_what_it_needs(words: str) -> None:
    code = (
        "import sys\n"
        "from drillrunner.cli.main import main\n"
        "main(sys.argv[1:])\n"
        "print('\\n' + ' '.join({name.partition('.')[0] for name in sys.modules}))\n"
    )
    done = python(code, *words.split())
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.splitlines()[-1].split())
    assert "drillrunner" in loaded
    assert loaded.isdisjoint(FORBIDDEN[words])


def test_a_reader_that_goes_away_leaves_no_traceback() -> None:
    shell = (
        f"{sys.executable} -m drillrunner history --help | true; "
        f"{sys.executable} -m drillrunner drills --json | head -c 1"
    )
    done = subprocess.run(
        ["bash", "-c", shell], capture_output=True, text=True, cwd=HOME, check=False
    )
    assert done.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_output_that_can_not_be_written_is_one_line() -> None:
    shell = f"{sys.executable} -m drillrunner drills > /dev/full"
    done = subprocess.run(
        ["bash", "-c", shell], capture_output=True, text=True, cwd=HOME, check=False
    )
    assert done.returncode == 2
    assert done.stderr == "drillrunner: output: No space left on device\n"


def test_the_process_ends_with_the_code() -> None:
    words = [sys.executable, "-m", "drillrunner", "score", "miss-total", "-15", "-12,5", "x"]
    done = subprocess.run(words, capture_output=True, text=True, cwd=HOME, check=False)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("drillrunner: entry 3 ('x'): ")


def test_nothing_that_lies_in_the_working_folder_is_imported(tmp_path: Path) -> None:
    for name in ("argparse", "json", "platformdirs", "pydantic", "decimal"):
        (tmp_path / f"{name}.py").write_text("raise RuntimeError('it ran')\n")
    env = {k: v for k, v in os.environ.items() if k != "PYTHONSAFEPATH"}
    done = subprocess.run(
        [sys.executable, "-m", "drillrunner", "drills"],
        cwd=tmp_path,
        env={**env, "PYTHONPATH": str(HOME)},
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (0, "")
