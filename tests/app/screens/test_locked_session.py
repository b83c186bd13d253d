"""What is done in a session while another program holds the file: it waits in its order.

However the lock opens: what is on disk is the beginning of what was done, and the screen shows that
and no more.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Unwritten
from drillrunner.app.records import Another
from drillrunner.app.screens.cautions import CautionsScreen
from drillrunner.app.screens.find import FindScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.session_block import SessionScreen
from drillrunner.app.screens.session_play import SessionPlayScreen
from drillrunner.app.screens.session_summary import SummaryScreen
from drillrunner.app.widgets.readout import LargeDigits
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.session import Session, fold
from drillrunner.services.ledger import events_of
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.app.screens.test_locked import another, says, until
from tests.app.session_world import FINDING, SHORT, begun, desk, settled
from tests.practice.worlds import Clock, block, plan

Make = Callable[..., DrillrunnerApp]


def on_disk(database: str) -> Session:
    """The session as another program reads it."""
    with Store.open(database) as store:
        (info,) = store.sessions()
        return fold(events_of(info))


def impatient(app: DrillrunnerApp) -> None:
    """Let a try at a held file be told of soon: it is tried again and again all the same."""
    assert app.records.store is not None
    app.records.store.database.wait = 0.02


def told(session: Session) -> object:
    """What a session came to, but for the time, which runs on between two events."""
    blocks = [replace(state, spent=0) for state in session.blocks]
    return blocks, session.order, session.current, session.paused, session.stopped, session.run


async def typed(pilot: Pilot[None], *keys: str) -> None:
    """Type keys, as far as the disk lets them be answered."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    for key in keys:
        await pilot.press(key)
        while app.gate.busy:
            await pilot.pause(0.01)


async def written(pilot: Pilot[None]) -> None:
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    while not app.records.unwritten.kept or app.records.writing:
        await pilot.pause(0.01)
    await settled(pilot)


@pytest.mark.parametrize("seed", range(2))
async def test_the_session_shown_is_the_one_on_disk_and_it_is_a_beginning_of_what_was_done(
    ines: str, make: Make, watch: Clock, database: str, seed: int
) -> None:
    chance = random.Random(seed)
    keys = chance.choices(["5", "5", "enter", "asterisk", "7", "plus"], k=9)
    at, until = sorted(chance.sample(range(1, 9), 2))
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        impatient(app)
        with closing(another(database)) as other:
            before = on_disk(database)
            for number, key in enumerate(keys):
                if number == at:
                    await written(pilot)
                    before = on_disk(database)
                    other.execute("BEGIN IMMEDIATE")
                if number == until:
                    assert told(on_disk(database)) == told(desk(app).session) == told(before)
                    assert app.screen.query_one(LargeDigits).value == str(before.block_balls)
                    await says(pilot, "waiting for the disk:")
                    other.execute("ROLLBACK")
                watch.run(2)
                await typed(pilot, key)
        await written(pilot)
        assert "to write" not in shown(app)
        assert told(on_disk(database)) == told(desk(app).session) == told(desk(app).ahead)
        assert app.screen.query_one(LargeDigits).value == str(desk(app).session.block_balls)


async def test_the_next_block_comes_once_the_disk_has_it_and_nothing_is_taken_for_it_before(
    ines: str, make: Make, watch: Clock, database: str
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        impatient(app)
        with closing(another(database)) as other:
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, "5", "5", "0")
            watch.run(60)
            desk(app).tick()
            # The clock runs on, and writes nothing of its own while there is something waiting.
            await says(pilot, "waiting for the disk: 3 to write")
            await typed(pilot, "5", "7", "0", "enter")
            await says(pilot, "waiting for the disk: 3 to write")
            assert desk(app).session.current == 0
            await typed(pilot, "escape")
            assert isinstance(app.screen, Unwritten)
            await typed(pilot, *"82739150")
            assert isinstance(app.screen, Unwritten)
            await typed(pilot, "enter")
            other.execute("ROLLBACK")
        await written(pilot)
        assert isinstance(app.screen, SessionScreen)
        session = on_disk(database)
        assert (session.current, session.blocks[0].used) == (1, 2)
        assert told(session) == told(desk(app).session)
        # Both were typed in the first minute, and so was the move.
        assert session.blocks[0].spent < 60
        assert "Technique" in shown(app)


async def test_what_is_left_behind_in_a_session_is_not_counted(
    ines: str, make: Make, database: str
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, SHORT)
        impatient(app)
        await typed(pilot, "5")
        with closing(another(database)) as other:
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, "5", "5", "7", "escape", "down", "enter")
            assert isinstance(app.screen, HomeScreen)
            other.execute("ROLLBACK")
        await written(pilot)
        # What was being tried just then may have got through; nothing behind it did.
        assert on_disk(database).block_balls in (1, 2)
        assert told(on_disk(database)) == told(desk(app).session) == told(desk(app).ahead)
        assert not desk(app).session.paused


