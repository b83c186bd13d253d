"""The server in the test's own process, with apps that are a few lines."""

from __future__ import annotations

import asyncio
import os
import socket
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from drillrunner.serve.framing import HELLO, packet, typed_packet
from drillrunner.serve.guard import Guard, Tries
from drillrunner.serve.nursery import Order
from drillrunner.serve.players import Players
from drillrunner.serve.seats import Seats
from drillrunner.serve.server import Server, ServeSettings, listen
from drillrunner.serve.starter import Link
from drillrunner.store.store import Store


class Echoes:
    """Starts apps that say whose they are, and then what was typed."""

    def __init__(self) -> None:
        self.tasks: list[asyncio.Task[None]] = []

    async def begin(self) -> None: ...

    async def start(self, order: Order) -> Link:
        ours, theirs = socket.socketpair()
        self.tasks.append(asyncio.create_task(self._live(theirs, order)))
        reader, writer = await asyncio.open_connection(sock=ours)
        return Link(reader, writer, lambda: None, 0)

    async def _live(self, end: socket.socket, order: Order) -> None:
        reader, writer = await asyncio.open_connection(sock=end)
        writer.write(HELLO)
        while (told := await packet(reader)) is not None:
            if told[0] == b"D":
                writer.write(typed_packet(f"typed {told[1].decode()}\r\n"))
            elif b"anew" in told[1]:
                writer.write(typed_packet(f"the app of {order.player}\r\n"))
            elif b"quit" in told[1]:
                break
        writer.close()

    async def end(self) -> None:
        for task in self.tasks:
            task.cancel()


@dataclass
class Here:
    """A running server. links: the secrets that were shown."""

    base: str
    guard: Guard
    links: list[str] = field(default_factory=list)


@asynccontextmanager
async def here(
    pin: str | None = None, open: bool = True, most: int = 4, private: bool = False
) -> AsyncIterator[Here]:
    """Serve until the block is left."""
    links: list[str] = []
    guard = Guard(
        pin=pin, open=open and pin is None, tries=Tries(time.monotonic), on_used=links.append
    )
    links.append(guard.link)
    database = os.environ["DRILLRUNNER_DB"]
    settings = ServeSettings(["localhost"], database, (), most, private, False)
    store = Store.open(database)
    seats = Seats(Echoes(), most, 60, time.monotonic)
    server = Server(settings, guard, store.phones, Players(store, private), seats, print)
    with socket.create_server(("127.0.0.1", 0)) as handle:
        stop = await listen(server, handle, None)
        await server.begin()
        try:
            yield Here(f"http://127.0.0.1:{handle.getsockname()[1]}", guard, links)
        finally:
            await stop()
            store.close()
