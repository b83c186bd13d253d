"""Goals by the number block: an index, a score on a drill, a day, and the one thing worked on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

from textual.pilot import Pilot
from textual.widgets import Input, Static

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Question
from drillrunner.app.fields import bad_day, day_typed
from drillrunner.app.screens.goals import GoalsScreen
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.widgets.charts import ScoreChart
from drillrunner.app.widgets.lists import BlockList
from drillrunner.app.widgets.plot import LINE
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown, stand_on, worked_out

MakeApp = Callable[..., DrillrunnerApp]
TODAY = date(2025, 5, 10)


async def type_in(pilot: Pilot[None], row: str, typed: str) -> None:
    """Open a row by its id, and answer its question."""
    rows = pilot.app.screen.query_one(BlockList)
    rows.highlighted = rows.get_option_index(row)
    await pilot.press("enter")
    await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, Question)
    screen.query_one(Input).value = typed
    await pilot.press("enter")
    await pilot.pause()


async def test_goals_and_a_thought_are_set_where_they_are_seen(
    ines: str, store: Store, make_app: MakeApp
) -> None:
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.press("exclamation_mark")
        await pilot.pause()
        assert isinstance(app.screen, GoalsScreen)
        await type_in(pilot, "index", "12.5")
        await type_in(pilot, "index:by", "1.9.")
        await type_in(pilot, "drill:hold-the-corridor", "5")
        await type_in(pilot, "thought", "Turn, do not slide")
        assert [(one.drill, one.value, one.by) for one in store.intents.goals(ines)] == [
            (None, Decimal("12.5"), date(2025, 9, 1)),
            ("hold-the-corridor", Decimal(5), None),
        ]
        seen = shown(app)
        assert "5.9 to go from 18.4" in seen
        assert "1 September, 114 days left" in seen
        assert "2 to go from 3" in seen
        assert "since 2025-05-10" in seen
        # A day that is past is refused where it is typed, and nothing changes.
        await type_in(pilot, "index:by", "2025-01-01")
        assert isinstance(app.screen, Question)
        assert "the day is past" in shown(app)
        await pilot.press("escape")
        await type_in(pilot, "index", "")
        assert [one.drill for one in store.intents.goals(ines)] == ["hold-the-corridor"]
        thought = store.intents.thought(ines)
        assert thought is not None
        assert thought.words == "Turn, do not slide"


async def test_the_history_of_a_drill_draws_its_goal(
    ines: str, store: Store, make_app: MakeApp
) -> None:
    store.intents.set_goal(ines, Decimal(9), date(2025, 6, 1), "hold-the-corridor")
    app = make_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.press("0")
        await worked_out(pilot)
        assert isinstance(app.screen, HistoryScreen)
        said = str(app.screen.query_one("#progress", Static).content)
        assert "goal: 9; 6 to go from 3; by 1 June, 22 days left" in said
        assert "this year 2 in 3 runs" in said
        assert "─  ─ goal" in shown(app)
        drawn = [str(line) for line in app.screen.query_one(ScoreChart).drawn(40, 8)]
        at = [row for row, line in enumerate(drawn) if any(f"{x}  {x}  {x}" in line for x in LINE)]
        assert at, "the goal lies above every run, and the axis reaches it"
        assert all("▲" not in line for line in drawn[: at[0] + 1])
        await pilot.press("exclamation_mark")
        await pilot.pause()
        assert isinstance(app.screen, GoalsScreen)


def test_a_day_is_typed_short_or_in_full() -> None:
    assert day_typed("1.9.", TODAY) == date(2025, 9, 1)
    assert day_typed("01.02", TODAY) == date(2026, 2, 1)
    assert day_typed("10.5", TODAY) == TODAY
    assert day_typed("2026-01-31", TODAY) == date(2026, 1, 31)
    for wrong in ("31.2.", "soon", "1.13.", "2026-1"):
        assert bad_day(wrong, TODAY)
    assert bad_day(" ", TODAY) is None
