"""A match in a real pseudo-terminal: typed, killed, gone on with from home, and decided."""

from __future__ import annotations

from pathlib import Path

from tests.app.terminal.test_play import Terminal
from tests.app.test_bytes import APPLICATION


def test_a_match_is_killed_and_goes_on(home: Path) -> None:
    db = ("--db", str(home / "bay.db"))
    players = ("--player", "Ines", "--player", "Tobi")
    terminal = Terminal("play", "hold-the-corridor", *players, *db)
    try:
        terminal.wait_for("Ines to play", "match of 2", "to win")
        terminal.type("5")
        terminal.wait_for("Tobi to play", "last: Ines: in")
        terminal.type(APPLICATION["4"])
        terminal.wait_for("Ines to play", "last: Tobi: left", "lives left ●●○")
    finally:
        terminal.kill()
    terminal = Terminal("--player", "Tobi", *db)
    try:
        terminal.wait_for("▶ Match: Hold the corridor", "Ines, Tobi")
        terminal.type("7\r")
        terminal.wait_for("Ines to play", "last: Tobi: left")
        terminal.click("4", "5", "6")
        terminal.wait_for("Tobi to play")
        terminal.type("444")
        terminal.wait_for("★ Ines wins")
        terminal.type("4")
        terminal.wait_for("Ines wins", "your first score", "out of lives")
    finally:
        terminal.kill()
