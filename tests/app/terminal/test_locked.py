"""The file is held by another program, moved or taken away while somebody types in a terminal."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from drillrunner.store.store import Store
from tests.app.terminal.test_play import Terminal
from tests.app.terminal.test_session import PLAN


@contextmanager
def held(database: str) -> Iterator[None]:
    """Another program writes to the file, and takes its time."""
    with closing(sqlite3.connect(database, timeout=30, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


def typed(database: str) -> str:
    """What is on disk of one run."""
    with Store.open(database) as store:
        return "".join(one.text for run in store.history() for one in store.entries(run.run))


def acts(database: str) -> list[str]:
    """What is on disk of one session, but for the time."""
    with Store.open(database) as store:
        return [event.kind for event in store.sessions()[0].events if event.kind != "seen"]


def test_balls_wait_for_the_disk_and_no_digit_answers_what_is_asked_meanwhile(home: Path) -> None:
    database = str(home / "bay.db")
    terminal = Terminal("play", "hold-the-corridor", "--player", "Ada", "--db", database)
    try:
        terminal.type("5")
        terminal.wait_for("held 1")
        with held(database):
            terminal.type("546")
            terminal.wait_for("waiting for the disk: 3 to write", "held 1", "balls 1")
            terminal.type("\x1b")
            terminal.wait_for("Not on disk yet", "leave it behind")
            terminal.type("8273915")
            terminal.type("\r")
            terminal.wait_until_gone("Not on disk yet")
            terminal.wait_for("waiting for the disk: 3 to write", "held 1")
            assert typed(database) == "5"
        terminal.wait_for("held 2", "balls 4", "lives left 1")
        terminal.wait_until_gone("waiting for the disk")
    finally:
        terminal.kill()
    assert typed(database) == "5546"


def test_a_session_waits_too_and_what_a_killed_one_had_on_disk_is_its_beginning(home: Path) -> None:
    (home / "games" / "plans").mkdir(parents=True)
    (home / "games" / "plans" / "tiny.toml").write_text(PLAN)
    database = str(home / "bay.db")
    asked = ("session", "--plan", "tiny", "--minutes", "6", "--balls", "20", "--player", "Ada")
    terminal = Terminal(*asked, "--db", database, "--games", str(home / "games"))
    try:
        terminal.wait_for("Start the clock")
        terminal.type("\r")
        terminal.wait_for("balls 0 of 2")
        with held(database):
            terminal.type("557")
            terminal.wait_for("waiting for the disk: 3 to write", "balls 0 of 2")
            assert acts(database) == ["started"]
        terminal.wait_for("balls 2 of 2", "paused")
        assert acts(database) == ["started", "ball", "ball", "pause"]
        with held(database):
            terminal.type("50")
            terminal.wait_for("waiting for the disk: 3 to write", "balls 2 of 2")
            terminal.kill()
    finally:
        terminal.kill()
    assert acts(database) == ["started", "ball", "ball", "pause"]


def moved_away(database: Path) -> None:
    database.rename(database.with_name("elsewhere.db"))


def without_its_log(database: Path) -> None:
    Path(f"{database}-wal").unlink()


@pytest.mark.parametrize("happens", [moved_away, without_its_log])
def test_a_file_that_is_another_one_is_noticed_and_what_is_known_is_offered_to_it(
    home: Path, happens: object
) -> None:
    database = home / "bay.db"
    terminal = Terminal("play", "hold-the-corridor", "--player", "Ada", "--db", str(database))
    try:
        terminal.type("554")
        terminal.wait_for("held 2", "lives left 2")
        happens(database)  # type: ignore[operator]
        terminal.type("5")
        terminal.wait_for("The database is another one", "this run, 4 entries", "try again")
        # No digit answers; down and Enter do.
        terminal.type("2825")
        terminal.wait_for("The database is another one")
        terminal.type("\x1b[B\r")
        terminal.wait_for("held 3", "written to the file that is there now")
        terminal.type("6")
        terminal.wait_for("lives left 1")
    finally:
        terminal.kill()
    assert typed(str(database)) == "55456"
