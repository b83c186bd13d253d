"""Looking back on the screens: by the number block and by the mouse, at three sizes."""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, Static

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.screens.calendar import DAYS, CalendarScreen
from drillrunner.app.screens.compare import CompareScreen, best_of
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.pattern import PatternScreen
from drillrunner.app.screens.run import RunScreen
from drillrunner.app.screens.settings_beside import SettingsBesideScreen
from drillrunner.app.screens.then_and_now import ThenAndNowScreen
from drillrunner.catalogue.loader import Catalogue
from drillrunner.store.store import Store
from tests.app.conftest import Clock, at_each, played, ready, shown

MakeApp = Callable[..., DrillrunnerApp]
SIZES = [(40, 24), (80, 24), (160, 50)]


async def settled(pilot: Pilot[None]) -> None:
    """Let the screens draw and the odds be worked out."""
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
    await pilot.pause()


def said(app: DrillrunnerApp, id: str) -> str:
    return str(app.screen.query_one(f"#{id}", Static).content)


@pytest.fixture(scope="module")
def two_weeks(
    tmp_path_factory: pytest.TempPathFactory, catalogue: Catalogue
) -> tuple[Path, str, datetime]:
    """Ines gets better: 14 runs at 40 yards in two weeks; two at 32, and Tobi's one.

    The database, to be copied, her id, and when that was."""
    path, clock = tmp_path_factory.mktemp("rising") / "rising.db", Clock()
    with Store.open(str(path), clock) as store:
        ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
        drill = catalogue.drill("hold-the-corridor")
        rng = random.Random(2)
        for run in range(14):
            held = "5" * (run + rng.randrange(3))
            played(store, ines.id, drill, *f"{held}444")
            clock.pass_minutes(24 * 60)
        for texts in ("55444", "5444"):
            played(store, ines.id, drill.with_set(["aim.width=32"]), *texts)
        played(store, tobi.id, drill, *"5555446")
    return path, ines.id, clock.at


@pytest.fixture
def rising(two_weeks: tuple[Path, str, datetime], database: str, clock: Clock) -> str:
    """The two weeks as the records of the test. The id of Ines."""
    path, ines, clock.at = two_weeks
    Path(database).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(path, database)
    return ines


async def open_history(app: DrillrunnerApp, pilot: Pilot[None]) -> HistoryScreen:
    await ready(pilot)
    screen = HistoryScreen("hold-the-corridor", "Hold the corridor", None)
    app.push_screen(screen)
    await settled(pilot)
    return screen


@pytest.mark.usefixtures("counted")
async def test_it_says_at_once_whether_it_gets_better(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=SIZES[0]) as pilot:
        screen = await open_history(app, pilot)
        await pilot.press("6")
        await settled(pilot)
        assert said(app, "headline").startswith("▲ Getting better: luck alone does that")
        assert screen.points[-1].best == 15
        async for size in at_each(pilot, SIZES):
            text = shown(app)
            assert "▲ Getting better" in text, size
            assert "40 yd wide · 3 lives" in text, size
            assert "■ score" in text, size
            assert ("by luck alone" in said(app, "progress")) == (size[0] >= 80), size
            assert "─ ─ trend" in text, size
            assert app.screen.query_one("#scores").size.height >= 6, size
            assert app.screen.query_one(OptionList).size.height >= 3, size


@pytest.mark.usefixtures("counted")
async def test_the_verdict_is_of_one_player_and_one_setting(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(100, 40)) as pilot:
        screen = await open_history(app, pilot)
        assert said(app, "headline") == "● Too early to tell: 1 of the 10 days that it takes"
        assert "drill as set" not in said(app, "progress")
        assert "setting 1 of 2" in said(app, "progress")
        await pilot.press("e")
        await settled(pilot)
        assert not app.screen.query_one("#headline").display
        assert "2 runs by everyone" in said(app, "progress")
        await pilot.press("6")
        await settled(pilot)
        assert "15 runs by everyone" in said(app, "progress")
        await pilot.press("e")
        await settled(pilot)
        assert len(screen.runs) == 14


