"""Play and result at the keys and with the mouse: whole runs, and everything that can go wrong."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any
from unittest.mock import Mock

import pytest
from textual.pilot import Pilot
from textual.widgets import Digits, Static

from drillrunner.app import doors, odds_words
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice, Question, Unwritten
from drillrunner.app.screens import base
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.result import ResultScreen
from drillrunner.app.screens.run_menu import NoteChoice
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.readout import LargeDigits
from drillrunner.app.widgets.target import TargetWidget
from drillrunner.catalogue.allowed import allow
from drillrunner.catalogue.loader import Catalogue, bundled
from drillrunner.rules import Kind, Run
from drillrunner.rules.keypad import read
from drillrunner.store.errors import DiskTrouble
from drillrunner.store.journal import Playing
from drillrunner.store.store import Store
from tests.app.conftest import Clock, at_each, ready, shown
from tests.app.test_odds_worker import until
from tests.shipped import DRILLS

MakeApp = Callable[..., DrillrunnerApp]
BY_QUESTION: dict[str, list[str]] = {}
for of in sorted(DRILLS, key=lambda drill: drill.balls or 99):
    BY_QUESTION.setdefault(of.game().ask.asks, []).append(of.id)
NAMES = {"+": "plus", "-": "minus", "*": "asterisk", "/": "slash", ".": "full_stop"}


@asynccontextmanager
async def opened(
    app: DrillrunnerApp, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Pilot[None]]:
    """The app at what it was opened for."""
    async with app.run_test(size=size) as pilot:
        await ready(pilot)
        yield pilot


def playing(app: DrillrunnerApp) -> Playing:
    """What the screen on top plays."""
    assert isinstance(app.screen, PlayScreen | ResultScreen)
    return app.screen.playing


def line(app: DrillrunnerApp, id: str) -> str:
    """What stands in a line of the screen on top."""
    return str(app.screen.query_one(f"#{id}", Static).content)


def texts(run: Run) -> list[str]:
    """What was typed, as it is on disk."""
    return [entry.text for entry in run.entries]


async def keys(pilot: Pilot[None], typed: str) -> None:
    """Press keys; `E` is Enter and `B` Backspace."""
    special = {"E": "enter", "B": "backspace", **NAMES}
    await pilot.press(*(special.get(key, key) for key in typed))
    await pilot.pause()


async def clicks(pilot: Pilot[None], typed: str) -> None:
    """The same by the drawn keys alone."""
    special = {"E": "enter", "B": "backspace", **NAMES}
    for key in typed:
        pad = pilot.app.screen.query_one(Keypad)
        await pilot.click(pad, offset=pad.centre(special.get(key, key)))
    await pilot.pause()


def answers(run: Run) -> str:
    """Keys for the next ball: two that hold, three that do not, then on the aim for good."""
    if run.between_due:
        return "E"
    ask, at = run.game.ask, run.counted
    wide = 2 <= at < 5
    if ask.asks == "verdict":
        return "4" if wide else "5"
    if ask.asks == "miss":
        return ("-15", "+35", "0", "20", "+5")[at % 5] + "E"
    if ask.asks == "strokes":
        return "3" if wide else "1"
    if ask.asks == "leave":
        return ("4", "0", "12")[at % 3] + "E"
    if ask.asks == "call":
        return f"64E{61 if wide else 64}E"
    assert ask.aim.carry is not None
    return f"{ask.aim.carry - (7 if wide or at < 2 else 0)}E"


async def to_the_end(pilot: Pilot[None], hand: Callable[[Pilot[None], str], Any]) -> ResultScreen:
    """Play until the result is on the screen."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    while isinstance(app.screen, PlayScreen):
        run = playing(app).run
        before = len(run.entries)
        await hand(pilot, answers(run))
        assert len(playing(app).run.entries) == before + 1
    assert isinstance(app.screen, ResultScreen)
    return app.screen


