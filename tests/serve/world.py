"""A server in a process of its own, and phones that talk to it as a page does."""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import ssl
import subprocess
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Iterator, Sequence
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path
from typing import Any

import aiohttp
import pyte

PATIENCE = 60.0
"""Seconds after which a wait has failed: many more than a busy machine needs."""


class Served:
    """A running `drillrunner serve`. base: its address, without a slash at the end."""

    def __init__(
        self, process: subprocess.Popen[str], base: str, shown: list[str], complaints: Path
    ) -> None:
        self.process = process
        self.base = base
        self.shown = shown
        """What it showed at the start, line by line."""
        self._complaints = complaints

    def log(self) -> str:
        """All that it and its apps complained about."""
        return self._complaints.read_text("utf-8", "replace")

    def end(self, number: int = signal.SIGTERM) -> float:
        """Send a signal, wait for the end; the seconds that it took."""
        began = time.monotonic()
        self.process.send_signal(number)
        self.process.wait(PATIENCE)
        return time.monotonic() - began

    def next_link(self) -> str:
        """The secret of the next link that it shows."""
        assert self.process.stdout is not None
        while line := self.process.stdout.readline():
            if found := re.search(r"/in#(\S+)", line):
                return found[1]
        raise AssertionError("no link was shown")


@contextmanager
def served(*words: str, env: dict[str, str] | None = None) -> Iterator[Served]:
    """Serve on a free port until the block is left."""
    command = [sys.executable, "-m", "drillrunner", "serve", "--port", "0", *words]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        complaints = Path(folder) / "stderr"
        with complaints.open("w") as heard:
            process = subprocess.Popen(
                command,
                stdout=subprocess.PIPE,
                stderr=heard,
                text=True,
                env={**os.environ, **(env or {})},
            )
        try:
            yield Served(process, *_base(process, complaints), complaints)
        finally:
            if process.poll() is None:
                process.terminate()
                try:
                    process.wait(5)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()
            if process.stdout is not None:
                process.stdout.close()


def _base(process: subprocess.Popen[str], complaints: Path) -> tuple[str, list[str]]:
    shown = []
    assert process.stdout is not None
    while line := process.stdout.readline():
        shown.append(line.rstrip())
        if found := re.match(r"(https?://[^/\s]+)/", line):
            return found[1], shown
    raise AssertionError(f"it did not serve: {complaints.read_text()}")


class Phone:
    """A phone: its cookie, its screen, and what the app told the page. trusts: a certificate."""

    def __init__(
        self, base: str, size: tuple[int, int] = (41, 38), trusts: str | None = None
    ) -> None:
        self.base = base
        self.size = size
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self.notes: dict[str, Any] = {}
        self.closed: int | None = None
        context = ssl.create_default_context(cafile=trusts)
        self.http = aiohttp.ClientSession(
            cookie_jar=aiohttp.CookieJar(unsafe=True),
            connector=aiohttp.TCPConnector(ssl=context if trusts else True),
        )
        self.socket: aiohttp.ClientWebSocketResponse | None = None

    @property
    def origin(self) -> dict[str, str]:
        return {"Origin": self.base}

    async def post(self, path: str, **form: str) -> tuple[int, str]:
        """Send a form; the status after all redirections, and the page."""
        url = f"{self.base}/{path}"
        async with self.http.post(url, data=form, headers=self.origin) as answer:
            return answer.status, await answer.text()

    async def get(self, path: str = "") -> tuple[int, str]:
        """Ask for a page."""
        async with self.http.get(f"{self.base}/{path}") as answer:
            return answer.status, await answer.text()

    async def connect(self) -> None:
        """Open the app, or come back to it."""
        columns, rows = self.size
        self.screen.reset()
        self.closed = None
        self.socket = await self.http.ws_connect(
            f"{self.base}/socket?width={columns}&height={rows}",
            headers=self.origin,
            max_msg_size=0,
        )

    async def send(self, *words: Any) -> None:
        assert self.socket is not None
        await self.socket.send_str(json.dumps(words))

    async def type(self, text: str) -> None:
        """Type on a keyboard."""
        await self.send("stdin", text)

    async def tap(self, column: int, row: int) -> None:
        """A finger at a cell, counted from 0."""
        await self.type(f"\x1b[<0;{column + 1};{row + 1}M")
        await self.type(f"\x1b[<0;{column + 1};{row + 1}m")

    async def tap_text(self, text: str) -> None:
        """A finger on the lowest place where a text stands."""
        for row, line in reversed(list(enumerate(self.screen.display))):
            if text in line:
                await self.tap(line.index(text) + len(text) // 2, row)
                return
        raise AssertionError(f"{text!r} is not on the screen:\n{self.text()}")

    def text(self) -> str:
        return "\n".join(self.screen.display)

    async def step(self, seconds: float) -> bool:
        """Take in one message; whether one came."""
        assert self.socket is not None
        try:
            # Its own limit begins anew with each ping, so that it would wait for ever.
            async with asyncio.timeout(max(seconds, 0.001)):
                message = await self.socket.receive()
        except TimeoutError:
            return False
        if message.type is aiohttp.WSMsgType.BINARY:
            self._stream.feed(message.data)
        elif message.type is aiohttp.WSMsgType.TEXT:
            kind, what = json.loads(message.data)
            self.notes[kind] = what
        else:
            self.closed = self.socket.close_code
            return False
        return True

    async def until(self, *patterns: str) -> str:
        """Take in what comes until all these regular expressions match the screen."""
        end = time.monotonic() + PATIENCE
        while not all(re.search(pattern, self.text()) for pattern in patterns):
            left = end - time.monotonic()
            if not await self.step(left) and (self.closed is not None or left <= 0):
                raise AssertionError(
                    f"{patterns} not on the screen ({self.closed}):\n{self.text()}"
                )
        return self.text()

    async def until_closed(self) -> int | None:
        """Take in what comes until the server closes; its code."""
        end = time.monotonic() + PATIENCE
        while self.closed is None and time.monotonic() < end:
            await self.step(end - time.monotonic())
        return self.closed

    async def drop(self) -> None:
        """The connection is gone."""
        assert self.socket is not None
        await self.socket.close()

    async def close(self) -> None:
        await self.http.close()


@asynccontextmanager
async def phone(base: str, player: str | None = None, **fields: Any) -> AsyncIterator[Phone]:
    """A phone; player: it comes in, and makes a new player of this name."""
    one = Phone(base, **fields)
    try:
        if player is not None:
            await one.get()
            await one.post("who", do="new", name=player)
        yield one
    finally:
        await one.close()


def children(pid: int) -> Sequence[int]:
    """The processes that came from one, and theirs (as Linux tells it)."""
    found: list[int] = []
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in map(int, task.read_text().split()):
            found += [child, *children(child)]
    return found
