"""The app under test: its own database, a clock that a test can set, and people at the keys."""

from __future__ import annotations

import asyncio
import os
import threading
import traceback
from collections.abc import AsyncIterator, Callable, Collection, Iterable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Any

import pytest
from textual._compositor import LayoutUpdate
from textual._context import active_app
from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.newest import HasQuestions, Newest
from drillrunner.app.painting import Sparing
from drillrunner.app.people import People
from drillrunner.app.screens import home as home_screen
from drillrunner.app.widgets.lists import BlockList
from drillrunner.catalogue import loader
from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue, folders
from drillrunner.rules import keypad
from drillrunner.store import background
from tests.shipped import CATALOGUE
from tests.store.world import as_made

if TYPE_CHECKING:
    from drillrunner.store.store import Store


FAR = float(os.environ.get("DRILLRUNNER_TEST_FAR", "0"))
"""Seconds by which each read and write of an app is set aside, as if its records were far away."""


class Clock:
    """A time that stands until a test moves it."""

    def __init__(self) -> None:
        self.at = datetime(2025, 5, 10, 17, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def pass_minutes(self, minutes: int) -> None:
        """Let some time pass."""
        self.at += timedelta(minutes=minutes)


@pytest.fixture(autouse=True)
def nobody_rests(monkeypatch: pytest.MonkeyPatch) -> None:
    """How hard each drill is, is worked out where a test is about that, and not beside others."""
    monkeypatch.setattr(home_screen, "CALM", 1e6)


async def nothing_to_do(_: float = 0, max_sleep: float = 1) -> None:
    """In place of Textual's `wait_for_idle`, which sleeps until the process idled for 20 ms: until
    no callback, no thread, nothing typed and no timer of the next 20 ms is left."""
    loop: Any = asyncio.get_running_loop()
    app = active_app.get()
    end = loop.time() + max_sleep
    quiet = 0
    while quiet < 2 and loop.time() < end:
        await asyncio.sleep(0)
        due = min((timer.when() for timer in loop._scheduled if not timer.cancelled()), default=end)
        if loop._ready:
            quiet = 0
        elif is_busy(app):
            quiet = 0
            await asyncio.sleep(0.002)
        elif due < loop.time() + 0.02:
            quiet = 0
            await asyncio.sleep(max(0, due - loop.time()))
        else:
            quiet += 1


def is_busy(app: object) -> bool:
    """Whether something typed has no answer yet, or a thread is at work."""
    return getattr(app, "is_answering", False) or any(
        thread.name == background.NAME for thread in threading.enumerate()
    )


@pytest.fixture(autouse=True)
def answered_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a Pilot wait for what was typed: it is taken in turn, and written by another thread."""
    whole = Pilot._wait_for_screen

    async def wait(pilot: Pilot[Any], timeout: float = 30.0) -> bool:
        done = await whole(pilot, timeout)
        app = pilot.app
        while getattr(app, "is_answering", False):
            await asyncio.sleep(0.001)
            done = await whole(pilot, timeout)
        return done

    monkeypatch.setattr(Pilot, "_wait_for_screen", wait)


@pytest.fixture(autouse=True)
def nobody_waits_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """A Pilot goes on as soon as there is nothing left to do."""
    monkeypatch.setattr("textual.pilot.wait_for_idle", nothing_to_do)
    monkeypatch.setattr("textual.app.wait_for_idle", nothing_to_do)


@pytest.fixture(autouse=True)
def nobody_counts(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """What the chances are is worked out where a test is about them."""
    if "counted" not in request.fixturenames:
        monkeypatch.setattr(Newest, "ask", lambda *_: None)


@pytest.fixture
def counted() -> None:
    """The chances are worked out, as in the app."""


@pytest.fixture(autouse=True)
def nobody_watches(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """A screen is painted where a test looks at it, and what is left at the end; not in between."""
    if "watched" in request.fixturenames:
        return
    paint, shut_down = Sparing.render_update, DrillrunnerApp._shutdown

    seen: set[Sparing] = set()

    def seldom(compositor: Sparing, full: bool = False, **of: Any) -> Any:
        if full:
            seen.add(compositor)
            return paint(compositor, full=True, **of)
        seen.discard(compositor)
        compositor._dirty_regions.clear()
        return None

    async def last(app: DrillrunnerApp) -> None:
        await nothing_to_do()
        if app._exception is None and app.screen_stack and app.screen._compositor not in seen:
            shown(app)
        await shut_down(app)

    monkeypatch.setattr(Sparing, "render_update", seldom)
    monkeypatch.setattr(DrillrunnerApp, "_shutdown", last)


@pytest.fixture
def watched() -> None:
    """Whatever changes is painted at once, as in a terminal."""


@pytest.fixture(autouse=True)
def bundled_drills_are_read_once(monkeypatch: pytest.MonkeyPatch, catalogue: Catalogue) -> None:
    """What came with the program is the same for every app: only other folders are read again."""
    whole = loader.load

    def load(of: Iterable[Path], clubs: Collection[str] | None = None) -> Catalogue:
        of = tuple(of)
        return catalogue if clubs is None and of == folders()[:1] else whole(of, clubs)

    monkeypatch.setattr(loader, "load", load)


@pytest.fixture(autouse=True)
def tables_are_made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A new database begins as a copy of one that the program has made."""
    from drillrunner.store import database

    tables, whole, one_at_a_time = as_made(), database._prepare, threading.Lock()

    def prepare(path: Path, there: bool) -> None:
        with one_at_a_time:
            whole(path, there)
            if not there and not path.stat().st_size:
                path.write_bytes(tables)

    monkeypatch.setattr(database, "_prepare", prepare)


@pytest.fixture(autouse=True)
def nobody_is_asked(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Who a test makes by naming them is asked for index and card where a test is about that."""
    if "asked" not in request.fixturenames:
        monkeypatch.setattr(People, "ask_the_new", lambda _: None)


@pytest.fixture
def asked() -> None:
    """Who is made by being named is asked, as in the app."""


@pytest.fixture(autouse=True)
def the_screen_never_waits(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The app reads and writes where it can be set aside, never straight on its loop's thread."""
    from drillrunner.store import aside
    from drillrunner.store.database import Database

    wrong = []

    def watched(whole: Callable[..., Any]) -> Callable[..., Any]:
        def begun(*of: Any) -> Any:
            if of_the_app() and not aside.waits():
                wrong.append("".join(traceback.format_stack(limit=12)))
            if FAR and aside.waits():
                aside.in_thread(partial(sleep, FAR))
            return whole(*of)

        return begun

    for name in ("reading", "reading_all", "reading_of", "writing", "migrating"):
        monkeypatch.setattr(Database, name, watched(getattr(Database, name)))
    yield
    assert not wrong, f"read or written on the screen's own thread:\n{wrong[0]}"


def of_the_app() -> bool:
    """Whether what runs now does so for an app, on its loop: no thread, and not the test itself."""
    if asyncio._get_running_loop() is None:
        return False
    task = asyncio.current_task()
    return task is None or task.get_name().startswith(("message pump", "Timer"))


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return CATALOGUE


@pytest.fixture
def database(home: Path) -> str:
    return str(home / "data" / "drillrunner.db")


@pytest.fixture
def store(database: str, clock: Clock, request: pytest.FixtureRequest) -> Iterator[Store]:
    """The records, to prepare before the app opens or to look at afterwards."""
    from drillrunner.store.store import Store

    if "ines" in request.fixturenames:
        Path(database).parent.mkdir(mode=0o700)
        Path(database).write_bytes(request.getfixturevalue("hers")[1])
    opened = Store.open(database, clock)
    yield opened
    opened.close()


@pytest.fixture
def make_app(database: str, clock: Clock) -> Callable[..., DrillrunnerApp]:
    """A fresh app on the test's database; keywords as of `DrillrunnerApp`."""

    def make(**options: object) -> DrillrunnerApp:
        options.setdefault("database", database)
        options.setdefault("folders", folders())
        options.setdefault("clock", clock)
        return DrillrunnerApp(**options)  # type: ignore[arg-type]

    return make


async def ready(pilot: Pilot[None]) -> None:
    """Wait until the records are open and what they led to is on the screen."""
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await worked_out(pilot)


async def at_each(
    pilot: Pilot[None], sizes: Iterable[tuple[int, int]]
) -> AsyncIterator[tuple[int, int]]:
    """The window at one size after the other, laid out."""
    for size in sizes:
        if pilot.app.size != size:
            await pilot.resize_terminal(*size)
            await pilot.pause()
        yield size


async def worked_out(pilot: Pilot[None]) -> None:
    """Wait until the odds have answered the screen on top."""
    await pilot.pause()
    while isinstance(screen := pilot.app.screen, HasQuestions) and not screen.questions.settled:
        await pilot.pause(0.01)


def played(store: Store, player: str, drill: Drill, *texts: str) -> str:
    """Play these entries through the real rules; the run's id."""
    playing = store.begin(player, drill)
    playing.append_all([keypad.read(text, playing.run.game.ask) for text in texts])
    return playing.id


@pytest.fixture(scope="session")
def hers(tmp_path_factory: pytest.TempPathFactory, catalogue: Catalogue) -> tuple[str, bytes]:
    """The id of Ines, and a database with what she has played, made once for all tests."""
    from drillrunner.store.store import Store

    file, clock = tmp_path_factory.mktemp("made") / "ines.db", Clock()
    with Store.open(file, clock) as store:
        player = store.add_player("Ines", index=Decimal("18.4"))
        drill = catalogue.drill("hold-the-corridor")
        for texts in ("5444", "555446", "55446"):
            played(store, player.id, drill, *texts)
            clock.pass_minutes(10)
    return player.id, file.read_bytes()


@pytest.fixture
def ines(store: Store, hers: tuple[str, bytes], clock: Clock) -> str:
    """A player with three finished runs of the corridor: 1, 3 and 2. Her id."""
    clock.pass_minutes(30)
    return hers[0]


def stand_on(app: DrillrunnerApp, drill: str) -> None:
    """Put the cursor of home on a drill."""
    rows = app.screen.query_one(BlockList)
    rows.highlighted = next(at for at, row in enumerate(rows.options) if row.id == f"drill:{drill}")


def shown(app: DrillrunnerApp) -> str:
    """Everything that stands on the screen now, line by line, without pieces that are blank."""
    update = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    assert isinstance(update, LayoutUpdate)
    return "\n".join(
        "".join(piece.text for strip in line for piece in strip if piece.text.strip(" "))
        for line in update.strips
    )
