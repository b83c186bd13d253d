"""A session in a real pseudo-terminal, from the command to the summary, driven by keys alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drillrunner.cli.main import main
from tests.app.terminal.test_play import Terminal

PLAN = """
id = "tiny"
title = "A tiny plan"

[[blocks]]
kind = "warm-up"
minutes = 2
balls = 2
note = "Half swings."

[[blocks]]
kind = "find"
club = "sand-wedge"
swing = "half"
minutes = 2
balls = 5

[[blocks]]
kind = "drill"
drill = "hold-the-corridor"
set = ["lives=1"]
minutes = 2
balls = 5
"""


def test_from_the_command_to_the_summary_killed_on_the_way(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    games = home / "own"
    (games / "plans").mkdir(parents=True)
    (games / "plans" / "tiny.toml").write_text(PLAN)
    database = str(home / "bay.db")
    common = ("--db", database, "--games", str(games))
    asked = ("session", "--plan", "tiny", "--minutes", "6", "--balls", "20", "--player", "Ada")

    terminal = Terminal(*asked, *common)
    try:
        terminal.wait_for("Look before you swing", "no medical advice", "Start the clock")
        terminal.type("/")
        terminal.wait_for("6 minutes, 20 balls", "A tiny plan", "02:00 Warm-up", "Half swings.")
        terminal.wait_until_gone("Look before you swing", "Start the clock")
        terminal.type("\r")
        terminal.wait_for("Look before you swing", "no medical advice", "Start the clock")
        terminal.type("\r")
        terminal.wait_for("1 of 3", "balls 0 of 2", "Warm-up")
        terminal.type("5")
        terminal.wait_for("balls 1 of 2")
        terminal.type("\r")
        terminal.wait_for("balls 2 of 2", "▲ the block's balls are hit")
        terminal.type("0")
        terminal.wait_for("2 of 3", "Sand wedge, half swing")
        terminal.type("\r")
        terminal.wait_for("Are you warm?", "the search begins")
        terminal.type("\r")
        terminal.wait_for("0 of 5 typed, and hidden")
        for count, carry in enumerate(("45", "46", "44", "45"), 1):
            terminal.type(f"{carry}\r")
            terminal.wait_for(f"{count} of 5 typed")
    finally:
        terminal.kill()

    terminal = Terminal("--player", "Ada", *common)
    try:
        terminal.wait_for("▶ A tiny plan", "go on")
        terminal.type("\r")
        terminal.wait_for("2 of 3", "balls 4 of 5")
        terminal.type("\r")
        terminal.wait_for("4 of 5 typed")
        terminal.type("46\r")
        terminal.wait_for("All are in")
        terminal.type("+")
        terminal.wait_for("stock carry 45 yd", "saved")
        terminal.type("\r")
        terminal.wait_for("3 of 3", "1 life")
        terminal.type("\r")
        terminal.wait_for("in or out?", "Hold the corridor")
        terminal.type("5")
        terminal.wait_for("held 1")
        terminal.type("6")
        terminal.wait_for("score 1", "out of lives", "go on")
        terminal.type("\r")
        terminal.wait_for("today 1", "next")
        terminal.type("\r")
        terminal.wait_for("What the session came to", "all done", "9 of 20 balls", "NEXT TIME")
        terminal.type("\r")
        terminal.wait_for("Drills", "Ada")
    finally:
        terminal.kill()

    assert main(["session", "--show", "last", "--json", *common]) == 0
    summary = json.loads(capsys.readouterr().out)
    assert [block["balls"] for block in summary["blocks"]] == [2, 5, 2]
    assert summary["ended_at"] is not None
