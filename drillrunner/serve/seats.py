"""The apps that run, one for each phone; a phone that went away finds its own again."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, Protocol

from drillrunner.serve import framing
from drillrunner.serve.nursery import Order
from drillrunner.serve.starter import Link, NoApp, Starter

SLOW = 5.0
"""Seconds after which a phone that takes nothing counts as gone."""
END = 0.6
"""Seconds that an app has to end once it was asked to."""
MODES = "\x1bc\x1b[?1049h\x1b[?25l\x1b[?1000h\x1b[?1003h\x1b[?1015h\x1b[?1006h\x1b[?2004h"
"""What the app told its terminal at the start, for a page that came back with a new one."""
PAGE = ("field", "aloud", "look", "prefer")
"""Notes of an app that are the page's."""


class Full(Exception):
    """As many phones play as may."""


class Page(Protocol):
    """The phone's end of a connection."""

    async def send_bytes(self, data: bytes) -> None: ...

    async def send_str(self, data: str) -> None: ...

    async def close(self, *, code: int = 1000, message: bytes = b"") -> Any: ...


class PhoneApp:
    """One phone's app. clock: seconds that only go forward."""

    def __init__(self, link: Link, size: tuple[int, int], clock: Callable[[], float]) -> None:
        self._link = link
        self._clock = clock
        self._page: Page | None = None
        self._first = True
        self.size = size
        self.left_at: float | None = clock()
        """When its phone went; `None` while it is here."""
        self.over = asyncio.Event()
        self._task = asyncio.create_task(self._run())
        self._goodbye: asyncio.Task[None] | None = None

    @property
    def pid(self) -> int:
        """The app's process."""
        return self._link.pid

    async def attach(self, page: Page, size: tuple[int, int]) -> None:
        """The phone is here, or here again: it sees what stands on the screen."""
        before, self._page = self._page, None
        if before is not None:
            # Not waited for: a page that has gone would keep the one that is here waiting.
            self._goodbye = asyncio.create_task(_told_to_go(before))
        self._page, self.left_at = page, None
        if not self._first:
            await self._show(page.send_bytes(MODES.encode()))
        self._first = False
        self.resize(size)
        self.note(type="anew")

    def detach(self, page: Page) -> None:
        """The phone went away; the app waits for it."""
        if self._page is page:
            self._page, self.left_at = None, self._clock()
            self.note(type="gone")

    def typed(self, text: str) -> None:
        """What was typed or tapped."""
        self._send(framing.typed_packet(text))

    def resize(self, size: tuple[int, int]) -> None:
        """The phone's screen has another size."""
        if size != self.size:
            self.size = size
            self.note(type="resize", width=size[0], height=size[1])

    def note(self, **what: Any) -> None:
        """Tell the app something."""
        self._send(framing.note(**what))

    async def drained(self) -> None:
        """Wait while the app has more before it than it takes."""
        with suppress(ConnectionError):
            await self._link.writer.drain()

    async def end(self) -> None:
        """End the app: asked first, then not."""
        self.note(type="quit")
        try:
            await asyncio.wait_for(self.over.wait(), END)
        except TimeoutError:
            self._link.kill()
        self.let_go()

    def let_go(self) -> None:
        """Nothing is told to the app any more."""
        self._link.writer.close()

    def _send(self, packet: bytes) -> None:
        if not self._link.writer.is_closing():
            with suppress(ConnectionError, RuntimeError):
                self._link.writer.write(packet)

    async def _run(self) -> None:
        reader = self._link.reader
        try:
            if await framing.hello(reader):
                while (found := await framing.packet(reader)) is not None:
                    await self._hear(*found)
        finally:
            self.over.set()
            self._link.writer.close()
            page, self._page = self._page, None
            if page is not None:
                with suppress(ConnectionError, RuntimeError):
                    await page.close(code=4000, message=b"the app was closed")

    async def _hear(self, kind: bytes, payload: bytes) -> None:
        page = self._page
        if kind == b"D" and page is not None:
            await self._show(page.send_bytes(payload))
        elif kind == b"M" and page is not None:
            told = json.loads(payload)
            if told.get("type") in PAGE:
                await self._show(page.send_str(json.dumps([told.pop("type"), told])))

    async def _show(self, sending: Any) -> None:
        """Give the phone something; one that takes nothing is let go, and its app goes on."""
        page = self._page
        try:
            await asyncio.wait_for(sending, SLOW)
        except (TimeoutError, ConnectionError, RuntimeError):
            if page is not None:
                self.detach(page)
                with suppress(TimeoutError, ConnectionError, RuntimeError):
                    await asyncio.wait_for(page.close(), 0.1)


async def _told_to_go(page: Page) -> None:
    with suppress(TimeoutError, ConnectionError, RuntimeError):
        await page.close(code=4001, message=b"opened elsewhere")


class Seats:
    """All of them, by the hash of the phone's cookie. most: how many at a time. keep: seconds that
    an app waits for a phone that went away."""

    def __init__(
        self, starter: Starter, most: int, keep: float, clock: Callable[[], float]
    ) -> None:
        self._starter = starter
        self._clock = clock
        self.most = most
        self.keep = keep
        self.taken: dict[str, PhoneApp] = {}
        self._starting: dict[str, asyncio.Lock] = {}

    async def open(self, phone: str, order: Order) -> PhoneApp:
        """The phone's app: the one that it left, or a new one. Raises Full, NoApp."""
        lock = self._starting.setdefault(phone, asyncio.Lock())
        async with lock:
            seat = self.taken.get(phone)
            if seat is not None and not seat.over.is_set():
                return seat
            await self._make_room(phone)
            seat = PhoneApp(await self._starter.start(order), order.size, self._clock)
            self.taken[phone] = seat
            return seat

    async def _make_room(self, phone: str) -> None:
        self._forget_over()
        starting = sum(lock.locked() for lock in self._starting.values()) - 1
        if len(self.taken) + starting < self.most:
            return
        # Whoever is not here gives way: their runs are on disk.
        away = [(s.left_at, key) for key, s in self.taken.items() if s.left_at is not None]
        if not away:
            raise Full(f"{self.most} phones play, and that is all that may: try again later")
        await self.close(min(away)[1])

    def _forget_over(self) -> None:
        self.taken = {key: seat for key, seat in self.taken.items() if not seat.over.is_set()}
        self._starting = {k: lock for k, lock in self._starting.items() if lock.locked()}

    async def close(self, phone: str) -> None:
        """End a phone's app, if it has one."""
        seat = self.taken.pop(phone, None)
        if seat is not None:
            await seat.end()

    async def sweep(self) -> None:
        """End the apps whose phones have been away for too long."""
        self._forget_over()
        late = self._clock() - self.keep
        for phone, seat in list(self.taken.items()):
            if seat.left_at is not None and seat.left_at <= late:
                await self.close(phone)

    async def end(self) -> None:
        """End them all at once; what has not ended by then goes with what started it."""
        seats, self.taken = list(self.taken.values()), {}
        for seat in seats:
            seat.note(type="quit")
        await _over(seats)
        await self._starter.end()
        for seat in seats:
            seat.let_go()
        await _over(seats)


async def _over(seats: Sequence[PhoneApp]) -> None:
    """Give all of them together a moment to end."""
    with suppress(TimeoutError):
        async with asyncio.timeout(END):
            for seat in seats:
                await seat.over.wait()


__all__ = ["Full", "NoApp", "Page", "PhoneApp", "Seats"]
