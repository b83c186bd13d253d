"""A whole half hour in simulated time, from the cautions to the summary, and what it kept."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from textual.widgets import Static

from drillrunner.app.screens.cautions import CautionsScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.result import ResultScreen
from drillrunner.app.screens.session_block import SessionScreen
from drillrunner.app.screens.session_setup import AS_WRITTEN, WEIGHING, SessionSetupScreen
from drillrunner.app.screens.session_summary import SummaryScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.practice.sessions.fitting import Odds
from drillrunner.practice.sessions.plan import Wanted
from drillrunner.practice.sessions.session import Limits
from drillrunner.services import planning
from drillrunner.services.ledger import look_back
from drillrunner.store.store import Store
from tests.app.conftest import at_each, ready, shown
from tests.app.session_world import MakeApp, desk, pass_time, press, settled
from tests.app.test_odds_worker import until
from tests.practice.worlds import Clock as Watch


@pytest.mark.usefixtures("counted")
async def test_a_whole_half_hour_from_the_cautions_to_the_summary(
    ines: str, store: Store, make: MakeApp, watch: Watch
) -> None:
    app = make(session=Wanted(Limits(30, 50), "half-an-hour"))
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, CautionsScreen)
        await press(pilot, "slash")
        assert isinstance(app.screen, SessionSetupScreen)
        said = shown(app)
        assert "30 minutes, 50 balls" in said
        assert "04:00 Warm-up" in said
        await press(pilot, "enter")
        assert isinstance(app.screen, CautionsScreen)
        said = shown(app)
        assert "Stay in your bay" in said
        assert said.count("no medical advice") == 1
        assert app.sessions.desk is None
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert "session 30:00 · Warm-up 04:00" in shown(app)

        for _ in range(6):
            await pass_time(pilot, watch, 30)
            await press(pilot, "5")
        assert "balls 6 of 6" in shown(app)
        assert "▲ the block's balls are hit" in shown(app)
        await press(pilot, "0")
        assert "session 27:00 · Technique 07:00" in shown(app)
        assert "One thing only" in shown(app)
        for _ in range(14):
            await pass_time(pilot, watch, 30)
            await press(pilot, "enter")
        await press(pilot, "0")
        assert "session 20:00 · On the number 07:00" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        for carry in ("44", "46", "45"):
            await pass_time(pilot, watch, 25)
            await press(pilot, *carry, "enter")
            assert re.search(r"session 1\d:\d\d · On the number 0\d:\d\d", shown(app))
        assert isinstance(app.screen, ResultScreen)
        assert "session 18:45 · On the number 05:45" in shown(app)
        await press(pilot, "f1")
        assert "session 18:45 · On the number" in shown(app)
        await press(pilot, "escape", "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert "today 3: " in shown(app)
        await press(pilot, "enter", "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        for key in ("5", "5", "4", "5", "6", "5"):
            await pass_time(pilot, watch, 60)
            await press(pilot, key)
        await pass_time(pilot, watch, 390)
        assert "▲" in shown(app)
        await pass_time(pilot, watch, 600)
        assert app.sessions.desk is not None, "the game in play may be finished"
        assert "session +" in shown(app)
        await press(pilot, "4")
        assert isinstance(app.screen, ResultScreen)
        await pass_time(pilot, watch, 5)
        assert isinstance(app.screen, ResultScreen), "the result is not taken away"
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        said = shown(app)
        assert "of 30 min" in said
        assert "30 of 50 balls" in said
        assert "Hold the corridor, begun" in said
        assert "NEXT TIME" in said
        assert "Driver, left and right" in said
        await press(pilot, "enter")
        assert isinstance(app.screen, HomeScreen)
        assert app.session_face is None
    info = store.sessions(ines)[0]
    assert info.ended_at is not None
    summary = look_back(store, info, changes=False)
    assert [block.balls for block in summary.blocks] == [6, 14, 3, 7]
    assert summary.balls == 30
    runs = [run for run in store.history(player_id=ines) if run.session_id == info.id]
    assert sorted((run.drill, run.block) for run in runs) == [
        ("hold-the-corridor", "3"),
        ("on-the-number", "2"),
    ]
    assert all(run.finished for run in runs)


@pytest.mark.usefixtures("counted")
async def test_a_plan_put_together_says_why_each_block_is_there(
    ines: str, make: MakeApp, watch: Watch
) -> None:
    app = make()
    async with app.run_test(size=(100, 40)) as pilot:
        await ready(pilot)
        await press(pilot, "plus")
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, SessionSetupScreen)
        plan = screen.plan
        assert plan is not None, "a plan stands at once, weighed or not"
        await until(pilot, lambda: screen.plan is not None and screen.weighed)
        assert "30 minutes, 50 balls" in shown(app)
        said = str(screen.query_one("#plan-text", Static).content)
        assert "to measure: " in said
        assert "the first three days measure" in said
        plan = screen.plan
        assert plan is not None
        assert any(block.chance is not None for block in plan.blocks)
        assert all(block.why in said for block in plan.blocks)
        await press(pilot, "6", "6", "6", "7", "2", "4", "2")
        assert "45 minutes, 45 balls" in shown(app)
        assert "10:00 Warm-up" in shown(app)
        await press(pilot, "enter", "enter")
        await settled(pilot)
        assert desk(app).session.limits == Limits(45, 45)


class TooHard:
    """Every drill is out of reach as written, and fits wherever its dial is turned to."""

    def __init__(self, *_: object) -> None:
        pass

    def __call__(self, id: str, set: tuple[str, ...]) -> Odds:
        return Odds(1.0, 0.5 if set else 0.01, Decimal(9), True)


@pytest.mark.usefixtures("counted")
async def test_enter_puts_a_drill_back_as_written(
    ines: str, make: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(planning, "Weighed", TooHard)
    app = make()
    async with app.run_test(size=(100, 40)) as pilot:
        await ready(pilot)
        await press(pilot, "plus")
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, SessionSetupScreen)
        await until(pilot, lambda: screen.plan is not None and screen.weighed)
        assert WEIGHING not in shown(app)

        def set_of(id: str) -> tuple[str, ...]:
            assert screen.plan is not None
            return next(block.set for block in screen.plan.blocks if block.drill == id)

        rows = screen.query_one(BlockList)
        row = next(o.id for o in rows.options if o.id and o.id.startswith(AS_WRITTEN))
        id = row.removeprefix(AS_WRITTEN)
        assert set_of(id)
        assert "as it fits" in shown(app)
        for written in (True, False):
            rows.highlighted = rows.get_option_index(row)
            await press(pilot, "enter")
            await until(pilot, lambda: screen.weighed)
            assert (set_of(id) == ()) == written
            assert ("as written" in shown(app)) == written


async def test_what_does_not_fit_is_said_before_it_starts(
    ines: str, make: MakeApp, watch: Watch
) -> None:
    app = make(session=Wanted(Limits(12, 20), "half-an-hour"))
    async with app.run_test(size=(100, 40)) as pilot:
        await ready(pilot)
        said = shown(app)
        assert "12 minutes, 20 balls" in said
        assert "no room" in said
        await press(pilot, "enter")
        await settled(pilot)
        session = desk(app).session
        assert sum(share.seconds for share in session.forecast.shares) <= 12 * 60


async def test_the_cautions_are_one_screen_at_every_size(ines: str, make: MakeApp) -> None:
    # The second to last is a phone held across.
    sizes = [(40, 24), (80, 24), (88, 19), (160, 50)]
    app = make(session=Wanted(Limits(30, 50), "half-an-hour"))
    async with app.run_test(size=sizes[0]) as pilot:
        await ready(pilot)
        async for size in at_each(pilot, sizes):
            assert app.screen.query_one("#cautions").max_scroll_y == 0, size
            assert ("Start the clock" in shown(app)) == (size != (40, 24)), size
            said = " ".join(shown(app).replace("│", " ").split())
            assert "Enter Start" in said, size
            for caution in ("before you swing", "forward of the line", "something hurts", "staff"):
                assert caution in said, (caution, size)
