"""The benchmarks are programs: each one that is found can be run, and an unknown one is refused."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from tests.benchmarks.__main__ import PROGRAMS, main


def test_every_program_has_ratios() -> None:
    records = ["looking_back", "many", "memory"]
    assert ["fair", "first_paint", "keypress", *records, "odds", "phones", "plan"] == PROGRAMS
    for name in PROGRAMS:
        assert callable(import_module(f"tests.benchmarks.{name}").ratios)


def test_an_unknown_program_is_refused_in_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nope"]) == 2
    assert capsys.readouterr().out.startswith("no program nope: expected fair, ")


def test_the_command_starts() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks", "nope"],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (2, "")