@pytest.mark.parametrize("asks", BY_QUESTION)
async def test_every_bundled_drill_to_its_end(make_app: MakeApp, store: Store, asks: str) -> None:
    """One after the other: the shortest of each question by the mouse alone, the others by keys."""
    first, *others = BY_QUESTION[asks]
    app = make_app(player="Ada", drill=first, sets=("balls=5",) if first == "miss-total" else ())
    async with opened(app) as pilot:
        await one_of_them(pilot, store, first, clicks)
        for drill in others:
            await pilot.press("escape")
            assert isinstance(app.screen, HomeScreen), drill
            of = app.drills.catalogue.drill(drill)
            app.runs.play(of.with_set(["balls=5"]) if drill == "miss-total" else of)
            await ready(pilot)
            await one_of_them(pilot, store, drill, keys)


async def one_of_them(
    pilot: Pilot[None], store: Store, drill: str, hand: Callable[[Pilot[None], str], Any]
) -> None:
    """A drill to its end, on the screen and in the records."""
    result = await to_the_end(pilot, hand)
    app, run = result.drillrunner, result.playing.run
    assert result.playing.drill.id == drill
    assert run.finished, drill
    assert str(run.ended) in line(app, "standing"), drill
    if run.score is not None:
        assert app.screen.query_one(Digits).value == str(run.score), drill
        assert "your first score" in line(app, "headline"), drill
    (stored,) = store.history(drill)
    assert (stored.player, stored.drill, stored.finished) == ("Ada", drill, True)
    assert [e.kind for e in store.entries(stored.run)] == [e.kind for e in run.entries], drill


async def test_a_call_that_waits_for_its_carry_is_there_again_when_the_run_is(
    make_app: MakeApp, store: Store
) -> None:
    app = make_app(player="Ada", drill="call-the-number")
    async with opened(app) as pilot:
        await keys(pilot, "64E61E70E5")
        assert line(app, "typed") == "called 70; flew 5▏"
        await pilot.press("escape")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        app.runs.play(app.drills.catalogue.drill("call-the-number"))
        await ready(pilot)
        await pilot.press("enter")
        await ready(pilot)
        assert line(app, "typed") == "called 70; flew 5▏"
        assert "as you left it" in line(app, "say")
        await keys(pilot, "8E")
        assert [str(shot.call) for shot in playing(app).run.shots] == ["64", "70"]
        assert [str(shot.carry) for shot in playing(app).run.shots] == ["61", "58"]


async def test_far_edges_are_drawn_and_far_balls_named(make_app: MakeApp, store: Store) -> None:
    app = make_app(player="Ada", drill="holes-of-larch-bottom")
    async with opened(app) as pilot:
        while playing(app).run.ask.aim.far_left is None:
            await keys(pilot, "5")
        far_right = playing(app).run.ask.aim.far_right
        picture = app.screen.query_one(TargetWidget).picture
        assert "╎" in picture
        assert "far 0 · left 0" in picture
        assert ("· far 0" in picture) == (far_right is not None)
        await keys(pilot, "7")
        assert line(app, "last") == "last: far left"
        await keys(pilot, "*")
        assert line(app, "last") == "last: undone: far left"


async def test_a_large_number_with_a_fraction_is_not_cut(make_app: MakeApp, store: Store) -> None:
    app = make_app(player="Ada", drill="holes-of-larch-bottom")
    async with opened(app) as pilot:
        digits = app.screen.query_one(LargeDigits)
        while len(digits.value) < len("1.23"):
            await keys(pilot, "4")
        assert digits.scale == 1
        assert app.screen.query_one("#figure").content_region.contains_region(digits.region)


async def test_the_number_the_best_and_the_last_entry(
    make_app: MakeApp, ines: str, clock: Clock
) -> None:
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with opened(app) as pilot:
        assert line(app, "plain") == "held 0"
        assert line(app, "beat") == "to beat 3: 4 more"
        assert "lives left 3 ●●●" in line(app, "lines")
        assert "Stay in your bay" in shown(app)
        assert line(app, "elapsed") == "time 00:00"
        await keys(pilot, "5")
        clock.pass_minutes(7)
        await keys(pilot, "4")
        assert line(app, "plain") == "held 1"
        assert app.screen.query_one(Digits).value == "1"
        assert line(app, "beat") == "to beat 3: 3 more"
        assert "lives left 2 ●●○" in line(app, "lines")
        assert line(app, "last") == "last: left"
        assert line(app, "elapsed") == "time 07:00"
        assert "Stay in your bay" not in shown(app)
        assert "left 1" in app.screen.query_one(TargetWidget).picture
        await keys(pilot, "+25E")
        assert line(app, "last") == "last: 25 right"
        assert "right 1" in app.screen.query_one(TargetWidget).picture


