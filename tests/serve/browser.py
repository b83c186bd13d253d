"""A phone in Chromium: a page of a phone's size that is touched, over the DevTools protocol."""

from __future__ import annotations

import asyncio
import base64
import json
import shutil
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-port=0",
)
PATIENCE = 60.0
BEFORE = """
// Device emulation reports a wrong device-pixel-content-box: the terminal's script can do without.
const Observer = window.ResizeObserver;
window.ResizeObserver = class extends Observer {
  observe(node, options) {
    if (String(options?.box) === "device-pixel-content-box") throw new TypeError("not here");
    super.observe(node, options);
  }
};
"""


class Page:
    """One tab. requests: every address that it asked for. said: what it wrote to its console."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse, width: int, height: int) -> None:
        self._socket = socket
        self._numbers = count(1)
        self._answers: dict[int, asyncio.Future[Any]] = {}
        self._reading = asyncio.create_task(self._read())
        self.size = (width, height)
        self.requests: list[str] = []
        self.said: list[str] = []
        self.drawn = b""
        """All that the app drew on this page's last connection."""
        self.resized: tuple[int, int] | None = None
        """The size that the page told the app last, if it told one since it was connected."""

    async def _read(self) -> None:
        async for message in self._socket:
            told = json.loads(message.data)
            what = told.get("params", {})
            match told.get("method"):
                case "Network.requestWillBeSent":
                    self.requests.append(what["request"]["url"])
                case "Network.webSocketCreated":
                    self.requests.append(what["url"])
                    self.drawn, self.resized = b"", None
                case "Network.webSocketFrameReceived":
                    frame = what["response"]
                    if frame["opcode"] == 2:
                        self.drawn += base64.b64decode(frame["payloadData"])
                case "Network.webSocketFrameSent":
                    kind, *rest = json.loads(what["response"]["payloadData"])
                    if kind == "resize":
                        self.resized = (rest[0]["width"], rest[0]["height"])
                case "Log.entryAdded":
                    self.said.append(what["entry"]["text"])
                case "Runtime.exceptionThrown":
                    self.said.append(json.dumps(what["exceptionDetails"])[:400])
                case None if (waiting := self._answers.pop(told["id"], None)) is not None:
                    waiting.set_result(told)

    async def call(self, method: str, **params: Any) -> Any:
        """Ask the browser for something."""
        number = next(self._numbers)
        future = self._answers[number] = asyncio.get_running_loop().create_future()
        await self._socket.send_str(json.dumps({"id": number, "method": method, "params": params}))
        told = await asyncio.wait_for(future, PATIENCE)
        assert "error" not in told, (method, told)
        return told["result"]

    async def turn(self, width: int, height: int) -> None:
        """Hold the phone another way."""
        self.size = (width, height)
        await self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=3,
            mobile=True,
        )

    async def open(self, url: str) -> None:
        for domain in ("Page", "Network", "Log", "Runtime"):
            await self.call(f"{domain}.enable")
        await self.turn(*self.size)
        await self.call("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=5)
        await self.call("Page.addScriptToEvaluateOnNewDocument", source=BEFORE)
        await self.call("Page.navigate", url=url)

    async def js(self, expression: str) -> Any:
        """What an expression comes to in the page."""
        told = await self.call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    async def until(self, expression: str) -> Any:
        """Wait until an expression is true in the page."""
        end = time.monotonic() + PATIENCE
        while True:
            with suppress(AssertionError):
                if found := await self.js(expression):
                    return found
            assert time.monotonic() < end, (expression, self.said)
            await asyncio.sleep(0.05)

    async def touch(self, x: float, y: float, seconds: float = 0.03) -> None:
        """A finger, down and up."""
        point = [{"x": x, "y": y, "id": 0}]
        await self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=point)
        await asyncio.sleep(seconds)
        await self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def tap(self, selector: str) -> None:
        """A finger on an element."""
        box = await self.until(
            f"(() => {{ const e = document.querySelector({json.dumps(selector)});"
            "if (!e) return null; e.scrollIntoView({block: 'center'});"
            "const b = e.getBoundingClientRect();"
            "return b.width ? [b.x + b.width / 2, b.y + b.height / 2] : null })()"
        )
        await self.touch(*box)

    async def cell(self, column: int, row: int, columns: int, rows: int) -> tuple[float, float]:
        """Where a cell of the terminal lies on the page."""
        x, y, width, height = await self.until(
            "(() => { const b = document.querySelector('.xterm-screen')?.getBoundingClientRect();"
            "return b && b.width ? [b.x, b.y, b.width, b.height] : null })()"
        )
        return x + (column + 0.5) * width / columns, y + (row + 0.5) * height / rows

    async def picture(self, file: Path) -> None:
        """Keep what is on the screen."""
        told = await self.call("Page.captureScreenshot", format="png")
        file.write_bytes(base64.b64decode(told["data"]))


@asynccontextmanager
async def chromium(width: int, height: int) -> AsyncIterator[Page]:
    """A tab of this size in a browser of its own, with a profile that is thrown away."""
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        process = await asyncio.create_subprocess_exec(
            CHROMIUM,
            *FLAGS,
            f"--user-data-dir={profile}",
            "about:blank",
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.PIPE,
        )
        try:
            assert process.stderr is not None
            async with asyncio.timeout(PATIENCE):
                port = 0
                while not port:
                    line = (await process.stderr.readline()).decode()
                    if "listening on ws://" in line:
                        port = int(line.split("ws://")[1].split("/")[0].rpartition(":")[2])
            async with aiohttp.ClientSession() as http:
                async with http.get(f"http://127.0.0.1:{port}/json/list") as answer:
                    tabs = [tab for tab in await answer.json() if tab["type"] == "page"]
                url = tabs[0]["webSocketDebuggerUrl"]
                async with http.ws_connect(url, max_msg_size=0) as socket:
                    yield Page(socket, width, height)
        finally:
            process.kill()
            await process.wait()
