"""The first start, the first paint, and records that can't be opened."""

from __future__ import annotations

import json
import stat
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any, cast
from unittest.mock import Mock

import pytest
from textual import events
from textual.widgets import Input, OptionList

from drillrunner.app import words
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.dialog import Choice
from drillrunner.app.early import Early, early, early_as_listed
from drillrunner.app.facts import NOTHING
from drillrunner.app.records import Records
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.screens.new_player import NewPlayerScreen
from drillrunner.app.screens.play import PlayScreen
from drillrunner.app.themes import THEMES
from drillrunner.catalogue import listing
from drillrunner.catalogue.listing import Listing
from drillrunner.catalogue.loader import Catalogue, UnknownDrill
from drillrunner.rules.units import Unit
from drillrunner.store.errors import StoreError
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.app.conftest import played, ready, shown

MakeApp = Callable[..., DrillrunnerApp]


async def started(make_app: MakeApp) -> DrillrunnerApp:
    """An app that has started and was left: what the drills tell is kept since."""
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
    return app


AFTER_FIRST_PAINT = """
import asyncio, gc, sys
gc.disable()
from drillrunner.app.app import DrillrunnerApp
from drillrunner.catalogue.places import folders

painted = set()

class Watched(DrillrunnerApp):
    def stands(self):
        painted.update(sys.modules)
        painted.update(path.rpartition("/")[2] for path, _ in self.stylesheet.source)
        assert sys.argv[2] in self.export_screenshot().replace("&#160;", " ")
        super().stands()
        self.exit()

async def main():
    app = Watched(database=sys.argv[1], folders=folders(), drill=sys.argv[3] or None)
    async with app.run_test() as pilot:
        await pilot.pause()

asyncio.run(main())
assert gc.isenabled()
print(*sorted(filter(None, painted)))
"""
HEAVY = {"sqlmodel", "sqlalchemy", "alembic", "numpy", "plotext", "textual_plotext"}


def imported_at_first(database: str, shows: str, drill: str = "") -> set[str]:
    """What a start has imported and read when its first screen stands, on which this is shown."""
    command = [sys.executable, "-c", AFTER_FIRST_PAINT, database, shows, drill]
    return set(subprocess.run(command, capture_output=True, text=True, check=True).stdout.split())


def test_nothing_heavy_is_imported_before_the_first_paint(ines: str, database: str) -> None:
    first, second = (imported_at_first(database, "Hold the corridor") for _ in range(2))
    run = imported_at_first(database, "in or out?", "hold-the-corridor")
    assert {"textual", "pydantic", "sqlite3"} <= first
    assert {"textual", "sqlite3"} <= second & run
    assert not (first | second | run) & HEAVY
    # What the drills are was kept by the first start.
    assert "pydantic" not in second | run
    only_later = {"screens.tcss", "drillrunner.app.odds_worker"}
    assert "home.tcss" in second
    assert only_later.isdisjoint(second)
    assert only_later <= run


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_a_run_of_a_drill_as_it_was_listed_shows_what_the_drill_says(
    catalogue: Catalogue, unit: Unit
) -> None:
    who = PlayerInfo("1", "Ines", unit, None, None, False, None, None)
    facts = NOTHING._replace(player=who)
    seen = set()
    for drill in catalogue.drills:
        (listed,) = Listing.of(replace(catalogue, drills=(drill.in_unit(unit),)), lambda d: d, 0)[0]
        said, read = early_as_listed(facts, listed), early(facts, drill)
        if said is None or read is None:
            assert said is read
            continue
        seen.add(drill.id)
        assert told_of(said) == told_of(read)
        assert not said.run.between_due
    assert len(seen) > 20


def told_of(early: Early) -> list[object]:
    """What a screen tells of a run before its first ball, and what it takes it for."""
    as_read, run = cast("Any", early), early.run
    return [
        words.entitled(as_read),
        words.brief(as_read.drill),
        early.drill.fingerprint,
        early.drill.id,
        run.ask,
        run.score,
        run.game.better,
        [(name, str(value)) for name, value in run.now.readout.items()],
    ]


