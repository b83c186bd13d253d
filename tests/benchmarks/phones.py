"""Phones on one server: tap to frame beside the same app in a terminal, and what a start costs.

A ball every eight seconds a phone; each tap is timed until the first bytes that the app draws for
it. `PHONES` and `SECONDS` in the environment change how many and how long, `LEFT` for how many
seconds all are left at home, where an app works out how hard each drill is. Memory is what an app
shares with no other, and what all of the server's processes hold together, by phone.
"""

from __future__ import annotations

import asyncio
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import AsyncExitStack
from pathlib import Path

from tests.benchmarks.ratio import Ratio
from tests.benchmarks.terminal import Terminal
from tests.serve.world import Phone, Served, children, phone, served

BALL = 8.0
STANDS = 0.7
"""Seconds after which home has read its records; how hard each drill is, it asks later."""
TICK = os.sysconf("SC_CLK_TCK")


def ratios() -> Iterator[Ratio]:
    """Seconds of a tap on a phone to those of a key in a terminal, for each number of phones."""
    counts = [int(n) for n in os.environ.get("PHONES", "1 4 16 40").split()]
    seconds = float(os.environ.get("SECONDS", "32"))
    bare = _terminal()
    for count in counts:
        told = asyncio.run(_phones(count, seconds))
        times = sorted(told.times)
        half, most = times[len(times) // 2], times[int(len(times) * 0.95)]
        print(
            f"  {count} phones: tap to frame p50 {half * 1000:.0f} ms, p95 {most * 1000:.0f} ms "
            f"({len(times)} balls, {told.lost} lost); a start {told.start_cpu:.2f} CPU s, left at "
            f"home {told.home_cpu:.2f}, with its drill {told.drill_cpu:.2f}; "
            f"{told.own:.0f} MiB of its own, {told.whole:.0f} with all "
            f"that is shared; a ball {told.ball_cpu * 1000:.0f} ms CPU; the server ended in "
            f"{told.end:.1f} s; load {os.getloadavg()[0]:.1f}",
            flush=True,
        )
        yield Ratio(
            f"{count} phones: tap to frame, beside a terminal", half * 1000, bare * 1000, "ms"
        )


def _terminal() -> float:
    """Half of the keys in a terminal are drawn within so many seconds."""
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, **_own(folder)}
        command = (sys.executable, "-m", "drillrunner", "play", "hold-the-corridor")
        terminal = Terminal((*command, "--player", "Ann"), env)
        try:
            terminal.until("in or out")
            terminal.settle(1.0)
            times = []
            for ball in range(1, 9):
                began = terminal.send("5")
                times.append(terminal.until(rf"held {ball}\b|balls {ball}\b") - began)
                terminal.settle(1.0)
            return sorted(times)[len(times) // 2]
        finally:
            terminal.close()


def _own(folder: str) -> dict[str, str]:
    return {
        "DRILLRUNNER_CONFIG": f"{folder}/config",
        "DRILLRUNNER_DATA": f"{folder}/data",
        "DRILLRUNNER_DB": f"{folder}/data/drillrunner.db",
    }


class Told:
    """What came of it."""

    def __init__(self) -> None:
        self.times: list[float] = []
        self.lost = 0
        self.start_cpu = self.home_cpu = self.drill_cpu = self.ball_cpu = self.end = 0.0
        self.own = self.whole = 0.0


async def _phones(count: int, seconds: float) -> Told:
    told = Told()
    with (
        tempfile.TemporaryDirectory() as folder,
        served("--most", str(count), env=_own(folder)) as server,
    ):
        async with AsyncExitStack() as stack:
            phones = [
                await stack.enter_async_context(phone(server.base, f"Player {n}"))
                for n in range(count)
            ]
            # One after the other, as people come; who is there already goes on taking in.
            ready, there = asyncio.Event(), []
            for one in phones:
                before = set(children(server.process.pid))
                await _come(one)
                await _take_in(one, STANDS)
                new = set(children(server.process.pid)) - before
                told.start_cpu += sum(_cpu(pid) for pid in new if _is_app(pid, server)) / count
                there.append(asyncio.create_task(_stay(one, ready)))
            ready.set()
            await asyncio.gather(*there)
            apps = [pid for pid in children(server.process.pid) if _is_app(pid, server)]
            told.home_cpu = sum(map(_cpu, apps)) / count
            await asyncio.gather(*map(_begin, phones))
            told.drill_cpu = sum(map(_cpu, apps)) / count
            before = sum(map(_cpu, apps))
            await asyncio.gather(
                *(_play(one, n * BALL / count, seconds, told) for n, one in enumerate(phones))
            )
            told.ball_cpu = (sum(map(_cpu, apps)) - before) / max(len(told.times), 1)
            told.own = sum(_mib(pid, r"Private_\w+") for pid in apps) / count
            every = (server.process.pid, *children(server.process.pid))
            told.whole = sum(_mib(pid, "Pss") for pid in every) / count
        told.end = server.end()
    return told


async def _come(one: Phone) -> None:
    await one.connect()
    await one.until("Hold the corridor")


async def _begin(one: Phone) -> None:
    await one.tap_text("Hold the corridor")
    await one.until("in or out")


async def _stay(one: Phone, ready: asyncio.Event) -> None:
    while not ready.is_set():
        await one.step(0.3)
    await _take_in(one, float(os.environ.get("LEFT", "2")))


async def _play(one: Phone, wait: float, seconds: float, told: Told) -> None:
    """Balls in, one every eight seconds; whatever comes meanwhile is taken in."""
    await _take_in(one, wait)
    held, until = 0, time.monotonic() + seconds
    while time.monotonic() < until:
        began = time.monotonic()
        await one.type("5")
        held += 1
        while not re.search(rf"held {held}\b", one.text()):
            if time.monotonic() - began > BALL:
                told.lost += 1
                break
            await one.step(BALL)
        else:
            told.times.append(time.monotonic() - began)
        await _take_in(one, BALL - (time.monotonic() - began))


async def _take_in(one: Phone, seconds: float) -> None:
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        await one.step(left)


def _is_app(pid: int, server: Served) -> bool:
    """Whether a process was forked by the one that is warm: its parent is a child of the server."""
    return int(_stat(pid)[1]) != server.process.pid


def _stat(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()


def _cpu(pid: int) -> float:
    fields = _stat(pid)
    return (int(fields[11]) + int(fields[12])) / TICK


def _mib(pid: int, what: str) -> float:
    """MiB of a process, by a line of what the kernel tells of its memory."""
    told = Path(f"/proc/{pid}/smaps_rollup").read_text()
    return sum(int(kib) for kib in re.findall(rf"^{what}:\s+(\d+)", told, re.MULTILINE)) / 1024
