"""`python -m tests.app.texts`: every text on every screen, in tests/app/texts.txt, to be read.

The help, the keys, the drills and the report stand whole; then each screen as it is drawn in 80
columns and 24 lines, number for number as `#`, so that only a change of words changes the file.
"""

from __future__ import annotations

import asyncio
import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from decimal import Decimal
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from textual.pilot import Pilot
from textual.screen import Screen

from drillrunner.app import doors, odds_worker
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.help import TEXTS
from drillrunner.app.screens import home
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.words import brief, counting, setting
from drillrunner.catalogue.courses import load_courses
from drillrunner.catalogue.loader import Catalogue, folders, load
from drillrunner.cli.layout import setting_words
from drillrunner.practice.looking_back.report.page import page
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.ledger import Ledger
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.services.report import gather
from drillrunner.store.round_book import NewRound
from drillrunner.store.store import Store
from tests.app.conftest import stand_on, worked_out
from tests.packaging.tables import bindings
from tests.practice.worlds import Clock, block, plan

FILE = Path(__file__).with_suffix(".txt")
NOW = datetime(2025, 5, 10, 17, 30, tzinfo=UTC)
SIZE = (80, 24)
DRAWING = re.compile("[\u2500-\u25ff\u2800-\u28ff]+")
"""Lines, blocks and dots: what is drawn, and not written."""
NAMES = {"@": "at", ".": "full_stop", "-": "minus", "+": "plus", "*": "asterisk", "/": "slash"}
CORRIDOR = "hold-the-corridor"
LIVED = {CORRIDOR: ("5444", "555446", "5554546"), "on-the-number": ("43 48 45", "41 45")}
"""Runs that were played before, by drill: the entries of each."""


class World(NamedTuple):
    """What there is to look at: ids of a match, one begun, a session, a round, one half told."""

    match: str
    begun: str
    session: str
    card: str
    round: str


class Scene(NamedTuple):
    """A screen: on which drill home stands, what is done there first, and the keys after it."""

    keys: str = ""
    drill: str = CORRIDOR
    act: Callable[[DrillrunnerApp, World], object] | None = None


SESSION = plan(
    block("warm-up", 2, 4, title="Warm-up", note="Easy does it."),
    block("drill", 4, 10, title="Corridor", drill=CORRIDOR),
    block("find", 4, 6, title="Find", club="sand-wedge", swing="half", shots=6),
)


def lived(store: Store, clock: Clock, catalogue: Catalogue) -> World:
    """The records of an evening or two: runs, a match, a session, rounds, a goal, a thought."""
    games = catalogue.games
    ada = store.add_player("Ada", index=Decimal("18.4"))
    bo = store.add_player("Bo")
    for id, runs in LIVED.items():
        for texts in runs:
            playing = store.begin(ada.id, catalogue.drill(id))
            for text in texts.split() if " " in texts else texts:
                playing.append(read(text, playing.run.ask))
            clock.run(600)
    setup = Setup(("Ada", "Bo"))
    seats = [Seat(player, catalogue.drill(CORRIDOR)) for player in (ada, bo)]
    match = MatchDesk.start(store, games, seats, setup)
    entries = iter("54")
    while match.turn is not None:
        match.keep(read(next(entries, "4"), match.playing().run.ask))
    ledger = Ledger.start(store, ada, SESSION, Limits(10, 20), clock)
    ledger.ball(4)
    clock.run(100)
    ledger.done()
    playing = ledger.begin(catalogue.drill(CORRIDOR))
    for text in "55444":
        if not playing.run.over:
            playing.append(read(text, playing.run.ask))
            ledger.entered(playing)
            clock.run(20)
    ledger.left(playing)
    ledger.done()
    for carry in ("52", "55", "54", "57", "53", "55"):
        ledger.carry(carry)
        clock.run(20)
    ledger.reveal()
    ledger.stop()
    course = load_courses().courses[0]
    day, scores = date(2025, 5, 9), {"holes": list(range(1, 19))}
    new = NewRound(day, "score", course.id, course.as_kept, "white", scores)
    rounds = store.rounds.add(ada.id, new, new)
    for hole in range(1, 19):
        store.rounds.tell(rounds[0].id, hole, "hole", {"hole": hole, "score": 5})
    store.rounds.tell(rounds[1].id, 1, "hole", {"hole": 1, "score": 5})
    store.intents.set_goal(ada.id, Decimal("15"), date(2025, 9, 1), None)
    store.intents.set_thought(ada.id, "Turn, do not slide.")
    seats = [Seat(player, catalogue.drill("hold-the-narrow-corridor")) for player in (ada, bo)]
    begun = MatchDesk.start(store, games, seats, setup)
    return World(match.info.id, begun.info.id, ledger.id, rounds[0].id, rounds[1].id)


