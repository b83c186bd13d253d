"""`python -m tests.pictures`: draw the README's pictures anew, from the demo, into demo_data/."""

from __future__ import annotations

import asyncio
import os
import re
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from tempfile import TemporaryDirectory

from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.next_up import NextLine
from drillrunner.catalogue.loader import folders
from drillrunner.services.demo import build

HOME = Path(__file__).parents[1] / "demo_data"
DAY = date(2026, 5, 2)
NOW = datetime(2026, 5, 2, 17, 30, tzinfo=timezone(timedelta(hours=2)))
PLAYER = "Ines"
SIZE = (100, 30)

SCENES: dict[str, tuple[str | None, str]] = {
    "home": (None, ""),
    "history": (None, "0"),
    "play-corridor": ("hold-the-corridor", "555855455256555"),
    "play-miss": ("miss-total", "-15! +5! 0! +10! -5!"),
    "play-number": ("on-the-number", "47! 42! 46!"),
    "play-narrowing": ("narrowing-fairway", "55545"),
    "play-ladder": ("ladder-of-wedges", "42! 49! 55!"),
    "result": ("hold-the-corridor", "5558554552556554"),
}
"""Picture to the drill that it opens with, if any, and the keys that are pressed; `!` is Enter."""

NAMES = {"!": "enter", "+": "plus", "-": "minus"}


async def picture(database: str, name: str) -> str:
    """One scene as SVG."""
    drill, keys = SCENES[name]
    app = DrillrunnerApp(
        database=database,
        folders=folders()[:1],
        player=PLAYER,
        drill=drill,
        clock=lambda: NOW,
        demo=True,
    )
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        for key in keys.replace(" ", ""):
            await pilot.press(NAMES.get(key, key))
            await settled(pilot)
        for line in app.screen.query(NextLine):
            # It comes a moment after the rest.
            while not line.text:
                await pilot.pause(0.1)
        return plain(app.export_screenshot(title="drillrunner"))


async def settled(pilot: Pilot[None]) -> None:
    """Wait until nothing is left to do."""
    for _ in range(3):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
    await pilot.pause(0.1)


def plain(svg: str) -> str:
    """A picture without a window's buttons, that fetches no fonts, its parts named as each time."""
    svg = re.sub(r'\s*<g transform="translate\(26,22\)">\s*(<circle[^>]*/>\s*)+</g>', "", svg)
    svg = re.sub(r"\s*@font-face \{.*?\}", "", svg, flags=re.DOTALL)
    svg = svg.replace("Fira Code", "DejaVu Sans Mono")
    return re.sub(r"terminal-\d+", "terminal", svg)


def main() -> None:
    """Write every picture."""
    with TemporaryDirectory() as folder:
        os.environ["DRILLRUNNER_CONFIG"] = folder
        for name in SCENES:
            database = Path(folder) / f"{name}.db"
            build(database, DAY)
            (HOME / f"{name}.svg").write_text(asyncio.run(picture(str(database), name)), "utf-8")


if __name__ == "__main__":
    main()
