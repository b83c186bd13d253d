"""What the page does besides drawing the app, in Chromium: read aloud, connected, dark, typed into.

One test, since all of it is one visit, and a browser is dear to start.
"""

from __future__ import annotations

import asyncio
import json
import re
from contextlib import suppress
from dataclasses import replace

import pytest

from tests.serve.browser import CHROMIUM, Page
from tests.serve.finger import World, picture

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")

IN = r"left\W+5? ?(in)\W+6? ?right"
LINE = "document.querySelector('#line').textContent"
GONE = "document.querySelector('#bar').classList.contains('gone')"
ALOUD = "document.querySelector('#aloud').textContent"
AREA = "document.querySelector('#terminal textarea')"
GROUND = (
    "(getComputedStyle(document.body).backgroundColor.match(/\\d+/g).slice(0, 3).map(Number)"
    ".reduce((a, b) => a + b) / 3)"
)
"""How light the page is, from 0 to 255."""
LOOKS = {"light": f"{GROUND} > 200", "dark": f"{GROUND} < 60"}
FRAMES = """
window.taps = [];
document.addEventListener("touchstart", (event) => {
  if (!event.target.closest("#terminal")) return;
  const spot = document.querySelector("#spot"), began = performance.now();
  // Asked for as the finger comes down, this is called before the very next frame is drawn.
  requestAnimationFrame(() => taps.push({
    seen: Number(getComputedStyle(spot).opacity) > 0,
    after: performance.now() - began,
  }));
}, { capture: true, passive: true });
true
"""


class Between:
    """Hands on what goes between phone and server, or breaks it off. base: the server's address."""

    def __init__(self, base: str) -> None:
        self._to = int(base.rpartition(":")[2])
        self._there: set[asyncio.StreamWriter] = set()
        self._tasks: set[asyncio.Task[None]] = set()
        self.gone = False

    async def begin(self) -> str:
        """Its own address."""
        self._server = await asyncio.start_server(self._met, "127.0.0.1", 0)
        return f"http://127.0.0.1:{self._server.sockets[0].getsockname()[1]}"

    async def _met(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if self.gone:
            writer.close()
            return
        far_reader, far_writer = await asyncio.open_connection("127.0.0.1", self._to)
        self._there |= {writer, far_writer}
        for pair in ((reader, far_writer), (far_reader, writer)):
            self._tasks.add(asyncio.create_task(self._hand(*pair)))

    @staticmethod
    async def _hand(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(OSError):
            while data := await reader.read(65536):
                writer.write(data)
                await writer.drain()
        writer.close()

    def go(self) -> None:
        """All connections break, and none comes about until `gone` is false."""
        self.gone = True
        while self._there:
            self._there.pop().transport.abort()

    async def end(self) -> None:
        self.go()
        self._server.close()
        await asyncio.gather(*self._tasks)


async def test_the_page_around_the_app(world: World) -> None:
    between = Between(world.server.base)
    base = await between.begin()
    try:
        async with replace(world, base=base).phone((390, 844)) as finger:
            page = finger.page
            await _has_a_manifest(page)
            for look in ("light", "dark", "light"):
                feature = {"name": "prefers-color-scheme", "value": look}
                await page.call("Emulation.setEmulatedMedia", features=[feature])
                await page.until(LOOKS[look])
            await finger.tap("(Hold the corridor)")
            await finger.until("in or out")
            await page.js(FRAMES)
            for ball in (1, 2):
                await finger.tap(IN)
                await page.until(f"/held {ball}\\b/.test({ALOUD})")
            await _opens_the_keyboard(page)
            between.go()
            await page.until(f"{LINE} === 'not connected: trying again' && {GONE}")
            await picture(page, "not-connected")
            # A finger is answered all the same, and what it typed is said to be nowhere.
            await finger.tap(IN)
            await page.until(f"{LINE} === 'not connected: that was not taken'")
            between.gone = False
            await page.until(f"!{LINE} && !{GONE}")
            await finger.until("held 2")
            # What a browser says of its own when a connection breaks.
            page.said[:] = [line for line in page.said if not re.search("WebSocket|net::ERR", line)]
            taps = await page.js("taps")
            assert [tap["seen"] for tap in taps] == [True] * 3, taps
    finally:
        await between.end()


async def _has_a_manifest(page: Page) -> None:
    told = await page.call("Page.getAppManifest")
    assert told["errors"] == []
    manifest = json.loads(told["data"])
    assert manifest["display"] == "standalone"
    for icon in manifest["icons"]:
        kind = f"fetch('static/{icon['src']}').then((a) => a.ok && a.headers.get('content-type'))"
        assert await page.js(kind) == icon["type"]
    wrong = (await page.call("Page.getInstallabilityErrors"))["installabilityErrors"]
    # A tab that shares no cookie with others keeps nothing, so that nothing can be installed in it.
    assert [error["errorId"] for error in wrong] in ([], ["in-incognito"])


async def _opens_the_keyboard(page: Page) -> None:
    assert await page.js(f"{AREA}.inputMode") == "none"
    await page.tap("#keys")
    await page.until(f"{AREA}.inputMode === 'text' && document.activeElement === {AREA}")
    await page.tap("#keys")
    await page.until(f"{AREA}.inputMode === 'none'")
