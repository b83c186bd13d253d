"""A phone in Chromium: a page of a phone's size that is touched, over the DevTools protocol."""

from __future__ import annotations

import asyncio
import base64
import json
import re
import shutil
import subprocess
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
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
    "--disable-extensions",
    # Each tab has a window of its own; one more would draw a frame for nobody.
    "--no-startup-window",
    # Where a container's shared memory is small, a page would fall over.
    "--disable-dev-shm-usage",
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


LIES_STILL = """
(async () => {
  const element = document.querySelector(%s);
  if (!element) return null;
  element.scrollIntoView({ block: "center", behavior: "instant" });
  const middle = () => {
    const box = element.getBoundingClientRect();
    return box.width ? [box.x + box.width / 2, box.y + box.height / 2] : null;
  };
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const before = middle();
  await frame();
  await frame();
  const now = middle();
  if (!before || !now || before[0] !== now[0] || before[1] !== now[1]) return null;
  return element.contains(document.elementFromPoint(...now)) ? now : null;
})()
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
        self.beside: list[Callable[[], str]] = []
        """What else is told when a wait has failed, such as the server's log."""
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
                case "Inspector.targetCrashed":
                    self.said.append("the page fell over")
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
        end, why = time.monotonic() + PATIENCE, ""
        while True:
            try:
                if found := await self.js(expression):
                    return found
            except AssertionError as error:  # a page that is just going away knows nothing
                why = str(error)
            if time.monotonic() > end:
                raise AssertionError(f"{expression} is not so. {why}\n{await self.state()}")
            await asyncio.sleep(0.05)

    async def state(self) -> str:
        """Where the page is, what stands there, and what it and its surroundings complained of."""
        try:
            there = await self.js("location.href + '\\n' + document.body.innerText")
        except (AssertionError, TimeoutError) as error:
            there = f"(it does not answer: {error!r})"
        parts = (there, *self.said, *self.requests, *(told() for told in self.beside))
        return "\n".join(parts)

    async def touch(self, x: float, y: float, seconds: float = 0.03) -> None:
        """A finger, down and up."""
        point = [{"x": x, "y": y, "id": 0}]
        await self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=point)
        await asyncio.sleep(seconds)
        await self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def push(self, x: float, y: float, by: float) -> None:
        """A finger down, pushed up or down, and lifted."""
        steps = [("touchStart", 0.0), *(("touchMove", by * part / 5) for part in range(1, 6))]
        for kind, moved in steps:
            point = [{"x": x, "y": y + moved, "id": 0}]
            await self.call("Input.dispatchTouchEvent", type=kind, touchPoints=point)
        await self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    async def tap(self, selector: str) -> None:
        """A finger on an element, as soon as it lies still with nothing above it."""
        await self.touch(*await self.until(LIES_STILL % json.dumps(selector)))

    async def write(self, selector: str, text: str) -> None:
        """Tap a field and type into it. The answer to a tap comes before what it does is done."""
        await self.tap(selector)
        field = f"document.querySelector({json.dumps(selector)})"
        await self.until(f"document.activeElement === {field}")
        await self.call("Input.insertText", text=text)
        await self.until(f"{field}.value === {json.dumps(text)}")

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


class Browser:
    """A running browser, with a profile that is thrown away. folder: what it may write into."""

    def __init__(self, folder: Path) -> None:
        assert CHROMIUM is not None
        self._complaints = folder / "complaints"
        with self._complaints.open("w") as heard:
            self._process = subprocess.Popen(
                [CHROMIUM, *FLAGS, f"--user-data-dir={folder / 'profile'}", "about:blank"],
                stdout=subprocess.DEVNULL,
                stderr=heard,
            )
        self._address = ""
        end = time.monotonic() + PATIENCE
        while not (found := re.search(r"listening on (ws://\S+)", self._complaints.read_text())):
            if self._process.poll() is not None or time.monotonic() > end:
                self.close()
                raise AssertionError(f"no browser: {self._complaints.read_text()}")
            time.sleep(0.02)
        self._address = found[1]

    def close(self) -> None:
        self._process.kill()
        self._process.wait()

    @asynccontextmanager
    async def phone(self, width: int, height: int) -> AsyncIterator[Page]:
        """A tab of this size, which shares no cookie with any other."""
        async with (
            aiohttp.ClientSession() as http,
            http.ws_connect(self._address, max_msg_size=0) as whole,
        ):

            async def ask(method: str, **params: Any) -> Any:
                await whole.send_str(json.dumps({"id": 1, "method": method, "params": params}))
                while "id" not in (told := await whole.receive_json(timeout=PATIENCE)):
                    pass
                assert "error" not in told, (method, told)
                return told["result"]

            context = (await ask("Target.createBrowserContext"))["browserContextId"]
            made = await ask("Target.createTarget", url="about:blank", browserContextId=context)
            place = self._address.split("/devtools/")[0]
            url = f"{place}/devtools/page/{made['targetId']}"
            async with http.ws_connect(url, max_msg_size=0) as socket:
                yield Page(socket, width, height)
            await ask("Target.disposeBrowserContext", browserContextId=context)
