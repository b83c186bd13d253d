"""Pattern and tuning: their figures are the command line's, and the block alone does it all."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from drillrunner.app import doors, odds_words, words
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.odds_worker import offer
from drillrunner.app.screens.clubs import ClubsScreen
from drillrunner.app.screens.history import HistoryScreen
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.pattern import PatternScreen, figures
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.screens.result import ResultScreen
from drillrunner.app.screens.tuning import TuningScreen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.app.widgets.pattern_view import PatternView
from drillrunner.catalogue.loader import Catalogue
from drillrunner.cli.main import main
from drillrunner.odds import desk
from drillrunner.odds.chance import Patterns, chance
from drillrunner.odds.pattern import Band
from drillrunner.odds.shape import Plausible
from drillrunner.odds.tune import tune
from drillrunner.odds.words import band
from drillrunner.rules.keypad import read
from drillrunner.services.demo import build
from drillrunner.store.store import Store
from tests.app.conftest import at_each, ready, shown, stand_on, worked_out

counted = pytest.mark.usefixtures("counted")

MakeApp = Callable[..., DrillrunnerApp]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's database, to be copied."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    build(path, date(2025, 5, 10))
    return path


@pytest.fixture
def months(demo: Path, database: str) -> str:
    """The database of the test, with eight weeks of practice in it."""
    Path(database).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(demo, database)
    return database


def line(app: DrillrunnerApp, id: str) -> str:
    """What stands in a line of the screen on top."""
    return str(app.screen.query_one(f"#{id}", Static).content)


async def come_to(pilot: Pilot[None], *of: str) -> None:
    """Open the pattern of a club (and swing), and wait for it."""
    await ready(pilot)
    pilot.app.push_screen(PatternScreen(*of))
    await worked_out(pilot)


async def choose(pilot: Pilot[None], name: str) -> None:
    """Choose a row of the list in front, with 8, 2 and Enter alone."""
    await pilot.pause()
    rows = pilot.app.screen.query_one(BlockList)
    for _ in range(rows.option_count):
        option = rows.highlighted_option
        if name in getattr(option.prompt if option else None, "left", ""):
            await pilot.press("enter")
            await worked_out(pilot)
            return
        await pilot.press("2")
    raise AssertionError(f"no row {name!r}")


@counted
async def test_the_figures_are_those_of_the_command_line(
    make_app: MakeApp, months: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = {}
    for club, swing in (("driver", "full"), ("sand-wedge", "half"), ("9-iron", "full")):
        of = [club, "--swing", swing, "--player", "Ines"]
        assert main(["pattern", *of, "--json", "--db", months]) == 0
        told[club, swing] = json.loads(capsys.readouterr().out)
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        for club, swing in told:
            await come_to(pilot, club, swing)
            for turn, want in enumerate(told[club, swing]):
                if turn:
                    await pilot.press("4")
                    await pilot.pause()
                assert app.screen.title == f"Pattern · {words.title_of(club, swing)}"
                the_figures_are(want, line(app, "figures-text"))
            app.pop_screen()


def the_figures_are(want: dict[str, Any], said: str) -> None:
    """What the command line tells of one direction is what is said on the screen."""
    across, shots = want["direction"] == "lateral", want["shots"]
    assert re.search(rf"(from|so far,) {shots} shots?\b", said)
    bias, half = want["bias"], want["half_width"]
    assert f"on average {words.off(bias['median'], across, 'yd')}\n" in said
    assert f"({words.off(bias['low'], across)} to {words.off(bias['high'], across)})" in said
    assert f"two in three within {half['median']:.1f} yd of there\n" in said
    assert f"({half['low']:.1f} to {half['high']:.1f})" in said
    assert list(want["inside"]) == ["20", "30", "40", "50", "60"]
    for width, found in want["inside"].items():
        inside = re.escape(band(Band(**found)))
        assert re.search(rf"{width} yd . {inside}", said), width


@counted
async def test_the_pattern_in_words_and_what_each_width_makes_of_a_drill(
    make_app: MakeApp, months: str, catalogue: Catalogue
) -> None:
    app = make_app(player="Mara")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("a")
        await worked_out(pilot)
        assert isinstance(app.screen, PatternScreen)
        assert app.records.store is not None
        assert app.player is not None
        drill = catalogue.drill("hold-the-corridor")
        best = app.records.store.best(app.player.id, drill.fingerprint)
        assert best is not None
        picture = desk.picture_of(app.records.store, app.player, "driver", "full")
        said = line(app, "figures-text")
        assert desk.side(picture.lateral, "lateral") in said
        assert "Hold the corridor" in said
        assert f"to beat {best.score}" in said
        for width in desk.WIDTHS:
            turned = drill.with_set([f"aim.width={width}"])
            game = turned.game()
            found = chance(game, game.start(), picture.patterns(game), best.score).chance
            row = next(row for row in said.splitlines() if f"{width} yd " in row[:8])
            assert row.endswith(f" {odds_words.share(found)}")
            assert ("≈" in row) == picture.lateral.by_shape(width)
            assert row.startswith("▸") == (width == drill.aim.width)
        assert "≈ by shape, not seen" in said
        await pilot.press("5")
        await pilot.pause()
        assert "Hold the narrow corridor" in line(app, "figures-text")
        await pilot.press("f")
        await pilot.pause()
        assert isinstance(app.screen, Choice)
        await choose(pilot, "Sand wedge, half")
        assert app.screen.title == "Pattern · Sand wedge, half"
        assert "no shots yet" in line(app, "above-key")
        await pilot.press("6")
        await pilot.pause()
        assert "SHORT AND LONG" in line(app, "figures-text")


@counted
async def test_a_guess_is_called_one_and_claims_no_side(make_app: MakeApp, ines: str) -> None:
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await come_to(pilot, "5-iron")
        said = line(app, "figures-text")
        assert "a guess so far, 0 shots" in said
        assert "sure\n" not in said.replace("8 in 10 sure", "")
        assert "you miss" not in said


@counted
async def test_metres_are_shown_to_who_reckons_in_them(make_app: MakeApp, months: str) -> None:
    with Store.open(months) as store:
        mara = store.player("Mara")
        assert mara is not None
        mara = store.change_player(mara.id, unit="m")
        picture = desk.picture_of(store, mara, "driver", "full", unit="m")
    app = make_app(player="Mara")
    async with app.run_test(size=(80, 24)) as pilot:
        await come_to(pilot, "driver")
        said = line(app, "figures-text")
        half = picture.lateral.half_width.median * 0.9144
        assert f"two in three within {half:.1f} m of there" in said
        share = odds_words.share(picture.lateral.inside(40 / 0.9144).median)
        assert re.search(rf"40 m +. {share}", said)


@counted
async def test_pattern_and_tuning_fit(make_app: MakeApp, months: str) -> None:
    sizes = [(40, 24), (80, 24), (160, 50)]
    app = make_app(player="Ines")
    async with app.run_test(size=sizes[0]) as pilot:
        await come_to(pilot, "driver")
        async for size in at_each(pilot, sizes):
            await the_pattern_fits(pilot, size[0] >= 80)
        app.pop_screen()
        app.push_screen(
            TuningScreen(app.drills.fitted(app.drills.catalogue.drill("hold-the-corridor")))
        )
        await worked_out(pilot)
        async for _ in at_each(pilot, reversed(sizes)):
            assert "Play it at width" in shown(app)


async def the_pattern_fits(pilot: Pilot[None], beside: bool) -> None:
    """The picture and the figures are whole, side by side or one below the other."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    assert isinstance(app.screen, PatternScreen)
    found, side = app.screen.portrait, app.screen.side
    assert found is not None
    assert side is not None
    assert all(len(row) <= 38 for row in figures(side, found.unit, found.drills[0]))
    view = app.screen.query_one(PatternView)
    assert view.size.height >= 8
    below = app.screen.query_one("#figures")
    assert (below.region.x >= view.region.right) == beside
    told = line(app, "figures-text")
    assert (told.index("on average") < told.index("inside  ")) == beside
    if not beside:
        # The table comes first, whole, with nothing to scroll; the picture lies under it.
        assert below.region.bottom <= view.region.y
        rows = line(app, "figures-text").splitlines()
        last = next(at for at, row in enumerate(rows) if f"{desk.WIDTHS[-1]} yd" in row)
        assert last < below.region.height, (rows, below.region)
    assert app.screen.query_one("#figures-text").size.width >= 38
    assert "●" in shown(app)
    below.scroll_home(animate=False)
    if not beside:
        await pilot.pause()
        assert below.max_scroll_y >= 6
        for _ in range(3):
            app.screen.action_scroll(2)
        await pilot.pause()
        assert below.scroll_y == 6, "keys in a row lose no line"
    await pilot.press("2", "2", "2", "2", "2", "2", "2")
    await pilot.pause()
    assert ("60 yd" if beside else "two in three within") in shown(app)
    keys = shown(app).rstrip().splitlines()[-1]
    assert ". Menu" in keys
    assert "/ Back" in keys


