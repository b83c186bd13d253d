"""A finger on a phone in Chromium, and the server that it plays on."""

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

from tests.serve.browser import PATIENCE, Browser, Page
from tests.serve.world import Served


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
    """One server and one browser for many tests: each has a player and a phone of its own.

    base: the address at which the phones reach the server.
    """

    base: str
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
            await page.open(f"{self.base}/")
            await page.write("#name", f"Ann {next(self.numbers)}")
            await page.tap("form:has(#name) button")
            await page.until("!!document.querySelector('.xterm-screen')")
            await page.until("!document.querySelector('#line').textContent")
            finger = Finger(page)
            await finger.until("Hold the corridor")
            yield finger
            # Nothing was asked of any other host, and nothing broke.
            hosts = {urlsplit(url).netloc for url in page.requests}
            assert hosts == {urlsplit(self.base).netloc}
            assert not [line for line in page.said if "Content Security" in line or "Error" in line]


async def picture(page: Page, name: str) -> None:
    """Kept where `DRILLRUNNER_PICTURES` says, to be looked at."""
    if folder := os.environ.get("DRILLRUNNER_PICTURES"):
        await page.picture(Path(folder) / f"{name}.png")
