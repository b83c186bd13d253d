"""A round in a real pseudo-terminal: typed, killed in the middle of a hole, gone on with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drillrunner.cli.main import main
from tests.app.terminal.test_play import Terminal

WORDS = ("round", "larch-bottom", "--date", "2026-05-01", "--player", "Ada")


def test_a_round_is_killed_in_a_hole_and_goes_on_with_the_same_hole(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    database = str(home / "rounds.db")
    terminal = Terminal(*WORDS, "--db", database)
    try:
        terminal.wait_for("New round", "▶ Begin", "2026-05-01")
        # The first nine.
        terminal.type("18")
        terminal.type("6")
        terminal.wait_for("the first nine")
        terminal.type("7\r")
        terminal.wait_for("hole 1", "tee shot")
        terminal.type("5150\r520\r2\r")
        terminal.wait_for("hole 2", "4 after 1 hole, level par")
        terminal.type("6200\r8/12\r9\r2")
        terminal.wait_for("hole 2", "score: 6?")
    finally:
        terminal.kill()
    terminal = Terminal("--player", "Ada", "--db", database)
    try:
        terminal.wait_for("Round of 2026-05-01", "Larch Bottom, white: 1 of 9 holes")
        terminal.type("7\r")
        # What was told of the first is there, and the second is asked from its first question.
        terminal.wait_for("hole 2", "4 after 1 hole", "tee shot")
    finally:
        terminal.kill()
    assert main(["rounds", "--json", "--player", "Ada", "--db", database]) == 0
    kept = json.loads(capsys.readouterr().out)
    assert [[one[k] for k in ("course", "tee", "date", "holes", "score")] for one in kept] == [
        ["larch-bottom", "white", "2026-05-01", 9, None]
    ]