async def test_a_game_a_search_and_the_end_of_a_session_wait_too(
    ines: str, make: Make, watch: Clock, database: str, store: Store
) -> None:
    corridor = block("drill", 4, 10, title="Corridor", drill="hold-the-corridor")
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, plan(corridor, *FINDING.blocks))
        impatient(app)
        with closing(another(database)) as other:
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, "enter")
            assert isinstance(app.screen, SessionPlayScreen)
            await typed(pilot, "5", "4")
            await says(pilot, "waiting for the disk: 2 to write")
            # A block that is ended would leave the game behind: that is asked.
            await typed(pilot, "escape")
            assert isinstance(app.screen, Unwritten)
            await typed(pilot, "escape")
            other.execute("ROLLBACK")
            await written(pilot)
            assert on_disk(database).run is not None
            assert desk(app).session.balls_used == 2
            await typed(pilot, "escape", "0", "enter", "enter")
            assert isinstance(app.screen, FindScreen)
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, *"50", "enter", *"52", "enter", *"51", "enter")
            await says(pilot, "waiting for the disk: 3 to write")
            assert "0 of 6 typed" in shown(app)
            await typed(pilot, "asterisk", *"53", "enter", *"49", "enter", *"50", "enter")
            await typed(pilot, "plus", *"60", "enter")
            assert "0 of 6 typed" in shown(app)
            other.execute("ROLLBACK")
            await written(pilot)
            assert "stock carry 51 yd" in shown(app)
            await typed(pilot, "escape")
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, "3")
            assert isinstance(app.screen, SessionScreen)
            other.execute("ROLLBACK")
        await written(pilot)
        assert isinstance(app.screen, SummaryScreen)
    assert on_disk(database).stopped == "stopped"
    (kept,) = store.stock_carries(ines)
    assert kept.carry == Decimal(51)
    (run,) = store.history(limit=1)
    assert [entry.text for entry in store.entries(run.run)] == ["5", "4"]


async def test_a_session_begins_once_the_disk_takes_it_and_what_was_typed_waits_for_it(
    ines: str, make: Make, database: str
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await ready(pilot)
        await typed(pilot, "s")
        await settled(pilot)
        await typed(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, CautionsScreen)
        impatient(app)
        with closing(another(database)) as other:
            other.execute("BEGIN IMMEDIATE")
            await pilot.press("enter")
            await pilot.pause(0.05)
            assert isinstance(app.screen, CautionsScreen)
            app.post_message(_key("5"))
            app.post_message(_key("5"))
            await pilot.pause(0.05)
            other.execute("ROLLBACK")
        await written(pilot)
        while app.gate.busy:
            await pilot.pause(0.01)
        await written(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert on_disk(database).block_balls == 2


def _key(character: str) -> object:
    from textual import events

    return events.Key(character, character)


async def test_in_a_match_each_ball_is_for_who_will_be_to_play_and_waits(
    make_app: Make, database: str
) -> None:
    app = make_app(player="Ines", drill="hold-the-corridor", match=Setup(("Ines", "Tobi")))
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        impatient(app)
        with closing(another(database)) as other:
            await typed(pilot, "5")
            other.execute("BEGIN IMMEDIATE")
            await typed(pilot, *"4546")
            await says(pilot, "waiting for the disk: 4 to write")
            assert len(app.screen.desk.match.moves) == 1
            await typed(pilot, "escape")
            assert isinstance(app.screen, Unwritten)
            await typed(pilot, *"82", "escape")
            other.execute("ROLLBACK")
        await written(pilot)
        names = app.screen.desk.names
        moves = [(names[move.player], move.what.text) for move in app.screen.desk.match.moves]
    assert moves == list(zip(("Ines", "Tobi") * 3, "54546", strict=False))


@pytest.mark.parametrize("in_game", [False, True])
async def test_a_session_goes_on_in_the_file_that_came_in_the_place_of_its_own(
    ines: str, make: Make, database: str, in_game: bool
) -> None:
    corridor = block("drill", 4, 10, title="Corridor", drill="hold-the-corridor")
    app = make()
    async with app.run_test() as pilot:
        await begun(make, pilot, plan(*SHORT.blocks[:1], corridor))
        await typed(pilot, "5", "5")
        if in_game:
            await typed(pilot, "0", "enter", "5", "4")
        await written(pilot)
        await ready(pilot)
        Path(database).rename(f"{database}-elsewhere")
        await typed(pilot, "5")
        await until(pilot, lambda: isinstance(app.screen, Another))
        assert ("this run, 3 entries" if in_game else "this session, 4 entries") in shown(app)
        await typed(pilot, *"8250", "down", "enter")
        await written(pilot)
        await says(pilot, "written to the file that is there now")
        if not in_game:
            await typed(pilot, "5")
            await written(pilot)
            assert told(on_disk(database)) == told(desk(app).session)
        assert told(desk(app).session) == told(desk(app).ahead)
    assert on_disk(database).blocks[0].used == (2 if in_game else 4)
    if in_game:
        with Store.open(database) as store:
            (run,) = store.history()
            assert [entry.text for entry in store.entries(run.run)] == ["5", "4", "5"]
            assert run.session_id == store.sessions()[0].id
            assert run.player == "Ines"