async def test_which_runs_by_the_block_alone(
    rising: str, make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    wedges = catalogue.drill("four-wedges-in-a-row")
    played(store, rising, wedges, *"5555")
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await open_history(app, pilot)
        # The drill: all of them.
        await pilot.press("f", "2", "enter")
        await pilot.pause()
        await pilot.press("7", "enter")
        await settled(pilot)
        assert screen.shown.drill is None
        assert "drill as set 2 of 3" in said(app, "progress")
        # The club: the lob wedge's one run.
        await pilot.press("f", "2", "2", "enter")
        await pilot.pause()
        await pilot.press("2", "enter")
        await settled(pilot)
        assert screen.shown.club == wedges.club
        assert [run.drill for run in screen.runs] == [wedges.id]
        assert screen.title == f"History · {wedges.title}"
        assert "only: Lob wedge" in said(app, "progress")
        # Dates, typed: none of it.
        await pilot.press("f", "2", "2", "2", "enter")
        await pilot.pause()
        await pilot.press("1", "8", "enter")
        await pilot.pause()
        await pilot.press(*"2025-05-1", "enter")
        await pilot.pause()
        assert "expected one day or two" in shown(app)
        await pilot.press(*"0", "space", *"2025-05-12", "enter")
        await settled(pilot)
        assert "only: Lob wedge, from 2025-05-10, to 2025-05-12" in said(app, "progress")
        assert "No runs of these" in said(app, "progress")
        # Somebody else.
        await pilot.press("f", "enter")
        await pilot.pause()
        await pilot.press("2", "enter")
        await settled(pilot)
        assert screen.player_id != rising
        # And everything of mine again.
        await pilot.press("f", "2", "2", "2", "2", "enter")
        await settled(pilot)
        assert screen.player_id == rising
        assert len(screen.settings) == 3


async def test_a_span_of_days_counts_today(rising: str, make_app: MakeApp, clock: Clock) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await open_history(app, pilot)
        screen.shown = replace(screen.shown, first=clock.at.date() - timedelta(days=2))
        app.records.read(screen)
        await settled(pilot)
        assert len(screen.runs) == 2
        await pilot.press("6")
        await settled(pilot)
        assert len(screen.runs) == 2


async def test_run_against_run(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=SIZES[0]) as pilot:
        screen = await open_history(app, pilot)
        await pilot.press("6")
        await settled(pilot)
        await pilot.press("1", "b")
        await settled(pilot)
        assert isinstance(app.screen, CompareScreen)
        assert app.screen.one.run == screen.runs[-1].run
        assert app.screen.other.score == 15
        first, best = app.screen.one.score, app.screen.other.score
        assert first is not None
        assert best is not None
        assert said(app, "headline").startswith(f"▼ Behind by {best - first}")
        rows = app.screen.query_one(OptionList).options
        assert len(rows) == 18
        last = rows[-1].prompt
        assert (last.left.split(), last.right) == (["18", "-"], "left → 15")  # type: ignore[union-attr]
        async for size in at_each(pilot, SIZES):
            assert f"▼ Behind by {best - first}" in shown(app), size
        await pilot.press("6")
        await settled(pilot)
        assert app.screen.other.score != 15
        await pilot.press("f")
        await settled(pilot)
        assert app.screen.other.score == 15


async def test_the_best_of_equals_is_the_earlier(rising: str, store: Store) -> None:
    runs = store.history("hold-the-corridor", rising)
    at = best_of(runs)
    assert runs[at].score == 15
    equal = [run for run in runs if run.score == runs[at].score]
    assert runs[at].run == equal[-1].run


async def test_a_game_that_has_gone_leaves_the_balls_to_compare(
    rising: str, make_app: MakeApp, tmp_path: Path
) -> None:
    (tmp_path / "none").mkdir()
    app = make_app(player="Ines", folders=(tmp_path / "none",))
    async with app.run_test(size=(100, 30)) as pilot:
        await open_history(app, pilot)
        await pilot.press("b")
        await settled(pilot)
        assert isinstance(app.screen, CompareScreen)
        assert "is not there any more" in shown(app)
        assert "→" not in str(app.screen.query_one(OptionList).options[0].prompt.left)  # type: ignore[union-attr]


@pytest.mark.usefixtures("counted")
async def test_settings_side_by_side(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=SIZES[0]) as pilot:
        await open_history(app, pilot)
        await pilot.press("u")
        await settled(pilot)
        assert isinstance(app.screen, SettingsBesideScreen)
        rows = [option.prompt for option in app.screen.query_one(OptionList).options]
        assert [(row.left, row.right) for row in rows] == [  # type: ignore[union-attr]
            ("32 yd wide · 3 lives", "best 2 · 2 runs"),
            ("40 yd wide · 3 lives", "best 15 · 14 runs"),
        ]
        assert "half of your runs reach 2 · a ball holds" in said(app, "progress")
        assert "to beat 2 · from" in said(app, "progress")
        async for size in at_each(pilot, SIZES):
            assert "best 15 · 14 runs" in shown(app), size
        await pilot.press("2", "enter")
        await settled(pilot)
        assert isinstance(app.screen, HistoryScreen)
        assert len(app.screen.runs) == 14


@pytest.mark.usefixtures("counted")
async def test_each_club_then_and_now(
    store: Store, catalogue: Catalogue, clock: Clock, make_app: MakeApp
) -> None:
    """Misses of 30 at first and of 5 later: tighter. The wedge has too few balls to tell."""
    ines = store.add_player("Ines")
    drill, rng = catalogue.drill("miss-total"), random.Random(1)
    for wide in (30,) * 4 + (5,) * 4:
        played(store, ines.id, drill, *(f"{rng.choice('+-')}{wide}" for _ in range(10)))
        clock.pass_minutes(60)
    played(store, ines.id, catalogue.drill("four-wedges-in-a-row"), *"5555")
    app = make_app(player="Ines")
    async with app.run_test(size=SIZES[0]) as pilot:
        await ready(pilot)
        app.push_screen(ThenAndNowScreen())
        await settled(pilot)
        assert isinstance(app.screen, ThenAndNowScreen)
        assert app.screen.found is not None
        (one,) = app.screen.found
        assert (one.club, one.direction) == ("driver", "lateral")
        assert (one.then.shots, one.now.shots) == (40, 40)
        assert one.then.half_width.median > 2 * one.now.half_width.median
        assert said(app, "headline").startswith("▲ Tighter: two in three within")
        assert said(app, "progress").startswith("then 40 balls")
        async for size in at_each(pilot, SIZES):
            assert "▲ Tighter: two in three" in shown(app), size
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, PatternScreen)