async def test_undo_void_and_the_way_back_from_the_result(make_app: MakeApp, store: Store) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app) as pilot:
        await keys(pilot, "*")
        assert line(app, "say") == "nothing to undo"
        await keys(pilot, "544")
        await keys(pilot, "*")
        assert line(app, "last") == "last: undone: left"
        await keys(pilot, "4/")
        assert line(app, "last") == "last: void: left"
        await keys(pilot, "44")
        assert isinstance(app.screen, ResultScreen)
        await keys(pilot, "5")
        assert "the run is over (out of lives)" in line(app, "say")
        await keys(pilot, "*")
        assert isinstance(app.screen, PlayScreen)
        assert line(app, "last") == "last: undone: left"
        assert "lives left 1" in line(app, "lines")
        await keys(pilot, "4")
        assert isinstance(app.screen, ResultScreen)
        pad = app.screen.query_one(Keypad)
        await pilot.click(pad, offset=pad.centre("slash"))
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert line(app, "last") == "last: void: left"
        await keys(pilot, "6")
        assert isinstance(app.screen, ResultScreen)
        assert "undone" in shown(app)
        assert "void" in shown(app)
        assert playing(app).run.score == 1
        await keys(pilot, "E")
        assert isinstance(app.screen, PlayScreen)
        assert playing(app).run.entries == ()
        assert line(app, "beat") == "to beat 1: 2 more"
        assert [type(s) for s in app.screen_stack] == [HomeScreen, PlayScreen]
    (stored,) = store.history()
    assert (stored.counted, stored.voided, stored.undone) == (4, 2, 2)


async def test_what_is_said_of_a_key_gives_way_to_the_caution(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(base, "HINT", 0.05)
    app = make_app(player="Ada", drill="on-the-number")
    async with opened(app) as pilot:
        for key in ("E", "q"):
            await keys(pilot, key)
            await pilot.pause(0.3)
            assert line(app, "say").startswith("Stay in your bay")
        await keys(pilot, "433E")
        await pilot.pause(0.3)
        assert "433" in line(app, "say"), "a number that is refused stays, and so does the reason"


async def test_a_ball_in_between_is_asked_for(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="number-between-drives")
    async with opened(app) as pilot:
        await keys(pilot, "E")
        assert line(app, "say").startswith("nothing typed")
        await keys(pilot, "74E")
        assert line(app, "typed") == "driver: hit it, then Enter"
        await keys(pilot, "8")
        assert "waits: Enter first counts the ball in between" in line(app, "say")
        await pilot.press("backspace")
        await keys(pilot, "E")
        assert line(app, "last") == "last: driver hit"
        await keys(pilot, "*")
        assert line(app, "typed") == "driver: hit it, then Enter"
        await keys(pilot, "/E")
        assert line(app, "say").startswith("nothing typed")
        assert [e.kind for e in playing(app).run.entries] == ["shot", "between", "undo", "void"]


async def test_lost_balls_count_the_cap_and_are_refused_without_one(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="miss-total-five")
    async with opened(app) as pilot:
        await keys(pilot, "-E")
        assert line(app, "last") == "last: lost left"
        await keys(pilot, ".")
        assert isinstance(app.screen, Choice)
        assert "Lost ball" in shown(app)
        rows = [name for _, name, _ in app.screen.choices]
        await keys(pilot, "2" * rows.index("Lost ball") + "E")
        assert texts(playing(app).run) == ["-", "lost"]
        assert line(app, "plain") == "yards so far 80"
    uncapped = make_app(player="Ada", drill="miss-total")
    async with opened(uncapped) as pilot:
        await keys(pilot, "-E")
        assert "a lost ball has no number here" in line(uncapped, "say")
        assert playing(uncapped).run.entries == ()
        await keys(pilot, "15E")
        assert texts(playing(uncapped).run) == ["-15"]
        await pilot.press("l")
        await pilot.pause()
        assert len(playing(uncapped).run.entries) == 1


async def test_a_far_number_is_asked_for_once_more(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="miss-total")
    async with opened(app) as pilot:
        await keys(pilot, "+350E")
        assert "350 is far for a miss" in line(app, "say")
        assert playing(app).run.entries == ()
        await keys(pilot, "B")
        await keys(pilot, "E")
        assert texts(playing(app).run) == ["+35"]
        await keys(pilot, "+350EE")
        assert texts(playing(app).run) == ["+35", "+350"]
        await keys(pilot, "+350E")
        assert len(playing(app).run.entries) == 2


async def test_a_key_that_means_nothing_says_so_and_changes_nothing(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="on-the-number")
    async with opened(app) as pilot:
        for key in ("q", "tab", "left", "plus", "f5", "Z"):
            await pilot.press(key)
            await pilot.pause()
            assert line(app, "say"), key
            assert "\n" not in line(app, "say")
            assert isinstance(app.screen, PlayScreen)
            assert app.screen.typed == ""
        await keys(pilot, "4x5")
        assert line(app, "typed") == "45▏"
        assert playing(app).run.entries == ()
        await pilot.press("num_lock", "left_shift")
        assert line(app, "typed") == "45▏"


async def test_leaving_keeps_the_run_and_go_on_takes_it_up(make_app: MakeApp, clock: Clock) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app) as pilot:
        await keys(pilot, "55/4")
        kept = playing(app)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
    clock.pass_minutes(3)
    later = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(later) as pilot:
        assert "go on" in shown(later)
        await keys(pilot, "E")
        await ready(pilot)
        assert playing(later).id == kept.id
        assert playing(later).run.entries == kept.run.entries
        assert line(later, "last") == "last: left"
        assert line(later, "elapsed") == "time 03:00"


