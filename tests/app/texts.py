"""`python -m tests.app.texts`: every text on every screen, in tests/app/texts.txt, to be read.

The help, the keys and the drills stand whole; then each screen as it is drawn in 80 columns and 24
lines, number for number as `#`, so that only a change of words changes the file.
"""

from __future__ import annotations

import asyncio
import os
import re
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.help import TEXTS
from drillrunner.app.screens import home
from drillrunner.app.screens.home import HomeScreen
from drillrunner.app.words import brief, counting, setting
from drillrunner.catalogue.loader import folders, load
from tests.packaging.tables import bindings

FILE = Path(__file__).with_suffix(".txt")
NOW = datetime(2025, 5, 10, 17, 30, tzinfo=UTC)
SIZE = (80, 24)
DRAWING = re.compile("[\u2500-\u25ff\u2800-\u28ff]+")
"""Lines, blocks and dots: what is drawn, and not written."""

SCENES: dict[str, str] = {
    "home": "",
    "menu of home": ".",
    "in or out, before the first ball": "enter",
    "in or out": "enter enter 5 4 6",
    "menu of play": "enter enter .",
    "what means nothing": "enter enter q",
    "result": "enter enter 4",
    "history": "0",
    "a run": "0 enter",
    "pattern": "a",
    "how hard": "d",
    "match": "-",
    "session": "+",
    "cautions": "+ enter",
    "leaders": "@",
    "standings": "t",
    "calendar": "k",
    "stock carries": "c",
    "how wide": "w",
    "rounds": "r",
    "a new round": "r 5",
    "index": "i",
    "faults": "z",
    "players": "p",
    "about a player": "p 2 2 enter",
    "a miss": "2 2 enter",
    "a miss that is lost": "2 2 enter enter - enter",
    "a number": "1 8 8 enter",
}
"""Screens by the keys that lead there from home, one after another on the same records."""

NAMES = {"@": "at", ".": "full_stop", "-": "minus", "+": "plus"}


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


async def _settled(pilot: Pilot[None]) -> None:
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def screens(database: str) -> list[str]:
    """Each scene as it is drawn."""
    home.CALM = 1e6  # How hard each drill is, is a figure and no text.
    app = DrillrunnerApp(database=database, folders=folders()[:1], player="Ada", clock=lambda: NOW)
    found = []
    async with app.run_test(size=SIZE) as pilot:
        await _settled(pilot)
        for name, keys in SCENES.items():
            for key in keys.split():
                await pilot.press(NAMES.get(key, key))
                await _settled(pilot)
            found.append(f"== screen: {name}\n" + re.sub(r"\d+", "#", drawn(app)))
            while not isinstance(app.screen, HomeScreen):
                await pilot.press("escape")
                await _settled(pilot)
            await pilot.press("7")
    return found


def texts(folder: Path) -> str:
    """Everything, with `folder` for the records."""
    return "\n\n".join((*told(), *asyncio.run(screens(str(folder / "texts.db"))))) + "\n"


def main() -> None:
    """Write the file."""
    with TemporaryDirectory() as folder:
        os.environ["DRILLRUNNER_CONFIG"] = folder
        FILE.write_text(texts(Path(folder)), "utf-8")


if __name__ == "__main__":
    main()
