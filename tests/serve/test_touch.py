"""Played in Chromium by taps alone, on a phone's screen held either way."""

from __future__ import annotations

import asyncio
import os
import re
import sqlite3
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, closing
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from urllib.parse import urlsplit

import pyte
import pytest

from tests.serve.browser import CHROMIUM, PATIENCE, Browser, Page
from tests.serve.world import Served, served

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")
IN, LEFT = r"left\W+5? ?(in)\W+6? ?right", r"(left)\W+5? ?in\W+6? ?right"
"""The row of keys that says left, in, right."""


class Finger:
    """What a phone shows, as text, and a finger on it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.columns, self.rows = 0, 0
        self._fed = b""

    def screen(self) -> list[str]:
        """The rows as they stand."""
        asked = [url for url in self.page.requests if "/socket?" in url][-1]
        width, height = (int(n) for n in re.findall(r"(?:width|height)=(\d+)", asked))
        if self.page.resized:
            width, height = self.page.resized
        if (width, height) != (self.columns, self.rows) or not self.page.drawn.startswith(
            self._fed
        ):
            self.columns, self.rows, self._fed = width, height, b""
            self._drawn = pyte.Screen(width, height)
            self._stream = pyte.ByteStream(self._drawn)
        self._stream.feed(self.page.drawn[len(self._fed) :])
        self._fed = self.page.drawn
        return list(self._drawn.display)

    async def until(self, pattern: str) -> str:
        """Wait until a regular expression matches the screen."""
        end = time.monotonic() + PATIENCE
        while not re.search(pattern, text := "\n".join(self.screen())):
            if time.monotonic() > end:
                raise AssertionError(
                    f"{pattern!r} is not on the screen:\n{text}\n{await self.page.state()}"
                )
            await asyncio.sleep(0.05)
        return text

    async def tap_until(self, *patterns: str) -> None:
        """A finger on the first of each pair of patterns, until the second stands."""
        for what, then in zip(patterns[::2], patterns[1::2], strict=True):
            await self.tap(what)
            await self.until(then)

    def place(self, pattern: str) -> tuple[int, int]:
        """The cell of a regular expression's first group, on the lowest row that has it."""
        for row, line in reversed(list(enumerate(self.screen()))):
            if found := re.search(pattern, line):
                return sum(found.span(1)) // 2, row
        raise AssertionError(f"{pattern!r} is not on the screen:\n" + "\n".join(self.screen()))

    async def find(self, pattern: str, there: str) -> None:
        """Push the list up in which `there` stands until a regular expression matches."""
        column, row = self.place(there)
        while not re.search(pattern, before := "\n".join(self.screen())):
            place = await self.page.cell(column, row, self.columns, self.rows)
            # Further than a tap may slip, and one step of the list.
            await self.page.push(*place, -30)
            await self.until(rf"(?s)\A(?!{re.escape(before)})")

    def keys(self) -> list[int]:
        """The rows on which keys are drawn."""
        return [row for row, line in enumerate(self.screen()) if line.count("▀") > 20]

    async def tap(self, pattern: str, seconds: float = 0.03) -> None:
        """A finger on the first group of a regular expression, on the lowest row that has it."""
        await self.until(pattern)
        await self.page.touch(
            *await self.page.cell(*self.place(pattern), self.columns, self.rows), seconds
        )


@dataclass(frozen=True)
class World:
    """One server and one browser for all tests: each has a player and a phone of its own."""

    server: Served
    browser: Browser
    database: Path
    numbers: Iterator[int]

    def shots(self) -> int:
        """Balls on disk."""
        with closing(sqlite3.connect(self.database)) as kept:
            found = kept.execute("select count(*) from entry where kind = 'shot'").fetchone()
            return int(found[0])

    @asynccontextmanager
    async def phone(self, size: tuple[int, int]) -> AsyncIterator[Finger]:
        """First visit: a name in a field of the page, then the app."""
        async with self.browser.phone(*size) as page:
            page.beside.append(self.server.log)
            await page.open(f"{self.server.base}/")
            await page.write("#name", f"Ann {next(self.numbers)}")
            await page.tap("form:has(#name) button")
            await page.until("!!document.querySelector('.xterm-screen')")
            await page.until("!document.querySelector('#line').textContent")
            finger = Finger(page)
            await finger.until("Hold the corridor")
            yield finger
            # Nothing was asked of any other host, and nothing broke.
            hosts = {urlsplit(url).netloc for url in page.requests}
            assert hosts == {urlsplit(self.server.base).netloc}
            assert not [line for line in page.said if "Content Security" in line or "Error" in line]


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    folder = tmp_path_factory.mktemp("phones")
    database = folder / "data" / "drillrunner.db"
    env = {f"DRILLRUNNER_{name.upper()}": str(folder / name) for name in ("config", "data")}
    env |= {"DRILLRUNNER_DB": str(database), "HOME": str(folder)}
    with served(env=env) as server, closing(Browser(folder)) as browser:
        yield World(server, browser, database, count(1))


async def picture(page: Page, name: str) -> None:
    """Kept where `DRILLRUNNER_PICTURES` says, to be looked at."""
    if folder := os.environ.get("DRILLRUNNER_PICTURES"):
        await page.picture(Path(folder) / f"{name}.png")