async def test_give_up_ends_it_and_undo_takes_that_back(make_app: MakeApp, store: Store) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app) as pilot:
        await keys(pilot, "55")
        await pilot.press("x")
        await pilot.pause()
        assert isinstance(app.screen, ResultScreen)
        assert "given up" in line(app, "headline")
        await keys(pilot, "*")
        assert isinstance(app.screen, PlayScreen)
        assert line(app, "last") == "last: undone: given up"
        await pilot.press("x")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
    assert store.bests() == ()
    assert store.history()[0].ended == "given up"


async def test_a_note_by_the_block_alone_and_in_words(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app) as pilot:
        await keys(pilot, "5")
        await pilot.press("n")
        await pilot.pause()
        assert isinstance(app.screen, NoteChoice)
        await keys(pilot, "2E")
        assert line(app, "last") == "last: noted: ball or mat was wet"
        await pilot.press("n")
        await pilot.pause()
        await keys(pilot, "1")
        await keys(pilot, "8E")
        assert isinstance(app.screen, Question)
        await pilot.press(*"gusty", "enter")
        await pilot.pause()
        assert line(app, "last") == "last: noted: gusty"
        await pilot.press("n")
        await pilot.pause()
        await keys(pilot, "/")
        assert isinstance(app.screen, PlayScreen)
        notes = [e.text for e in playing(app).run.entries if e.kind is Kind.NOTE]
        assert notes == ["ball or mat was wet", "gusty"]
        await keys(pilot, "444")
        await pilot.press("n")
        await pilot.pause()
        await keys(pilot, "E")
        assert "noted: the wind got up" in shown(app)