def _desk(app: DrillrunnerApp, match: str) -> MatchDesk:
    store = app.records.store
    assert store is not None
    return MatchDesk.resume(store, app.drills.catalogue.games, match)


SCENES: dict[str, Scene] = {
    "home": Scene(),
    "menu of home": Scene("."),
    "in or out, before the first ball": Scene("enter"),
    "in or out": Scene("enter 5 4"),
    "a run left open": Scene("enter"),
    "menu of play": Scene("enter enter ."),
    "what means nothing": Scene("enter enter q"),
    "result": Scene("enter enter 4 4 4"),
    "left or right, then a number": Scene("enter", "miss-total"),
    "a miss that is lost": Scene("enter - enter", "miss-total"),
    "a carry": Scene("enter 4 3 enter", "on-the-number"),
    "a carry too far": Scene("enter enter 4 3 3 enter", "on-the-number"),
    "strokes": Scene("enter 2", "nine-putts"),
    "a length left": Scene("enter 3 enter", "six-long-putts"),
    "a call and its carry": Scene("enter 5 8 enter", "call-the-number"),
    "two stations": Scene("enter 5", "wide-gate-narrow-gate"),
    "a corridor that narrows": Scene("enter 5", "narrowing-fairway"),
    "a rung of a ladder": Scene("enter", "ladder-of-wedges"),
    "green": Scene("", act=lambda app, world: app.open(doors.Green("green"))),
    "history": Scene("0"),
    "a run": Scene("0 enter"),
    "compare": Scene("0 b"),
    "which runs": Scene("0 f"),
    "settings beside": Scene(
        "", act=lambda app, world: app.open(doors.SettingsBeside(CORRIDOR, "Hold the corridor"))
    ),
    "then and now": Scene("", act=lambda app, world: app.open(doors.ThenAndNow())),
    "pattern": Scene("a"),
    "how hard": Scene("d"),
    "make a drill": Scene("f11"),
    "make a range": Scene("", act=lambda app, world: app.open(doors.MakeRange())),
    "holes": Scene("="),
    "match, to be set up": Scene("-"),
    "match": Scene(
        "5 5 4", act=lambda app, world: app.open(doors.MatchPlay(_desk(app, world.begun)))
    ),
    "match, result": Scene(
        "", act=lambda app, world: app.open(doors.MatchResult(_desk(app, world.match)))
    ),
    "leaders": Scene("@"),
    "standings": Scene("t"),
    "session plan": Scene("+"),
    "cautions": Scene("+ 2 2 2 enter"),
    "session, warm-up": Scene(
        "5", act=lambda app, world: app.sessions.begin(SESSION, Limits(10, 20))
    ),
    "session, drill": Scene("0", act=lambda app, world: app.sessions.go_on()),
    "session, find": Scene("0 enter enter 5 2 enter", act=lambda app, world: app.sessions.go_on()),
    "session, correct": Scene("enter /", act=lambda app, world: app.sessions.go_on()),
    "session, end": Scene("3", act=lambda app, world: app.sessions.go_on()),
    "summary": Scene("", act=lambda app, world: app.open(doors.Summary(world.session))),
    "calendar": Scene("k"),
    "stock carries": Scene("c"),
    "how wide": Scene("w"),
    "rounds": Scene("r"),
    "a new round": Scene("r 5"),
    "a round, hole by hole": Scene(
        "", act=lambda app, world: app.open(doors.RoundPlay(world.round))
    ),
    "a card": Scene("", act=lambda app, world: app.open(doors.RoundCard(world.card))),
    "courses": Scene("", act=lambda app, world: app.open(doors.Courses())),
    "a course": Scene("", act=lambda app, world: app.open(doors.CourseForm())),
    "index": Scene("i"),
    "goals": Scene("", act=lambda app, world: app.open(doors.Goals())),
    "where strokes go": Scene("q"),
    "faults": Scene("z"),
    "players": Scene("p"),
    "about a player": Scene("", act=lambda app, world: app.open(doors.AboutPlayer())),
    "clubs": Scene("", act=lambda app, world: app.open(doors.Clubs())),
    "help": Scene("?"),
}
"""Screens, one after another on the same records; the doors and keys begin at home."""


