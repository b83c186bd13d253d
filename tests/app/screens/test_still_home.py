"""What home learns late moves nothing: not the row under the cursor, nor one under a finger."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date
from decimal import Decimal

import pytest
from textual.pilot import Pilot

from drillrunner.app import facts
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.records import Records
from drillrunner.app.screens.notices import NoticesScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.courses import load_courses
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.session import Limits
from drillrunner.services.ledger import Ledger
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.round_book import NewRound
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown, stand_on
from tests.practice.worlds import Clock as Watch
from tests.practice.worlds import block, plan

MakeApp = Callable[..., DrillrunnerApp]
SIZES = [(80, 24), (40, 24), (41, 24)]


@pytest.fixture
def left(ines: str, store: Store, catalogue: Catalogue) -> str:
    """A run, a match, a session and a round left open, a goal and a retired club."""
    player, drill = store.player_of(ines), catalogue.drill("hold-the-narrow-corridor")
    played(store, ines, catalogue.drill("hold-the-corridor"), "5")
    seats = [Seat(one, drill) for one in (player, store.add_player("Bo"))]
    MatchDesk.start(store, catalogue.games, seats, Setup(("Ines", "Bo")))
    of = plan(block("warm-up", 2, 4, title="Warm-up"))
    Ledger.start(store, player, of, Limits(10, 20), Watch()).ball(2)
    course = load_courses().courses[0]
    begun = NewRound(date(2025, 5, 9), "score", course.id, course.as_kept, course.tees[0].name)
    (one,) = store.rounds.add(ines, begun)
    store.rounds.tell(one.id, 1, "hole", {"hole": 1, "score": 5})
    store.rounds.tell(one.id, 2, "hole", {"hole": 2, "score": 4})
    store.intents.set_goal(ines, Decimal(12), None, None)
    store.change_club(ines, "lob-wedge", retired=True)
    return ines


def under_a_finger(app: DrillrunnerApp) -> dict[int, str | None]:
    """The row of the list that each line of the screen belongs to."""
    rows = app.screen.query_one(BlockList)
    marks = {y: app.screen.get_style_at(3, y).meta.get("option") for y in range(app.size.height)}
    return {y: rows.options[at].id for y, at in marks.items() if at is not None}


class Late:
    """An app whose records are opened when the test says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, asked: bool = True) -> None:
        self._open = Records.open
        monkeypatch.setattr(Records, "open", lambda _: None)
        # A server can't be asked before the first paint.
        monkeypatch.setattr(facts, "is_url", lambda _: not asked)

    async def opens(self, app: DrillrunnerApp, pilot: Pilot[None]) -> None:
        """Now; what they tell has come when this returns."""
        self._open(app.records)
        await ready(pilot)
        assert app.records.store is not None


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("asked", [True, False], ids=["file", "server"])
async def test_what_was_left_open_moves_no_row(
    size: tuple[int, int],
    asked: bool,
    left: str,
    make_app: MakeApp,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    late = Late(monkeypatch, asked)
    app = make_app(player=None if asked else "Ines")
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        assert ("GO ON" in shown(app)) is asked
        # In the middle of the screen, come to from below.
        stand_on(app, "on-the-number")
        await pilot.press("8", "8")
        await pilot.pause()
        before, rows = under_a_finger(app), app.screen.query_one(BlockList)
        assert len(before) > 5
        await late.opens(app, pilot)
        assert under_a_finger(app) == before
        kinds = [(row.id or "").partition(":")[0] for row in rows.options[:5]]
        assert kinds == ["", "session", "open", "match", "round"]
        assert ("left open: 7 goes there" in shown(app)) is not asked
        await pilot.press("enter")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.drill.id == "number-between-drives"


@pytest.mark.parametrize("size", SIZES)
async def test_what_is_damaged_moves_no_row(
    size: tuple[int, int],
    left: str,
    database: str,
    make_app: MakeApp,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with closing(sqlite3.connect(database)) as connection, connection:
        connection.execute("UPDATE match SET data = '{'")
    late = Late(monkeypatch)
    app = make_app()
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        before = under_a_finger(app)
        await late.opens(app, pilot)
        assert shown(app).startswith("▲ 1 fault: z shows")
        now = under_a_finger(app)
        # What there is to say takes more than a line on a phone, below the rows.
        assert now == {y: row for y, row in before.items() if y in now}
        assert len(now) >= len(before) - 2
        await pilot.click("TopBar", offset=(3, 0))
        await pilot.pause()
        assert isinstance(app.screen, NoticesScreen)


async def test_what_is_come_back_to_begins_at_the_top(ines: str, make_app: MakeApp) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press("2", "enter")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        await pilot.press("5", "escape")
        await ready(pilot)
        assert "GO ON" in shown(app)
