"""Finding a stock carry blind, the table of them, and drills that take their aim from one."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.screens.cautions import CautionsScreen
from drillrunner.app.screens.find import FindScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.session_block import SessionScreen
from drillrunner.app.screens.session_summary import SummaryScreen
from drillrunner.app.screens.stock import StockScreen, grid
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.catalogue.loader import folders
from drillrunner.practice.carries.stock import RULE, table
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.app.session_world import FINDING, begun, desk, pass_time, press, settled
from tests.practice.worlds import Clock as Watch
from tests.practice.worlds import block, plan

Make = Callable[..., DrillrunnerApp]


async def warm(pilot: Pilot[None]) -> None:
    """Say that one is warm, which a search asks before its first ball."""
    assert isinstance(pilot.app.screen, Choice)
    assert pilot.app.screen.title == "Are you warm?"
    await press(pilot, "enter")
    await settled(pilot)


async def searching(make: Make, pilot: Pilot[None], watch: Watch, *carries: str) -> None:
    """A search with these carries typed."""
    await begun(make, pilot, FINDING)
    await press(pilot, "enter")
    await settled(pilot)
    await warm(pilot)
    for carry in carries:
        await pass_time(pilot, watch, 20)
        await press(pilot, *carry, "enter")


def keep_carry(store: Store, player: str, club: str, swing: str, carry: int) -> None:
    store.save_stock_carry(
        player,
        club,
        swing,
        carry=Decimal(carry),
        low=Decimal(carry - 2),
        high=Decimal(carry + 2),
        spread=Decimal("2.5"),
        unit="yd",
        data={"carries": [str(carry)] * 5, "kept": [True] * 5},
    )


async def test_typed_blind_corrected_revealed_and_saved(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test(size=(100, 32)) as pilot:
        await searching(make, pilot, watch, "45", "47", "44", "46")
        assert isinstance(app.screen, FindScreen)
        said = shown(app)
        assert "● ● ● ● ○ ○" in said
        # Not even what is being typed can be seen, unless it is asked for, and then until Enter.
        await press(pilot, *"91")
        assert "●●▏" in shown(app)
        assert "91" not in shown(app)
        await press(pilot, *"..", "slash")
        assert "91" not in shown(app)
        await press(pilot, "backspace", "minus")
        assert "91▏" in shown(app)
        await press(pilot, "minus", "asterisk")
        assert "91" not in shown(app)
        assert not any(carry in said.replace("04:", "") for carry in ("45", "47", "44", "46"))
        await press(pilot, "plus")
        assert "at least 5 are needed" in shown(app)
        await press(pilot, *"91", "enter", *"21", "enter")
        assert "● ● ● ● ● ●" in shown(app)
        await press(pilot, *"33", "enter")
        assert "all 6 carries are typed" in shown(app)

        await press(pilot, "slash")
        assert isinstance(app.screen, Choice)
        assert "91" not in shown(app)
        await press(pilot, "8", "enter")
        assert isinstance(app.screen, Question)
        await press(pilot, *"9x")
        assert "9x" not in shown(app)
        await press(pilot, "enter")
        assert "expected a carry" in shown(app)
        await press(pilot, "backspace", "backspace", *"45", "enter")
        assert "shot 5 is corrected" in shown(app)

        await press(pilot, "plus")
        said = " ".join(shown(app).split())
        assert "stock carry 45 yd" in said
        assert "45 47 44 46 45 (21 out)" in said
        assert RULE[:50] in said
        assert "spread 1." in said
        assert "repeatable enough" in said
        await press(pilot, "asterisk")
        assert "revealed" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionScreen)
        assert desk(app).session.balls_used == 6
    (kept,) = store.stock_carries(ines)
    assert (kept.club, kept.swing, kept.carry) == ("sand-wedge", "half", Decimal(45))
    assert kept.data["carries"] == ["45", "47", "44", "46", "45", "21"]
    assert kept.data["kept"] == [True] * 5 + [False]
    assert kept.session_id == store.sessions(ines)[0].id


async def test_undo_takes_back_and_nought_makes_a_ball_not_count(
    ines: str, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await searching(make, pilot, watch, "45", "47", "44")
        await press(pilot, "asterisk")
        assert "shot 3 is taken out" in shown(app)
        assert "2 of 6 typed" in shown(app)
        assert desk(app).session.balls_used == 2
        await press(pilot, "slash", "8", "enter", "0", "enter")
        assert "shot 1 does not count" in shown(app)
        assert "1 of 6 typed" in shown(app)
        assert desk(app).session.balls_used == 2
        assert desk(app).block.typed == (Decimal(47),)
        await press(pilot, *"450", "enter")
        assert "far for a carry" in shown(app)
        await press(pilot, "enter")
        assert desk(app).block.typed[-1] == 450


async def test_left_open_and_typed_with_the_mouse(ines: str, make: Make, watch: Watch) -> None:
    app = make()
    async with app.run_test() as pilot:
        await searching(make, pilot, watch, "45")
        await press(pilot, "escape")
        assert isinstance(app.screen, SessionScreen)
        await press(pilot, "enter")
        pad = app.screen.query_one(Keypad)
        for name in ("4", "6", "enter"):
            await pilot.click("#keypad", offset=pad.centre(name))
        await pilot.pause()
        assert "2 of 6 typed" in shown(app)


async def test_next_reveals_before_it_moves_on(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await searching(make, pilot, watch, "45", "47", "44", "46", "45")
        await press(pilot, "f8")
        assert isinstance(app.screen, FindScreen)
        assert "stock carry 45 yd" in shown(app)
        await press(pilot, "enter")
        assert "2 of 2 · Free" in shown(app)
    assert len(store.stock_carries(ines)) == 1


async def test_over_the_sessions_time_it_is_revealed_and_then_the_session_ends(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await searching(make, pilot, watch, "45", "47", "44", "46", "45")
        await pass_time(pilot, watch, 400)
        assert "the session's time is up: + reveals what was found" in shown(app)
        await press(pilot, "f8")
        await settled(pilot)
        assert "stock carry 45 yd" in shown(app)
        await pass_time(pilot, watch, 10)
        assert "stock carry 45 yd" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        assert len(store.stock_carries(ines)) == 1


async def test_stop_keeps_what_was_found(ines: str, store: Store, make: Make, watch: Watch) -> None:
    app = make()
    async with app.run_test() as pilot:
        await searching(make, pilot, watch, "45", "47", "44", "46", "45")
        await press(pilot, "f9")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        assert "Find: 45 yd" in shown(app)
    assert len(store.stock_carries(ines)) == 1


async def test_a_drill_takes_its_aim_from_the_stock_carry_in_the_players_unit(
    ines: str, store: Store, make: Make, tmp_path: Path
) -> None:
    (tmp_path / "stock.toml").write_text(
        'id = "stock"\ntitle = "Own number"\ngame = "on_the_number"\nclub = "sand-wedge"\n'
        'swing = "half"\n[aim]\ncarry = "stock"\n[takes]\nballs = 8\nminutes = 4\n'
    )
    keep_carry(store, ines, "sand-wedge", "half", 45)
    store.change_player(ines, unit="m")
    of = plan(block("drill", 4, 8, title="Own number", drill="stock"))
    app = make(folders=folders([tmp_path]))
    async with app.run_test() as pilot:
        await begun(make, pilot, of)
        assert "carry 41 m" in shown(app)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert (app.screen.playing.drill.aim.carry, app.screen.playing.drill.unit) == (41, "m")
        await press(pilot, *"40", "enter", "escape")
    (run,) = store.open_runs(ines)
    assert run.setting["aim"]["carry"] == 41


async def test_a_block_whose_stock_carry_is_not_known_says_so(
    ines: str, make: Make, tmp_path: Path
) -> None:
    (tmp_path / "stock.toml").write_text(
        'id = "stock"\ntitle = "Own number"\ngame = "on_the_number"\nclub = "sand-wedge"\n'
        '[aim]\ncarry = "stock"\n'
    )
    of = plan(block("drill", 4, 8, title="Own number", drill="stock"))
    app = make(folders=folders([tmp_path]))
    async with app.run_test() as pilot:
        await begun(make, pilot, of)
        assert "first find your stock carry (Sand wedge" in shown(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, SessionScreen)


async def test_the_table_of_clubs_by_swings_and_what_to_lay_up_to(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    watch.wall(-200 * 86400)
    keep_carry(store, ines, "lob-wedge", "half", 30)
    for kept in (("sand-wedge", "half", 45), ("sand-wedge", "full", 72), ("gap-wedge", "half", 74)):
        keep_carry(store, ines, *kept)
    app = make()
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        await press(pilot, "c")
        await settled(pilot)
        assert isinstance(app.screen, StockScreen)
        said = shown(app)
        assert "half" in said
        assert "72!" in said
        assert "15 yd to the next" in said
        assert "27 yd to the next · 22 of it uncovered" in said
        assert "! overlaps the next" in said
        assert "the longest" in said
        assert "leave 45 yd" in said
        assert "within" in said
        await press(pilot, "enter")
        assert "the further a shot is from the middle" in shown(app)


def test_a_stale_carry_is_marked_and_narrow_grids_are_stacked(store: Store, ines: str) -> None:
    for swing in ("half", "three-quarter", "full"):
        keep_carry(store, ines, "sand-wedge", swing, 40 + len(swing))
    found = store.stock_carries(ines)
    later = found[0].at.replace(year=found[0].at.year + 1)
    rows = table(found, later)
    wide, narrow = grid(rows, 78), grid(rows, 30)
    assert "44" in wide
    assert "?" in wide
    assert len(wide.splitlines()) == 2
    assert len(narrow.splitlines()) > 2
    assert all(len(line) <= 40 for line in narrow.splitlines())


async def test_a_search_begun_from_the_table(
    ines: str, store: Store, make: Make, watch: Watch
) -> None:
    app = make()
    async with app.run_test() as pilot:
        await ready(pilot)
        await press(pilot, "c")
        await settled(pilot)
        assert "None found yet" in shown(app)
        await press(pilot, "5", "enter", "1", "8", "8", "enter")
        assert "Are you warm?" in shown(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, CautionsScreen)
        await press(pilot, "enter")
        await settled(pilot)
        await press(pilot, "enter")
        # Being warm was asked when the search was planned: once is enough.
        assert isinstance(app.screen, FindScreen)
        await press(pilot, "escape", "enter")
        assert isinstance(app.screen, FindScreen)
        for carry in ("50", "52", "51", "49", "50"):
            await press(pilot, *carry, "enter")
        await press(pilot, "plus", "enter")
        await settled(pilot)
        assert isinstance(app.screen, SummaryScreen)
        await press(pilot, "enter")
        assert isinstance(app.screen, HomeScreen)
    (kept,) = store.stock_carries(ines)
    assert (kept.club, kept.carry) == ("lob-wedge", Decimal(50))


async def test_who_is_cold_warms_up_first(ines: str, store: Store, make: Make) -> None:
    """The first balls of a day fall short."""
    app = make()
    async with app.run_test() as pilot:
        await ready(pilot)
        await press(pilot, "c")
        await settled(pilot)
        await press(pilot, "5", "enter", "enter", "2", "enter")
        screen = app.screen
        assert isinstance(screen, CautionsScreen)
        assert [block.kind for block in screen.plan.blocks] == ["warm-up", "find"]
