"""A file that is taken away or replaced during a match: it goes on in the file that came."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.records import Another
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.match_result import MatchResultScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.matches.record import Setup
from drillrunner.services.match_desk import MatchDesk
from drillrunner.store.store import Store
from tests.app.conftest import ready
from tests.app.screens.test_locked import says, until

DRILL = "hold-the-corridor"


def nothing(_: Path) -> None:
    """No file lies there."""


def people_of_the_same_names(path: Path) -> None:
    """Another file lies there, with one of the players, known there by another id."""
    with Store.open(path) as other:
        other.add_player("Lena")
        other.add_player("Tobi")


def as_it_was(path: Path) -> None:
    """A copy lies there that was made in the middle of the match."""
    path.with_name("early.db").rename(path)


@pytest.mark.parametrize("lies_there", [nothing, people_of_the_same_names, as_it_was])
async def test_it_goes_on_in_the_file_that_is_there_now(
    ines: str,
    make_app: Callable[..., DrillrunnerApp],
    database: str,
    catalogue: Catalogue,
    lies_there: Callable[[Path], None],
) -> None:
    path = Path(database)
    app = make_app(player="Ines", drill=DRILL, match=Setup(("Ines", "Tobi")))
    async with app.run_test(size=(100, 40)) as pilot:
        await ready(pilot)
        await pilot.press(*"545")
        await ready(pilot)
        early = path.with_name("early.db")
        with closing(sqlite3.connect(path)) as one, closing(sqlite3.connect(early)) as other:
            one.backup(other)
        await pilot.press("5")
        await ready(pilot)
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).rename(path.with_name(f"elsewhere.db{end}"))
        lies_there(path)
        await pilot.press("4")
        await until(pilot, lambda: isinstance(app.screen, Another))
        assert app.screen.choices[1][2] == "this match, 5 entries"
        await pilot.press("down", "enter")
        await says(pilot, "written to the file that is there now")
        await ready(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        await pilot.press(*"4444")
        await ready(pilot)
        assert isinstance(app.screen, MatchResultScreen)
        decision = app.screen.desk.match.decision
        moves = [move.what for move in app.screen.desk.match.moves]
    with Store.open(database) as store:
        (found,) = store.matches()
        assert [one.player for one in found.players] == ["Ines", "Tobi"]
        assert found.ended_at is not None
        again = MatchDesk.resume(store, catalogue.games, found.id)
        assert [move.what for move in again.match.moves] == moves
        assert [move.what.text for move in again.match.moves] == [*"545544444"]
        names = {one.id: one.name for one in store.players()}
        assert len(set(names.values())) == len(names)
        assert decision is not None
        assert again.match.decision is not None
        assert [names[one] for one in again.match.decision.winners] == ["Ines"]
