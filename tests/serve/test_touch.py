"""Played in Chromium by taps alone, on a phone's screen held either way."""

from __future__ import annotations

import os
import re
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit

import pyte
import pytest

from tests.serve.browser import CHROMIUM, Page, chromium
from tests.serve.world import served

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")
WAIT = 30.0
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
        end = time.monotonic() + WAIT
        while not re.search(pattern, text := "\n".join(self.screen())):
            assert time.monotonic() < end, f"{pattern!r} is not on the screen:\n{text}"
            await self.page.js("new Promise((done) => setTimeout(done, 50))")
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


def shots() -> int:
    """Balls on disk."""
    with closing(sqlite3.connect(os.environ["DRILLRUNNER_DB"])) as kept:
        return int(kept.execute("select count(*) from entry where kind = 'shot'").fetchone()[0])


async def come_in(page: Page, base: str) -> Finger:
    """First visit: a name in a field of the page, then the app."""
    await page.open(f"{base}/")
    await page.tap("#name")
    await page.call("Input.insertText", text="Ann")
    await page.tap("form button")
    await page.until("!!document.querySelector('.xterm-screen')")
    await page.until("!document.querySelector('#line').textContent")
    finger = Finger(page)
    await finger.until("Hold the corridor")
    return finger


async def picture(page: Page, name: str) -> None:
    """Kept where `DRILLRUNNER_PICTURES` says, to be looked at."""
    if folder := os.environ.get("DRILLRUNNER_PICTURES"):
        await page.picture(Path(folder) / f"{name}.png")


@pytest.mark.parametrize("size", [(390, 844), (844, 390)])
async def test_a_whole_drill_by_taps(home: Path, size: tuple[int, int]) -> None:
    with served() as server:
        async with chromium(*size) as page:
            finger = await come_in(page, server.base)
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
            before = shots()
            await finger.tap(IN, 0.02)
            await page.js("new Promise((done) => setTimeout(done, 60))")
            await finger.tap(IN, 0.02)
            await finger.until("held 5")
            assert shots() == before + 2
            await finger.tap(LEFT)
            await finger.until(r"(?s)\A(?!.*in or out)(?=.*\b5\b)")
            await picture(page, f"result-{size[0]}")
            assert shots() == 8
            # Nothing was asked of any other host, and nothing broke.
            hosts = {urlsplit(url).netloc for url in page.requests}
            assert hosts == {urlsplit(server.base).netloc}
            assert not [line for line in page.said if "Content Security" in line or "Error" in line]
