"""The drawn keypad never moves, and all of it is there, whatever is said and whatever is typed."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from types import SimpleNamespace

import pytest
from textual.events import MouseDown, MouseUp
from textual.geometry import Region
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.hardness import Hardness
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.match import MatchPlayScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.session_play import SessionPlayScreen
from drillrunner.app.widgets.keypad import BLOCK, Keypad
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.looking_back.what_next import NextThing
from drillrunner.practice.matches.record import Setup
from drillrunner.rules.outcome import GRIDS
from drillrunner.store.store import Store
from tests.app.conftest import ready, shown
from tests.app.screens.test_play import line
from tests.app.session_world import begun, press, settled
from tests.practice.worlds import block, plan

MakeApp = Callable[..., DrillrunnerApp]

SIZES = ((80, 24), (40, 24), (41, 24), (41, 40), (88, 18), (160, 50))
PHONES = ((41, 40), (41, 24), (88, 18))
"""A phone held either way, and with its own keyboard up."""
LONG = "a line that says what, where and what was expected, and why none of it was kept " * 3


async def _where(pilot: Pilot[None]) -> Region:
    await pilot.pause()
    pad = pilot.app.screen.query_one(Keypad)
    assert pilot.app.screen.region.contains_region(pad.region)
    tops = {pad.centre(key.name) for key in BLOCK}
    assert len(tops) == len(BLOCK)
    assert all(pad.key_at(*at) is not None for at in tops)
    # Nothing lies above any of them.
    assert {pilot.app.screen.get_widget_at(*(pad.region.offset + at))[0] for at in tops} == {pad}
    return pad.region


BALLS = {
    "miss-total": ("minus", "1", "5", "enter"),
    "holes-of-larch-bottom": ("9",),
    "call-the-number": ("6", "4", "enter", "6", "1", "enter"),
    "nine-putts": ("2",),
    "six-long-putts": ("4", "enter"),
    "on-the-number": ("6", "4", "enter"),
}
"""A drill of each question, and a ball of it."""


def said(app: DrillrunnerApp) -> str:
    """What is on the screen, in one line."""
    return " ".join(shown(app).split())


def test_there_is_a_drill_of_each_question() -> None:
    drills = load([bundled("games")])
    assert {drills.drill(drill).game().ask.asks for drill in BALLS} == set(GRIDS)


@pytest.mark.parametrize(
    ("drill", "size"),
    [("miss-total", size) for size in SIZES] + [(drill, (40, 24)) for drill in [*BALLS][1:]],
)
async def test_no_key_moves_by_a_ball_a_message_or_an_error(
    make_app: MakeApp, drill: str, size: tuple[int, int]
) -> None:
    app = make_app(player="Ada", drill=drill)
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        first = await _where(pilot)
        assert "Stop if it hurts" in said(app)
        about = app.screen.playing.drill.about
        assert all(word in said(app) for word in about.split())
        strange = ("5", "plus") if drill == "miss-total" else ("minus",)
        for keys in (("x",), strange, ("backspace",), BALLS[drill]):
            if keys == ("x",):
                app.say(LONG)
            else:
                await pilot.press(*keys)
            assert await _where(pilot) == first
        assert "Stop if it hurts" not in said(app)
        await pilot.press("slash", "slash")
        assert await _where(pilot) == first


@pytest.mark.parametrize("drill", BALLS)
async def test_whatever_is_asked_every_key_is_on_a_phone(make_app: MakeApp, drill: str) -> None:
    app = make_app(player="Ada", drill=drill)
    async with app.run_test(size=PHONES[0]) as pilot:
        await ready(pilot)
        for size in PHONES:
            await pilot.resize_terminal(*size)
            await ready(pilot)
            assert isinstance(app.screen, PlayScreen)
            first = await _where(pilot)
            app.say(LONG)
            assert await _where(pilot) == first
            app.say()


@pytest.mark.parametrize("size", PHONES)
async def test_no_key_moves_in_a_match(
    make_app: MakeApp, store: Store, size: tuple[int, int]
) -> None:
    for name in ("Ada", "Bo"):
        store.add_player(name)
    app = make_app(player="Ada", drill="hold-the-corridor", match=Setup(("Ada", "Bo")))
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, MatchPlayScreen)
        first = await _where(pilot)
        for key in "x54":
            await pilot.press(key)
            assert await _where(pilot) == first
        app.say(LONG)
        assert await _where(pilot) == first


@pytest.mark.parametrize("size", [(80, 24), *PHONES])
async def test_in_a_session_no_key_moves_and_all_of_a_message_is_there(
    ines: str, make_app: MakeApp, size: tuple[int, int]
) -> None:
    of = plan(block("drill", 4, 10, title="Miss", drill="miss-total"))
    app = make_app(player="Ines")
    async with app.run_test(size=size) as pilot:
        await begun(make_app, pilot, of)
        await press(pilot, "enter")
        await settled(pilot)
        assert isinstance(app.screen, SessionPlayScreen)
        first = await _where(pilot)
        await press(pilot, *"+350", "enter")
        assert await _where(pilot) == first
        assert "350 is far for a miss" in said(app)
        assert "Enter takes it all the same, Backspace corrects" in said(app)
        app.say(LONG)
        assert await _where(pilot) == first


async def test_one_ball_for_each_time_a_key_is_let_go(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with app.run_test(size=PHONES[0]) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        pad = app.screen.query_one(Keypad)
        five = pad.region.offset + pad.centre("5")

        async def balls(finger: str) -> int:
            for kind in finger:
                event = MouseDown if kind == "d" else MouseUp
                app.post_message(event(None, *five, 0, 0, 1, False, False, False, *five))
                # 80 ms between two of them come from the browser; here they come at once.
                await pilot.pause()
            return len(app.screen.playing.run.shots)

        assert await balls("ddd") == 0
        assert await balls("u") == 1
        assert await balls("u") == 1
        assert await balls("dudu") == 3


async def test_no_drill_moves_when_what_is_next_is_known(make_app: MakeApp) -> None:
    app = make_app(player="Ada")
    async with app.run_test(size=PHONES[0]) as pilot:
        await ready(pilot)
        home = app.screen
        assert isinstance(home, HomeScreen)
        rows = home.query_one(BlockList)

        async def place() -> tuple[object, ...]:
            await pilot.pause()
            return rows.region, *rows._line_cache.index_to_line.items()

        for size in PHONES:
            await pilot.resize_terminal(*size)
            first = await place()
            goal = SimpleNamespace(line=lambda today: LONG)
            home._tell_next((NextThing("a thing", LONG, "sure"), goal))  # type: ignore[arg-type]
            assert await place() == first
            home._tell_next((None, None))
            assert await place() == first
        await pilot.resize_terminal(*PHONES[0])
        first = await place()
        for drill in app.drills.catalogue.drills:
            hard = Hardness(0.05, Decimal(4), False, True, True)
            home._weighed(home._key(drill), drill.id, hard)
        assert await place() == first
        assert "hard" in shown(app)
        assert "%" not in shown(app)
        # A window made wider, or narrower, has what one opened so has, and no row is one longer.
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert "hard 5 %" in said(app)
        await pilot.resize_terminal(*PHONES[0])
        await pilot.pause()
        assert await place() == first
        assert "%" not in shown(app)


async def test_a_number_typed_before_the_ball_in_between_is_kept(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="number-between-drives")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("7", "0", "enter", "8", "6")
        assert isinstance(app.screen, PlayScreen)
        assert line(app, "say") == "86 waits: Enter first counts the ball in between"
        await pilot.press("enter")
        await pilot.pause()
        assert not app.screen.playing.run.between_due
        assert line(app, "say") == "the ball in between counts; Enter takes 86"
        await pilot.press("enter")
        await pilot.pause()
        assert [str(shot.carry) for shot in app.screen.playing.run.shots] == ["70", "86"]


async def test_a_tap_is_answered_at_once(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drillrunner.app.widgets.keypad.ANSWER", 1e6)
    app = make_app(player="Ada", drill="miss-total")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        pad = app.screen.query_one(Keypad)
        await pilot.click(Keypad, offset=pad.centre("7"))
        assert pad.down == "7", "the key stays lit for a moment, however short the tap"
