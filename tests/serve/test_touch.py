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

    async def tap(self, pattern: str, seconds: float = 0.03) -> None:
        """A finger on the first group of a regular expression, on the lowest row that has it."""
        for row, line in reversed(list(enumerate(self.screen()))):
            if found := re.search(pattern, line):
                column = sum(found.span(1)) // 2
                place = await self.page.cell(column, row, self.columns, self.rows)
                await self.page.touch(*place, seconds)
                return
        raise AssertionError(f"{pattern!r} is not on the screen:\n" + "\n".join(self.screen()))


@dataclass(frozen=True)
class World:
    """One server and one browser for all tests: each has a player and a phone of its own."""

    server: Served
    browser: Browser
    database: Path

    def shots(self) -> int:
        """Balls on disk."""
        with closing(sqlite3.connect(self.database)) as kept:
            found = kept.execute("select count(*) from entry where kind = 'shot'").fetchone()
            return int(found[0])

    @asynccontextmanager
    async def phone(self, name: str, size: tuple[int, int]) -> AsyncIterator[Finger]:
        """First visit: a name in a field of the page, then the app."""
        async with self.browser.phone(*size) as page:
            page.beside.append(self.server.log)
            await page.open(f"{self.server.base}/")
            await page.write("#name", name)
            await page.tap("form button")
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
        yield World(server, browser, database)


async def picture(page: Page, name: str) -> None:
    """Kept where `DRILLRUNNER_PICTURES` says, to be looked at."""
    if folder := os.environ.get("DRILLRUNNER_PICTURES"):
        await page.picture(Path(folder) / f"{name}.png")


SIZES = pytest.mark.parametrize("size", [(390, 844), (844, 390)], ids=["upright", "across"])


@SIZES
async def test_a_whole_drill_by_taps(world: World, size: tuple[int, int]) -> None:
    shots, before = world.shots, world.shots()
    async with world.phone(f"Ann {size[0]}", size) as finger:
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
