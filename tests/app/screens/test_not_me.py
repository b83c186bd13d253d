"""Not me: what was typed goes to whose it was, and a start without a name is the owner's."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.run import RunScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.matches.standings import standings
from drillrunner.practice.sessions.keeper import WatchReading
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.ledger import Ledger
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.services.standings import decided
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.practice.worlds import block, plan


async def test_a_run_is_given_to_whose_it_was_and_home_stays_the_owners(
    ines: str, store: Store, make_app: Callable[..., DrillrunnerApp]
) -> None:
    tobi = store.add_player("Tobi")
    best = max(store.history(), key=lambda run: run.score or 0)
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.player is not None
        assert app.player.name == "Ines"
        app.push_screen(RunScreen(best))
        await pilot.pause()
        await pilot.press("y")
        assert isinstance(app.screen, Choice)
        await pilot.press("enter")
        await ready(pilot)
        assert isinstance(app.screen, RunScreen)
        assert app.screen.run_shown.player == "Tobi"
    assert [run.run for run in store.history() if run.player_id == tobi.id] == [best.run]
    mine, theirs = (store.best(whose, best.fingerprint) for whose in (ines, tobi.id))
    assert mine is not None
    assert theirs is not None
    assert (mine.score, theirs.score) == (2, best.score)
    later = make_app()
    async with later.run_test() as pilot:
        await ready(pilot)
        assert later.player is not None
        assert later.player.name == "Ines"


async def test_a_session_is_given_from_what_it_came_to(
    ines: str, store: Store, catalogue: Catalogue, make_app: Callable[..., DrillrunnerApp]
) -> None:
    at = WatchReading(datetime(2025, 5, 10, 17, 30, tzinfo=UTC), 0.0)
    ledger = Ledger.start(
        store, store.player_of(ines), plan(block("free", 5, 20)), Limits(5, 20), lambda: at
    )
    playing = ledger.begin(catalogue.drill("hold-the-corridor"))
    for text in ("5", "5", "5", "5", "4", "4", "4"):
        playing.append(read(text, playing.run.ask))
        ledger.entered(playing)
    ledger.stop()
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.open(doors.Summary(ledger.id))
        await ready(pilot)
        await pilot.press("y")
        await pilot.press("enter", *"Tobi", "enter")
        await ready(pilot)
        assert "Tobi" in shown(app)
    tobi = store.player("Tobi")
    assert tobi is not None
    assert store.session(ledger.id).player == "Tobi"
    assert [run.run for run in store.history(player_id=tobi.id)] == [playing.id]
    best = store.best(ines, playing.drill.fingerprint)
    assert best is not None
    assert best.score == 3
    assert len(store.recent_shots(tobi.id, "driver")) == 7


async def test_a_seat_is_given_from_the_result_of_its_match(
    ines: str, store: Store, catalogue: Catalogue, make_app: Callable[..., DrillrunnerApp]
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    tobi, mara = store.add_player("Tobi"), store.add_player("Mara")
    seats = [Seat(player, drill) for player in (store.player_of(ines), tobi)]
    desk = MatchDesk.start(store, catalogue.games, seats, Setup(()))
    for text in ("5", "4", "5", "4", "5", "4", "5", "4", "4", "4"):
        if desk.turn is not None:
            desk.keep(read(text, drill.game().ask))
    assert desk.turn is None
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        app.open(doors.MatchResult(desk))
        await ready(pilot)
        await pilot.press("y")
        await pilot.press("enter")
        assert isinstance(app.screen, Choice)
        # Who has a seat already is not offered another one.
        assert [name for _, name, _ in app.screen.choices] == ["Mara", "+ somebody new"]
        await pilot.press("enter")
        await ready(pilot)
    (match,) = store.matches()
    assert {seat.player for seat in match.players} == {"Mara", "Tobi"}
    assert len(store.history(player_id=mara.id)) == 1
    (row,) = [one for one in standings(decided(store)).rows if one.player == "Mara"]
    assert row.total.played == 1
    assert not [one for one in standings(decided(store)).rows if one.player == "Ines"]


async def test_guests_stand_below_on_home_and_enter_lets_one_play(
    ines: str, store: Store, make_app: Callable[..., DrillrunnerApp]
) -> None:
    tobi = store.add_player("Tobi")
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        rows = app.screen.query_one(BlockList)
        last = rows.options[-1]
        assert (last.prompt.left, last.prompt.right) == ("Tobi", "guest")  # type: ignore[union-attr]
        await pilot.press("end", "enter")
        await ready(pilot)
        assert app.player == tobi
        last = rows.options[-1]
        assert (last.prompt.left, last.prompt.right) == ("Ines", "opens first")  # type: ignore[union-attr]
        await pilot.press("end", "enter")
        await ready(pilot)
        assert app.player is not None
        assert app.player.id == ines
