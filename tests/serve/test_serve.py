"""The whole thing: a server, phones, and balls typed on them."""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import sys
import time
from collections.abc import Generator, Iterator, Sequence
from contextlib import closing
from pathlib import Path

import pytest

from tests.serve.world import PATIENCE, Phone, Served, children, phone, served

linux = pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")


async def start_drill(one: Phone) -> None:
    """From home to the first ball of a corridor."""
    await one.connect()
    await one.until(r"Drills +\w", "Hold the corridor")
    await one.tap_text("Hold the corridor")
    await one.until("in or out", "Enter")


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("served") / "drillrunner.db"


@pytest.fixture(scope="module")
def servers(database: Path) -> Iterator[Iterator[Served]]:
    """One server for several tests; a new one where one of them has killed it."""
    folder = database.parent
    env = {f"DRILLRUNNER_{name.upper()}": str(folder / name) for name in ("config", "data")}
    env |= {"DRILLRUNNER_DB": str(database), "HOME": str(folder)}

    def running() -> Generator[Served, None, None]:
        while True:
            with served(env=env) as one:
                while one.process.poll() is None:
                    yield one

    with closing(running()) as them:
        yield them


@pytest.fixture
def server(servers: Iterator[Served]) -> Served:
    """One that runs, whatever came before; each test has players of its own on it."""
    return next(servers)


def balls(database: Path) -> int:
    """Balls on disk."""
    with closing(sqlite3.connect(database)) as kept:
        return int(kept.execute("select count(*) from entry").fetchone()[0])


async def test_a_phone_plays_and_goes_and_comes_back(server: Served, database: Path) -> None:
    async with phone(server.base, "Ann") as one:
        await start_drill(one)
        await one.tap_text(" long ")
        await one.until("last: long")
        assert one.notes["field"] == {"open": False}
        while "long" not in one.notes.get("aloud", {}).get("text", ""):
            assert await one.step(PATIENCE)
        assert "held 1" in one.notes["aloud"]["text"]
        await one.drop()
        await one.connect()
        await one.until("last: long")
        await one.tap_text(" long ")
        await one.until("held 2")
        assert balls(database) == 2


async def test_an_app_opened_twice_or_left_or_typed_into(server: Served) -> None:
    async with phone(server.base, "Bea") as one:
        await one.connect()
        await one.until("Hold the corridor")
        # A second page has the app; the first is told.
        first = one.socket
        await one.connect()
        second, one.socket = one.socket, first
        assert await one.until_closed() == 4001
        one.socket, one.closed = second, None
        await one.until("Hold the corridor")
        # A field of the app is told to the page, which types the whole of it.
        await one.type("p")
        await one.until("Name")
        await one.type("\r")
        while not one.notes["field"]["open"]:
            assert await one.step(PATIENCE)
        assert one.notes["field"]["value"] == "Bea"
        await one.type("\x1b[F\x15\x1b[200~Beate\x1b[201~\r")
        await one.until("Beate")
        # Left, it is closed, and the next start is a new one.
        await one.type("\x11")
        assert await one.until_closed() == 4000
        await one.connect()
        await one.until("Hold the corridor", "Beate")


@linux
async def test_where_the_server_is_killed_its_apps_end(server: Served) -> None:
    async with phone(server.base, "Cy") as one, phone(server.base, "Di") as other:
        for each in (one, other):
            await each.connect()
            await each.until("Hold the corridor")
        apps = children(server.process.pid)
        assert len(apps) >= 3
        server.end(signal.SIGKILL)
        await _end(apps)


async def _end(apps: Sequence[int]) -> None:
    """Wait until all of these processes have ended."""
    until = time.monotonic() + PATIENCE
    while any(os.path.exists(f"/proc/{pid}/cmdline") and _lives(pid) for pid in apps):
        assert time.monotonic() < until, apps
        await asyncio.sleep(0.05)


def _lives(pid: int) -> bool:
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@linux
async def test_no_more_phones_than_may_and_no_longer_and_all_end_when_asked_to(
    home: object,
) -> None:
    with served("--most", "2", "--keep", "0.05") as server:
        async with (
            phone(server.base, "Ann") as one,
            phone(server.base, "Bo") as two,
            phone(server.base, "Cy") as three,
        ):
            for each in (one, two):
                await each.connect()
                await each.until("Hold the corridor")
            assert len(children(server.process.pid)) == 3, "two apps, and what they come from"
            await three.connect()
            assert await three.until_closed() == 4008
            # Who is away gives way,
            await one.drop()
            await three.connect()
            await three.until("Hold the corridor")
            # and is waited for only so long: three seconds here.
            await two.drop()
            until = time.monotonic() + PATIENCE
            while len(children(server.process.pid)) > 2:
                assert time.monotonic() < until, "its app waits for ever"
                await asyncio.sleep(0.1)
            await two.connect()
            await two.until("Hold the corridor")
            # Asked to end, with one app that hangs and one that does not.
            apps = children(server.process.pid)
            assert len(apps) == 3
            os.kill(apps[-1], signal.SIGSTOP)
            server.end(signal.SIGTERM)
            await _end(apps)


async def test_where_there_is_no_fork_each_app_is_a_process(home: object) -> None:
    from drillrunner.serve.nursery import Order
    from drillrunner.serve.seats import Seats
    from drillrunner.serve.starter import starter

    drawn = bytearray()

    class Page:
        async def send_bytes(self, data: bytes) -> None:
            drawn.extend(data)

        async def send_str(self, data: str) -> None: ...

        async def close(self, *, code: int = 1000, message: bytes = b"") -> None: ...

    from drillrunner.catalogue.places import folders

    seats = Seats(starter(print, forks=False), 2, 60, time.monotonic)
    where = tuple(map(str, folders()))
    seat = await seats.open("a", Order(os.environ["DRILLRUNNER_DB"], where, "Ann", (41, 38)))
    await seat.attach(Page(), (41, 38))
    until = time.monotonic() + PATIENCE
    while b"corridor" not in drawn:
        assert time.monotonic() < until
        await asyncio.sleep(0.05)
    await seats.end()
    assert seat.over.is_set()