async def test_what_can_not_be_written_yet_waits_in_order_and_is_not_shown_as_kept(
    make_app: MakeApp, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app(player="Ada", drill="miss-total")
    async with opened(app) as pilot:
        await keys(pilot, "-5E")
        with monkeypatch.context() as patch:
            full = DiskTrouble("the disk is full: make room")
            patch.setattr(Playing, "append", Mock(side_effect=full))
            await keys(pilot, "-15E")
            await said(pilot, "waiting for the disk: 1 to write (the disk is full: make room)")
            await keys(pilot, "+35E")
            assert isinstance(app.screen, PlayScreen)
            assert line(app, "plain") == "yards so far 5"
            assert line(app, "last") == "last: 5 left"
            # Leaving asks, and what is typed for a ball is no answer.
            await pilot.press("escape")
            assert isinstance(app.screen, Unwritten)
            await pilot.press("8", "7", "9", "3", "2")
            assert isinstance(app.screen, Unwritten)
            await pilot.press("enter")
            assert isinstance(app.screen, PlayScreen)
            assert len(store.entries(playing(app).id)) == 1
        app.records.try_again()
        await pilot.pause()
        await said(pilot, "")
        assert line(app, "last") == "last: 35 right"
        assert line(app, "plain") == "yards so far 55"
    (run,) = store.history()
    assert [entry.text for entry in store.entries(run.run)] == ["-5", "-15", "+35"]


async def said(pilot: Pilot[None], wanted: str) -> None:
    """Wait until a line is said."""
    for _ in range(2000):
        if line(pilot.app, "say") == wanted:
            return
        await pilot.pause(0.005)
    raise AssertionError(f"{wanted!r} was not said, but {line(pilot.app, 'say')!r}")


async def test_a_run_played_elsewhere_is_read_again(make_app: MakeApp, store: Store) -> None:
    app = make_app(player="Ada", drill="miss-total")
    async with opened(app) as pilot:
        await keys(pilot, "-5E")
        other = store.resume(playing(app).id, app.drills.catalogue.games)
        other.append(read("+35", other.run.game.ask))
        await keys(pilot, "-15E")
        assert line(app, "say").startswith("15 left was NOT kept: this run is being played elsew")
        assert line(app, "plain") == "yards so far 40"
        assert line(app, "last") == "last: 35 right"
        await keys(pilot, "-15E")
        assert texts(playing(app).run) == ["-5", "+35", "-15"]


RAISES = 'if state.held == {held}:\n            raise ZeroDivisionError("seven")\n        '


@pytest.mark.parametrize(
    ("before", "held"),
    [("if self.aim.holds(shot, ", 2), ("values: dict[", 3)],
    ids=["after", "readout"],
)
async def test_a_game_that_raises_ends_the_run_and_the_app_goes_on(
    make_app: MakeApp, home: Path, store: Store, before: str, held: int
) -> None:
    folder = home / "games"
    folder.mkdir()
    game = (bundled("games") / "lives.py").read_text().replace('id = "lives"', 'id = "sevens"')
    game = game.replace(before, RAISES.format(held=held) + before)
    (folder / "sevens.py").write_text(game)
    drill = (bundled("games") / "hold-the-corridor.toml").read_text()
    drill = drill.replace('"hold-the-corridor"', '"sevens"').replace('"lives"', '"sevens"')
    (folder / "sevens.toml").write_text(drill)
    allow(folder / "sevens.py")
    app = make_app(folders=[bundled("games"), folder], player="Ada", drill="sevens")
    async with opened(app) as pilot:
        assert isinstance(app.screen, PlayScreen), app.drills.catalogue.problems
        await keys(pilot, "555")
        assert isinstance(app.screen, Choice)
        said = " ".join(shown(app).split())
        assert "sevens.py, line" in said
        assert "ZeroDivisionError: seven" in said
        await keys(pilot, "E")
        assert isinstance(app.screen, HomeScreen)
        app.runs.play(app.drills.catalogue.drill("hold-the-corridor"))
        await ready(pilot)
        await keys(pilot, "5")
        assert playing(app).run.score == 1
    broken = next(run for run in store.history() if run.drill == "sevens")
    assert (broken.ended, broken.finished) == ("broken", False)
    assert [e.text for e in store.entries(broken.run)] == ["5", "5", "5"]


@pytest.mark.parametrize("sizes", [[(80, 24), (160, 50)], [(40, 24)]])
@pytest.mark.parametrize("drill", ["hold-the-corridor", "four-wedges-in-a-row", "miss-total"])
async def test_everything_fits(make_app: MakeApp, sizes: list[tuple[int, int]], drill: str) -> None:
    app = make_app(player="Ada", drill=drill)
    async with opened(app, sizes[0]) as pilot:
        for balls in range(3):
            if balls:
                await keys(pilot, "+5E" if drill == "miss-total" else "5")
            async for size in at_each(pilot, sizes if balls != 1 else sizes[::-1]):
                # On a phone what to do stands, until the first ball, where the large figure will.
                large = "brief" if size[0] < 80 and not balls else "digits"
                for name in ("plain", large, "lines", "beat", "keypad", "typed", "say"):
                    region = app.screen.query_one(f"#{name}").region
                    assert region.area, (name, size)
                    assert app.screen.region.contains_region(region), (name, size, region)
                if drill == "miss-total" and not balls:
                    # As shapes they are whole on a phone too.
                    assert "balls left 10 " + "●" * 10 in shown(app), size
                if balls == 2:
                    the_pad_and_the_target_fit(app)


@pytest.mark.usefixtures("counted")
async def test_a_phone_that_is_turned_keeps_its_target(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app, (80, 30)) as pilot:
        await keys(pilot, "555")
        await until(pilot, lambda: line(app, "chance").count("\n") == 1)
        async for size in at_each(pilot, [(40, 24), (80, 30), (40, 24), (80, 24), (40, 24)]):
            the_pad_and_the_target_fit(app)
            assert line(app, "chance").count("\n") == (size[0] == 80), size
            digits = app.screen.query_one(LargeDigits)
            assert digits.size.height == (5 if size[0] == 80 else 3), size


async def test_what_comes_of_the_chance_as_a_phone_is_turned_stays(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="hold-the-corridor")
    async with opened(app, (80, 24)) as pilot:
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        assert line(app, "chance").strip() == odds_words.WAITING
        screen.on_resize()
        screen._no_odds(ValueError("a game that raises"))
        await ready(pilot)
        assert line(app, "chance") == "no odds: a game that raises"


def the_pad_and_the_target_fit(app: DrillrunnerApp) -> None:
    """Both are large enough to be used, with the balls that were hit."""
    pad, target = app.screen.query_one(Keypad), app.screen.query_one(TargetWidget)
    assert pad.size.height >= 10
    assert target.size.height >= 3
    assert any(ball in target.picture for ball in "●▶")
    for key in pad.keys:
        at = pad.centre(key.name)
        assert pad.key_at(*at) is key
        # Its face is drawn where the finger goes.
        lines = [pad.render_line(y).text for y in (at.y - 1, at.y)]
        assert any(key.face in line[max(at.x - 6, 0) : at.x + 7] for line in lines), key


async def test_title_and_picture_follow_a_target_that_moves(make_app: MakeApp) -> None:
    app = make_app(player="Ada", drill="narrowing-fairway")
    async with opened(app) as pilot:
        assert str(app.screen.title) == "Driver · 40 yd wide · The fairway that narrows"
        await keys(pilot, "55")
        assert "36 yd wide" in str(app.screen.title)
        assert "in 2" in app.screen.query_one(TargetWidget).picture
        await keys(pilot, "*")
        assert "38 yd wide" in str(app.screen.title)
    climbed = make_app(player="Ada", drill="ladder-of-wedges")
    async with opened(climbed) as pilot:
        await keys(pilot, "41E")
        assert str(climbed.screen.title) == "Sand wedge, half · carry 50 yd · Ladder of wedges"
        # A ball at the rung before is no miss of this one.
        assert "short 0" in climbed.screen.query_one(TargetWidget).picture


async def test_what_is_replaced_while_it_opens_is_not_shown(
    ines: str, store: Store, make_app: MakeApp, catalogue: Catalogue
) -> None:
    playing = store.begin(ines, catalogue.drill("hold-the-corridor"))
    app = make_app(player="Ines")
    async with app.run_test() as pilot:
        await ready(pilot)
        for _ in range(2):
            app.open(doors.Play(playing, None))
        await ready(pilot)
        assert [type(screen) for screen in app.screen_stack] == [HomeScreen, PlayScreen]
        assert "in or out?" in shown(app)