@pytest.mark.usefixtures("counted")
async def test_too_few_balls_are_said_to_be(ines: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test() as pilot:
        await ready(pilot)
        app.push_screen(ThenAndNowScreen())
        await settled(pilot)
        assert "No club with 20 balls yet" in said(app, "progress")


@pytest.mark.usefixtures("counted")
async def test_the_calendar_opens_a_day(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=SIZES[0]) as pilot:
        await open_history(app, pilot)
        await pilot.press("k")
        await settled(pilot)
        assert isinstance(app.screen, CalendarScreen)
        async for size in at_each(pilot, SIZES):
            text = shown(app)
            assert "Mo  Tu  We  Th  Fr  Sa  Su all" in text, size
            assert "MAY 2025" in text, size
            assert ("━" in text) == (size[0] > 40), size
        total = sum(week.total for week in app.screen.weeks)
        assert f"{total} balls on 15 days in the last four weeks" in said(app, "headline")
        await pilot.press("1", "enter")
        await settled(pilot)
        if isinstance(app.screen, Choice):
            await pilot.press("enter")
            await settled(pilot)
        assert isinstance(app.screen, HistoryScreen)
        assert "only: Sat 2025-05-10" in said(app, "progress")
        assert len(app.screen.runs) == 1


@pytest.mark.usefixtures("counted")
async def test_the_calendar_opens_from_home_and_none_of_its_figures_is_cut(
    rising: str, make_app: MakeApp
) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("k")
        await settled(pilot)
        assert isinstance(app.screen, CalendarScreen)
        assert "MAY 2025" in shown(app)
        assert max(week.total for week in app.screen.weeks) > 9
        async for size in at_each(pilot, [(40, 24), (41, 24)]):
            rows = [row.split() for row in shown(app).splitlines()]
            for week in app.screen.weeks:
                day = [str(week.monday.day), f"{week.monday:%b}"]
                days = [str(count or "·") for count in (*week.balls, week.total)]
                assert [*day, *days] in [row[:10] for row in rows], (size, rows)
            assert [*DAYS, "all"] in rows, size


@pytest.mark.usefixtures("counted", "watched")
async def test_the_menu_and_the_mouse_lead_everywhere(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(100, 40)) as pilot:
        await open_history(app, pilot)
        for name, kind in (
            ("Settings side by side", SettingsBesideScreen),
            ("Then and now", ThenAndNowScreen),
            ("Calendar", CalendarScreen),
            ("Beside", CompareScreen),
        ):
            await pilot.press("full_stop")
            await pilot.pause()
            rows = app.screen.query_one(OptionList)
            at = next(k for k, row in enumerate(rows.options) if row.prompt.left == name)  # type: ignore[union-attr]
            y = sum(rows.options[k].prompt.get_height({}, 50) for k in range(at))  # type: ignore[union-attr, arg-type]
            await pilot.click(OptionList, offset=(3, y - rows.scroll_offset.y))
            await settled(pilot)
            assert isinstance(app.screen, kind), name
            await pilot.press("question_mark")
            await pilot.pause()
            assert app.screen.title is not None
            assert app.screen.title.startswith("Help")
            await pilot.press("escape", "escape")
            await settled(pilot)
            assert isinstance(app.screen, HistoryScreen), name


async def test_a_run_still_opens_to_its_shots(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await open_history(app, pilot)
        await pilot.click(OptionList, offset=(3, 0))
        await settled(pilot)
        assert isinstance(app.screen, RunScreen)


async def test_the_charts_are_drawn_anew_in_another_look(rising: str, make_app: MakeApp) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await open_history(app, pilot)
        before = app.export_screenshot()
        app.theme = "sunlight"
        await settled(pilot)
        assert app.export_screenshot() != before


def test_the_first_screen_waits_for_no_chart() -> None:
    code = (
        "import sys; import drillrunner.app.app, drillrunner.app.screens.home; "
        "print(*{'numpy', 'plotext', 'textual_plotext', 'matplotlib'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stdout.strip()) == (0, "")


ROOT = Path(__file__).parents[3]


async def test_the_score_so_far_of_an_open_run_is_no_score_on_a_phone_either(
    store: Store, catalogue: Catalogue, make_app: MakeApp
) -> None:
    played(store, store.add_player("Ada").id, catalogue.drill("hold-the-corridor"), "5", "5")
    app = make_app(player="Ada")
    async with app.run_test(size=(40, 24)) as pilot:
        await open_history(app, pilot)
        assert "open · 2 balls" in shown(app)
