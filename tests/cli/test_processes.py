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

PLAIN = (
    "--help",
    "drills",
    "drills --json",
    "score hold-the-corridor 5 4 -15",
    "score miss-total -15 --json --player Ana",
    "check games/hold-the-corridor.toml",
    "allow games/lives.py",
)
OF_RECORDS = ("score on-the-number 45 --save --player Ana", "best", "history --json", "export")
"""Commands that import none of the above, and those that import `RECORDS`; no exceptions, and it
should stay so."""


def python(code: str, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, cwd=HOME, check=False
    )


@pytest.mark.parametrize(
    ("commands", "forbidden"),
    [(PLAIN, SCREENS + RECORDS + NUMBERS), (OF_RECORDS, SCREENS + NUMBERS)],
)
def test_a_plain_command_imports_only_what_it_needs(
    commands: tuple[str, ...], forbidden: tuple[str, ...]
) -> None:
    """One after another in one process: what one of them imports stays, and is told of it."""
    code = (
        "import sys\n"
        "from drillrunner.cli.main import main\n"
        "for words in sys.argv[1:]:\n"
        "    code = main(words.split())\n"
        "    loaded = sorted({name.partition('.')[0] for name in sys.modules})\n"
        "    print('\\nloaded', code, *loaded)\n"
    )
    done = python(code, *commands)
    assert done.returncode == 0, done.stderr
    said = [line.split() for line in done.stdout.splitlines() if line.startswith("loaded ")]
    assert len(said) == len(commands)
    for words, (_, code, *loaded) in zip(commands, said, strict=True):
        assert code == "0", words
        assert "drillrunner" in loaded
        assert set(loaded).isdisjoint(forbidden), words


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