SIZES = pytest.mark.parametrize("size", [(390, 844), (844, 390)], ids=["upright", "across"])


@SIZES
async def test_a_whole_drill_by_taps(world: World, size: tuple[int, int]) -> None:
    shots, before = world.shots, world.shots()
    async with world.phone(size) as finger:
        page = finger.page
        await picture(page, f"home-{size[0]}")
        await finger.tap("(Hold the corridor)")
        await finger.until("in or out")
        keys = [n for n, line in enumerate(finger.screen()) if re.search(IN, line)]
        for ball in range(1, 4):
            await finger.tap(IN)
            await finger.until(f"held {ball}")
            # No key has moved under the finger.
            assert keys == [n for n, line in enumerate(finger.screen()) if re.search(IN, line)]
        await picture(page, f"play-{size[0]}")
        for left in (2, 1):
            await finger.tap(LEFT)
            await finger.until(f"lives left {left}")
        # Two taps 80 ms apart, let go between them: two balls.
        assert shots() == before + 5
        await finger.tap(IN, 0.02)
        await asyncio.sleep(0.06)
        await finger.tap(IN, 0.02)
        await finger.until("held 5")
        assert shots() == before + 7
        await finger.tap(LEFT)
        await finger.until(r"(?s)\A(?!.*in or out)(?=.*\b5\b)")
        await picture(page, f"result-{size[0]}")
        assert shots() == before + 8


@SIZES
async def test_a_session_with_its_acts_by_taps(world: World, size: tuple[int, int]) -> None:
    async with world.phone(size) as finger:
        plan = "Half an hour, one bucket"
        # What is put together is turned to fit as soon as the odds are known.
        await finger.tap_until("(Session)", "as it fits")
        await finger.find(plan, "(An hour)")
        await finger.tap_until(f"({plan})", "Start the clock")
        await picture(finger.page, f"cautions-{size[0]}")
        await finger.tap_until("(Start the clock)", "1 of 4")
        keys = finger.keys()
        await finger.tap_until("(pause)", r"go on\b", r"(go on)\b", r"7? *pause\b")
        assert keys == finger.keys()
        await finger.tap_until(r"\b(ball)\b", r"1/50|bucket: 1 of 50")
        await finger.tap_until("(undo)", r" 0/50|bucket: 0 of 50")
        await finger.tap_until("(skip)", "2 of 4", "(later)", "3 of 4")
        await picture(finger.page, f"session-{size[0]}")
        assert keys == finger.keys()
        await finger.tap_until("(begin)", "Esc Leave", "Esc (Leave)", "3 of 4")
        await finger.tap_until("(stop)", "What the session came to", "(Done)", "Hold the corridor")


@SIZES
async def test_a_match_by_taps(world: World, size: tuple[int, int]) -> None:
    shots, before = world.shots, world.shots()
    async with world.phone(size) as finger:
        page = finger.page
        await finger.tap_until("(Hold the corridor)", "in or out", "Esc (Leave)", r"Drills\b")
        await finger.tap_until("(Match)", "somebody new", "(somebody new)", "Who plays too")
        await page.write("#words", f"Bo {size[0]}")
        await page.tap("#field button")
        # The next question moves to where the page's field leaves room for it.
        await page.until("document.querySelector('#what').textContent.startsWith('As 18.4')")
        await finger.until("index and card")
        await page.tap("#field button")
        await page.until("document.querySelector('#field').hidden")
        # The row that starts it may have been pushed out of a low list; the key is always there.
        await finger.until(r"\b2 play")
        await finger.tap_until("5 (Start)", "Ann.* to play")
        keys = finger.keys()
        await finger.tap_until(IN, "Bo.* to play", LEFT, "Ann.* to play", LEFT, "Bo.* to play")
        assert keys == finger.keys()
        await picture(page, f"match-{size[0]}")
        for turn in ("Ann.*", "Bo.*", "Ann.*"):
            await finger.tap_until(LEFT, f"{turn} to play")
        await finger.tap(LEFT)
        await finger.until(r"(?s)\A(?!.*in or out).*Ann")
        await picture(page, f"match-result-{size[0]}")
        assert shots() == before + 7


@SIZES
async def test_a_round_typed_in_by_taps(world: World, size: tuple[int, int]) -> None:
    async with world.phone(size) as finger:
        await finger.tap_until("(Menu)", "How hard")
        await finger.find(r"Rounds\b", "(Pattern)")
        await finger.tap_until(r"(Rounds)\b", "New round", "(New round)", "Begin")
        await finger.tap_until("(How much)", "putts", "(How much)", "score only")
        await finger.tap_until("(Holes)", "the first nine", "(Begin)", r"hole 1\b")
        keys = finger.keys()
        for hole in range(1, 9):
            if hole % 2:
                await finger.tap_until(r"\b(5)\b", "5▏")
            await finger.tap_until("(Enter)", rf"hole {hole + 1} ")
            assert keys == finger.keys()
        await picture(finger.page, f"round-{size[0]}")
        await finger.tap("(Enter)")
        await finger.until(r"(?s)\A(?!.*hole 9 ).*\b9 holes|differential")
        await picture(finger.page, f"card-{size[0]}")