@counted
async def test_an_offer_where_a_drill_is_too_hard_and_the_way_to_play_it_so(
    make_app: MakeApp, months: str, catalogue: Catalogue
) -> None:
    with Store.open(months) as store:
        ines = store.player("Ines")
        assert ines is not None
        # Once in her life, and far better than she is.
        playing = store.begin(ines.id, catalogue.drill("hold-the-narrow-corridor"))
        for key in "5" * 19 + "4":
            playing.append(read(key, playing.run.ask))
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await worked_out(pilot)
        assert line(app, "offer") == ""
        stand_on(app, "hold-the-narrow-corridor")
        await worked_out(pilot)
        said = line(app, "offer")
        found = re.match("plainly too hard: <1 % to beat 19; at width ([0-9]+) it is ", said)
        assert found is not None, said
        width = int(found[1])
        assert width > 25
        drill = app.drills.fitted(app.drills.catalogue.drill("hold-the-narrow-corridor"))
        assert app.records.store is not None
        assert app.player is not None
        assert offer(app.records.store, app.player, drill, 19) is not None  # type: ignore[arg-type]
        await pilot.click("#offer")
        await worked_out(pilot)
        assert isinstance(app.screen, TuningScreen)
        assert "as it is set: <1 % to beat 19 · from " in line(app, "progress")
        await choose(pilot, f"Play it at width {width}")
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        playing = app.screen.playing
        assert playing.drill.setting()["aim"] == {"width": width}
        assert playing.best_before is None
        assert app.drills.fitted(app.drills.catalogue.drill(drill.id)).aim.width == 25