@pytest.mark.parametrize("field", ["aim", "colour"])
def test_a_listing_that_was_kept_by_other_code_opens_no_run(
    catalogue: Catalogue, field: str
) -> None:
    who = PlayerInfo("1", "Ines", "yd", None, None, False, None, None)
    facts = NOTHING._replace(player=who)
    drill = catalogue.drill("hold-the-corridor")
    (listed,) = Listing.of(replace(catalogue, drills=(drill,)), lambda d: d, 0)[0]
    assert listed.opening is not None
    assert early_as_listed(facts, listed) is not None
    ask = dict(listed.opening.ask)
    if ask.pop(field, None) is None:
        ask[field] = "red"
    assert early_as_listed(facts, listed._replace(opening=listed.opening._replace(ask=ask))) is None


async def test_a_run_shown_as_its_drill_was_listed_takes_what_was_typed_once_it_is_read(
    ines: str, make_app: MakeApp, database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    await started(make_app)
    app = make_app(drill="hold-the-corridor")
    reading = app.stands
    monkeypatch.setattr(app, "stands", lambda: None)
    async with app.run_test() as pilot:
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert "catalogue" not in vars(app.drills)
        told = shown(app)
        assert "in or out? 0 topped, lost" in told
        assert "to beat 3: 4 more" in told
        for key in "546":
            app.post_message(events.Key(key, key))
        await pilot.pause(0.1)
        # None is read against what was only listed: it waits for the drill, not for the disk.
        assert app.records.unwritten.kept
        reading()
        await ready(pilot)
        while not app.records.unwritten.kept:
            await pilot.pause(0.01)
        await ready(pilot)
        assert "held 1" in shown(app)
        id = app.screen.playing.id
    with Store.open(database) as store:
        assert [one.text for one in store.entries(id)] == ["5", "4", "6"]


async def test_a_drill_that_was_listed_and_can_be_read_no_more_is_told_of_on_home(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    await started(make_app)
    app = make_app(drill="hold-the-corridor")
    gone = UnknownDrill("no drill 'hold-the-corridor'")
    monkeypatch.setattr(app.drills, "drill", Mock(side_effect=gone))
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "no drill 'hold-the-corridor'" in shown(app)
        assert "Hold the corridor" in shown(app)


async def test_a_run_that_was_opened_meanwhile_is_offered_where_the_drill_was_listed(
    ines: str, make_app: MakeApp, store: Store, catalogue: Catalogue
) -> None:
    await started(make_app)
    played(store, ines, catalogue.drill("hold-the-corridor"), "5")
    app = make_app(drill="hold-the-corridor")
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, Choice)
        assert "has an open run" in shown(app)


async def test_what_was_kept_of_the_drills_gives_way_to_what_they_are(
    make_app: MakeApp, ines: str
) -> None:
    app = await started(make_app)
    first = app.drills.listing.drills[0]
    wrong = first._replace(title="Hold nothing", club="putter")
    listing.keep(app.drills.listing._replace(drills=(wrong,)), app.drills.folders, "yd")
    app = make_app()
    assert [drill.title for drill in app.drills.listing.drills] == ["Hold nothing"]
    async with app.run_test() as pilot:
        await ready(pilot)
        assert "Hold nothing" not in shown(app)
        # The cursor stays on that drill, wherever it stands in the whole list.
        assert first.title in shown(app)
    assert make_app().drills.listing == app.drills.listing


async def test_a_name_is_asked_for_at_once_where_nobody_gave_one_last_time(
    store: Store, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is typed before the records are open must find the field, and not the drills."""
    monkeypatch.setattr(Records, "open", lambda _: None)
    app = make_app()
    async with app.run_test() as pilot:
        await pilot.press(*"Mara")
        assert isinstance(app.screen, NewPlayerScreen)
        assert app.screen.query_one("#name", Input).value == "Mara"


async def test_first_start_asks_for_a_name_an_index_and_a_card_and_nothing_else(
    make_app: MakeApp, database: str
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, NewPlayerScreen)
        assert [field.id for field in app.screen.query(Input)] == ["name", "index"]
        await pilot.press("enter")
        assert "expected a name" in shown(app)
        await pilot.press(*"Ines", "enter", *"99", "enter")
        assert "expected an index" in shown(app)
        await pilot.press("backspace", "backspace", *"18,4", "space", *"women", "enter")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert app.player is not None
        found = app.player.name, app.player.index, app.player.column
        assert found == ("Ines", Decimal("18.4"), "women")
    store = Store.open(database)
    assert [player.name for player in store.players()] == ["Ines"]
    store.close()


async def test_a_first_start_can_be_answered_before_the_records_are_open(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    opening = app.records.open
    monkeypatch.setattr(app.records, "open", lambda: None)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press(*"Tobi", "enter", "enter")
        assert app.records.store is None
        assert "opening your records" in shown(app)
        opening()
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert app.player is not None
        assert app.player.name == "Tobi"


async def test_keys_pressed_before_the_records_are_open_are_kept(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    opening = app.records.open
    monkeypatch.setattr(app.records, "open", lambda: None)
    async with app.run_test() as pilot:
        await pilot.pause()
        assert "best 3" in shown(app)
        await pilot.press("enter")
        assert "opening your records" in shown(app)
        opening()
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)


async def test_balls_typed_before_the_records_are_open_wait_and_are_written_in_their_order(
    ines: str, make_app: MakeApp, database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app(drill="hold-the-corridor")
    opening = app.records.open
    monkeypatch.setattr(app.records, "open", lambda: None)
    async with app.run_test() as pilot:
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        # Home, under it, is made when one comes to it.
        assert not app.screen_stack[0].query(OptionList)
        await pilot.press("5", "4", "6", "asterisk")
        assert "waiting for the disk: 4 to write" in shown(app)
        assert "last:" not in shown(app)
        opening()
        await ready(pilot)
        while not app.records.unwritten.kept:
            await pilot.pause(0.01)
        await ready(pilot)
        assert "waiting" not in shown(app)
        run, id = app.screen.playing.run, app.screen.playing.id
        await pilot.press("escape")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "Hold the corridor" in shown(app)
    with Store.open(database) as store:
        assert [one.text for one in store.entries(id)] == ["5", "4", "6", "*"]
    assert len(run.shots) == 2


async def test_home_that_is_just_being_made_is_told_of_the_drills_later(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app(drill="hold-the-corridor")
    whole = HomeScreen.recompose

    async def told_in_its_midst(home: HomeScreen) -> None:
        app.tell("home")
        home.say("said meanwhile")
        await whole(home)

    monkeypatch.setattr(HomeScreen, "recompose", told_in_its_midst)
    async with app.run_test() as pilot:
        await ready(pilot)
        await pilot.press("escape")
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert "Hold the corridor" in shown(app)
        assert "said meanwhile" in shown(app)


async def test_a_run_left_before_the_records_are_open_leaves_nothing(
    ines: str, make_app: MakeApp, database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app(drill="hold-the-corridor")
    opening = app.records.open
    monkeypatch.setattr(app.records, "open", lambda: None)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("escape")
        assert isinstance(app.screen, HomeScreen)
        assert "Hold the corridor" in shown(app)
        opening()
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert app.records.store is not None
        assert app.records.store.open_runs() == ()


async def test_a_drill_named_at_the_start_opens_at_once_for_a_new_player(
    make_app: MakeApp,
) -> None:
    app = make_app(player="Tobi", drill="hold-the-corridor", sets=["lives=2", "aim.width=32"])
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.playing.player.name == "Tobi"
        assert app.screen.playing.drill.setting()["settings"] == {"lives": 2}


@pytest.mark.parametrize(
    ("drill", "sets", "said"),
    [
        ("hold-the-coridor", [], "did you mean hold-the-corridor"),
        ("hold-the-corridor", ["lives=0"], "lives"),
    ],
)
async def test_a_wrong_start_is_told_in_a_line(
    ines: str, make_app: MakeApp, drill: str, sets: list[str], said: str
) -> None:
    app = make_app(drill=drill, sets=sets)
    async with app.run_test(size=(160, 50)) as pilot:
        await ready(pilot)
        assert isinstance(app.screen, HomeScreen)
        assert said in shown(app)


async def test_records_that_cannot_be_opened_are_told_and_tried_again(
    make_app: MakeApp, database: str
) -> None:
    Path(database).parent.mkdir(parents=True)
    Path(database).write_bytes(b"this is no database at all" * 100)
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert isinstance(app.screen, Choice)
        said = shown(app)
        assert "try again" in said
        assert "quit" in said
        Path(database).unlink()
        await pilot.press("enter")
        await ready(pilot)
        assert app.records.store is not None
        assert isinstance(app.screen, NewPlayerScreen)


async def test_a_failing_action_is_told_and_tried_again(
    ines: str, make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.records.store is not None
        rows = app.screen.query_one("#drills", OptionList)
        rows.highlighted = rows.get_option_index("drill:hold-the-corridor")
        with monkeypatch.context() as broken:
            full = StoreError("the disk is full: make room, then try again")
            broken.setattr(Store, "settings", Mock(side_effect=full))
            await pilot.press("0")
            await ready(pilot)
            assert isinstance(app.screen, Choice)
            assert "the disk is full" in shown(app)
        await pilot.press("enter")
        await ready(pilot)
        assert "out of lives" in shown(app)


async def test_the_look_is_remembered_for_this_user_only(
    ines: str, make_app: MakeApp, home: Path
) -> None:
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.theme == next(iter(THEMES))
        await pilot.press("f4", "f4")
        await pilot.pause()
        chosen = app.theme
    file = home / "config" / "app.json"
    assert chosen == "sunlight"
    assert json.loads(file.read_text())["theme"] == chosen
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert make_app().theme == chosen


@pytest.mark.parametrize("content", ["{", '{"theme": 3}', '"x"', '{"theme": "no such look"}'])
async def test_a_spoilt_preferences_file_does_no_harm(
    ines: str, make_app: MakeApp, home: Path, content: str
) -> None:
    (home / "config").mkdir()
    (home / "config" / "app.json").write_text(content)
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        assert app.theme == next(iter(THEMES))
        assert isinstance(app.screen, HomeScreen)


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=list(THEMES))
def test_text_stands_out_from_its_ground(theme: object) -> None:
    """At least 7 to 1 for text and 4.5 to 1 for what is coloured (WCAG 2.2, 1.4.6 and 1.4.3)."""
    from textual.color import Color
    from textual.theme import Theme

    assert isinstance(theme, Theme)
    ground = Color.parse(theme.background or "")
    assert _contrast(Color.parse(theme.foreground or ""), ground) >= 7
    for name in ("primary", "success", "warning", "error"):
        assert _contrast(Color.parse(getattr(theme, name)), ground) >= 4.5, name


def _contrast(one: object, other: object) -> float:
    """The contrast ratio of WCAG 2.2, from its definition of relative luminance."""

    def luminance(color: object) -> float:
        parts = []
        for part in color.rgb:  # type: ignore[attr-defined]
            share = part / 255
            parts.append(share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4)
        return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


async def test_keys_in_one_burst_go_where_enter_leads(make_app: MakeApp) -> None:
    """As a terminal pastes them, or a script sends them: with no pause in between."""
    app = make_app()
    async with app.run_test() as pilot:
        await ready(pilot)
        for character in "Ines\r18.4\r":
            key = {"\r": "enter", ".": "full_stop"}.get(character, character)
            app.post_message(events.Key(key, character))
        await ready(pilot)
        assert app.player is not None
        assert (app.player.name, app.player.index) == ("Ines", Decimal("18.4"))