def drawn(app: DrillrunnerApp) -> str:
    """What stands on the screen, line by line."""
    strips = app.screen._compositor.render_strips()
    lines = ("".join(segment.text for segment in strip) for strip in strips)
    said = (" ".join(DRAWING.sub(" ", line).split()) for line in lines)
    return "\n".join(line for line in said if re.search("[a-z]", line))


def told() -> list[str]:
    """The texts that are there without a screen: help, keys, drills."""
    parts = [f"== help: {topic}\n{text}" for topic, text in TEXTS.items()]
    keys = dict.fromkeys(f"{binding.description}: {binding.tooltip}" for binding in bindings())
    parts.append("\n".join(("== keys", *keys)))
    for drill in load(folders()[:1]).drills:
        ask = drill.game().ask
        lines = (drill.title, setting(drill.setting()), brief(drill), counting(ask))
        parts.append("\n".join((f"== drill: {drill.id}", *lines)))
    return parts


def reported(store: Store, catalogue: Catalogue) -> str:
    """The words of the page for a coach, those that stand for its charts too."""
    (ada, *_) = store.players()
    html = page(gather(store, ada, Covered(), NOW, catalogue), setting_words)
    body = re.sub(
        r'<svg.*?aria-label="(.*?)".*?</svg>',
        r"<p>chart: \1</p>",
        html[html.index("<body>") :],
        flags=re.S,
    )
    lines = re.sub(r"</(?:p|h\d|li|tr|figcaption|article)>", "\n", body)
    words = unescape(re.sub(r"<[^>]+>", " ", lines)).replace("\N{NO-BREAK SPACE}", " ")
    said = (" ".join(line.split()) for line in words.splitlines())
    return "== report\n" + "\n".join(line for line in said if re.search("[a-z]", line))


async def _settled(pilot: Pilot[None]) -> None:
    """Wait until what was typed is on disk, what was asked for open, and the odds have answered."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    await app.workers.wait_for_complete()
    while not app.records.unwritten.kept:
        await pilot.pause(0.01)
    await worked_out(pilot)


@contextmanager
def unpainted() -> Iterator[None]:
    """Nothing is painted, which takes a third of the time; what is under a dialog is left out."""
    painting = Screen._compositor_refresh
    Screen._compositor_refresh = lambda self: None
    try:
        yield
    finally:
        Screen._compositor_refresh = painting


@contextmanager
def unoffered() -> Iterator[None]:
    """Home, to which each scene goes back, does not look each time for a better setting."""
    offering = odds_worker.offer
    odds_worker.offer = lambda *_: None
    try:
        yield
    finally:
        odds_worker.offer = offering


async def screens(database: str) -> list[str]:
    """The report, and each scene as it is drawn."""
    catalogue, clock = load(folders()[:1]), Clock()
    clock.at = NOW
    with Store.open(database, lambda: clock.at) as store:
        world = lived(store, clock, catalogue)
        found = [reported(store, catalogue)]
    home.CALM = 1e6  # How hard each drill is, is a figure and no text.
    app = DrillrunnerApp(
        database=database, folders=folders()[:1], player="Ada", clock=lambda: clock.at, watch=clock
    )
    with unpainted():
        return [*found, *await _scenes(app, world)]


async def _scenes(app: DrillrunnerApp, world: World) -> list[str]:
    first, *rest = SCENES
    async with app.run_test(size=SIZE) as pilot:
        await _settled(pilot)
        found = [await _scene(app, pilot, world, first)]
        with unoffered():
            return found + [await _scene(app, pilot, world, name) for name in rest]


async def _scene(app: DrillrunnerApp, pilot: Pilot[None], world: World, name: str) -> str:
    scene = SCENES[name]
    stand_on(app, scene.drill)
    if scene.act is not None:
        scene.act(app, world)
        await _settled(pilot)
    for key in scene.keys.split():
        await pilot.press(NAMES.get(key, key))
    await _settled(pilot)
    found = f"== screen: {name}\n{drawn(app)}"
    while not isinstance(app.screen, HomeScreen):
        await app.pop_screen()
    return found


def masked(text: str) -> str:
    """A text with a sign for each number."""
    return re.sub(r"\d+", "#", text)


def texts(folder: Path) -> str:
    """Everything, with `folder` for the records."""
    drawn = map(masked, asyncio.run(screens(str(folder / "texts.db"))))
    return "\n\n".join((*told(), *drawn)) + "\n"


def main() -> None:
    """Write the file."""
    with TemporaryDirectory() as folder:
        os.environ["DRILLRUNNER_CONFIG"] = folder
        FILE.write_text(texts(Path(folder)), "utf-8")


if __name__ == "__main__":
    main()