@counted
async def test_the_wanted_chance_and_the_score_turn_the_dial(
    make_app: MakeApp, ines: str, catalogue: Catalogue
) -> None:
    drill = catalogue.drill("hold-the-corridor")
    app = make_app(player="Ines")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        stand_on(app, "hold-the-corridor")
        await pilot.press("d")
        await worked_out(pilot)
        assert isinstance(app.screen, TuningScreen)
        assert app.records.store is not None
        assert app.player is not None
        picture = desk.picture_of(app.records.store, app.player, "driver", "full")

        asked = set()

        def wanted(share: float, beat: int) -> str:
            found = tune(drill, lambda turned: picture.patterns(turned.game()), beat, share)  # type: ignore[arg-type]
            asked.add(found.value)
            return f"Play it at width {found.value}"

        best = app.records.store.best(app.player.id, drill.fingerprint)
        assert best is not None
        assert best.score is not None
        beat = int(best.score)
        assert wanted(0.5, beat) in shown(app)
        await pilot.press("6", "6")
        await worked_out(pilot)
        assert "60 %" in shown(app)
        assert wanted(0.6, beat) in shown(app)
        await pilot.press("2", "4")
        await worked_out(pilot)
        assert app.screen.beat == beat - 1
        assert wanted(0.6, beat - 1) in shown(app)
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("end", "backspace", "backspace", "x", "enter")
        await pilot.pause()
        assert "expected a score" in shown(app)
        await pilot.press("backspace", "9", "enter")
        await worked_out(pilot)
        assert wanted(0.6, 9) in shown(app)
        assert len(asked) == 4, "each of them is another width"


async def test_result_history_and_clubs_lead_to_the_pattern(make_app: MakeApp, ines: str) -> None:
    app = make_app(player="Ines", drill="hold-the-corridor")
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(pilot)
        await pilot.press("4", "4", "4")
        await worked_out(pilot)
        assert isinstance(app.screen, ResultScreen)
        for name, kind in (("Pattern", PatternScreen), ("How hard", TuningScreen)):
            await pilot.press("full_stop")
            await choose(pilot, name)
            assert isinstance(app.screen, kind)
            await pilot.press("slash")
            await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        stand_on(app, "hold-the-corridor")
        await pilot.press("0")
        await worked_out(pilot)
        assert isinstance(app.screen, HistoryScreen)
        await pilot.press("full_stop")
        await choose(pilot, "Pattern")
        assert isinstance(app.screen, PatternScreen)
        app.pop_screen()
        app.push_screen(ClubsScreen())
        await choose(pilot, "Driver")
        await choose(pilot, "shot pattern")
        assert app.screen.title == "Pattern · Driver"


def test_the_middle_score_of_a_known_pattern(catalogue: Catalogue) -> None:
    """Lives with p = 0.8 and L = 1: hits are geometric, so half of all runs reach 3 or fewer

    (1 - 0.8^k first reaches a half at k = 4 balls, that is 3 hits: Feller, vol. 1, the geometric
    law; the value is computed).
    """
    drill = catalogue.drill("hold-the-corridor").with_set(["lives=1"])
    spread = 20 / 1.2815515655446004  # the normal quantile of 0.9, from memory; NIST 1.3.6.7.1
    patterns = Patterns(lateral=Plausible.known(0.0, spread, "normal"))
    assert desk.middle(drill.game(), patterns) == 3


@counted
async def test_calls_against_carries_how_far_off_which_way_and_better_or_not(
    make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    ada = store.add_player("Ada")
    playing = store.begin(ada.id, catalogue.drill("call-the-number"))
    for text in [
        "70:61",
        "70:62",
        "71:60",
        "69:61",
        "70:63",
        "64:61",
        "63:61",
        "62:60",
        "64:62",
        "62:61",
    ]:
        playing.append(read(text, playing.run.ask))
    app = make_app(player="Ada")
    async with app.run_test(size=(80, 30)) as pilot:
        await ready(pilot)
        app.open(doors.Pattern("sand-wedge"))
        await worked_out(pilot)
        assert isinstance(app.screen, PatternScreen)
        for _ in range(3):
            if "OFF YOUR CALLS" in shown(app):
                break
            await pilot.press("6")
            await worked_out(pilot)
        text = shown(app)
        assert "OFF YOUR CALLS" in text
        assert "you call it too far" in text
        assert "nearer than before" in text
        assert "2.0 yd off lately, 8.6 before" in text
