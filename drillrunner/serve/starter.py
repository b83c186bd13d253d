"""How the server comes by an app: from the nursery where there is fork, else a process each."""

from __future__ import annotations

import asyncio
import json
import os
import socket
import sys
from asyncio.subprocess import DEVNULL, PIPE, Process
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Protocol

from drillrunner.serve.nursery import ENVIRONMENT, Order

PATIENCE = 30.0
"""Seconds that the nursery has for getting warm, and an app for being born."""
MODULE = "drillrunner.serve.nursery"
SAFE = ("-P", "-m", MODULE)
"""Nothing is imported from the folder that the server was started in."""


class NoApp(Exception):
    """An app could not be started; one line says why."""


@dataclass(frozen=True, slots=True)
class Link:
    """The two ends of a running app. kill: end it, whatever it is doing."""

    reader: asyncio.StreamReader
    writer: asyncio.StreamWriter
    kill: Callable[[], object]
    pid: int


class Starter(Protocol):
    """Starts apps."""

    async def begin(self) -> None:
        """Get ready. Raises NoApp."""

    async def start(self, order: Order) -> Link:
        """An app of its own process. Raises NoApp."""

    async def end(self) -> None:
        """End, with every app that is left."""


def starter(told: Callable[[str], object], forks: bool = hasattr(os, "fork")) -> Starter:
    """The one for this machine. told: hears each line that an app has to complain about."""
    return FromNursery(told) if forks else EachItsOwn(told)


def environment() -> dict[str, str]:
    """What an app's process finds."""
    return {**os.environ, **ENVIRONMENT}


async def _hear(process: Process, told: Callable[[str], object]) -> None:
    assert process.stderr is not None
    while True:
        try:
            line = await process.stderr.readline()
        except ValueError:
            continue
        if not line:
            return
        told(line.decode("utf-8", "replace").rstrip()[:500])


class FromNursery:
    """Apps that a warm parent forks. It is started anew if it should end."""

    def __init__(self, told: Callable[[str], object]) -> None:
        self._told = told
        self._process: Process | None = None
        self._one_at_a_time = asyncio.Lock()
        self._ending = False
        self._tasks: set[asyncio.Task[None]] = set()

    async def begin(self) -> None:
        ours, theirs = socket.socketpair()
        ours.setblocking(False)
        with theirs:
            self._process = await asyncio.create_subprocess_exec(
                sys.executable,
                *SAFE,
                str(theirs.fileno()),
                pass_fds=[theirs.fileno()],
                stdin=DEVNULL,
                stdout=DEVNULL,
                stderr=PIPE,
                env=environment(),
                start_new_session=True,
            )
        self._control = ours
        self._answers: asyncio.Queue[dict[str, int]] = asyncio.Queue()
        self._run(_hear(self._process, self._told))
        self._run(self._listen(ours, self._answers))
        if "ready" not in await self._answer():
            raise NoApp("the process that starts apps did not come up")

    def _run(self, work: object) -> None:
        task = asyncio.create_task(work)  # type: ignore[arg-type,var-annotated]
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _listen(self, control: socket.socket, answers: asyncio.Queue[dict[str, int]]) -> None:
        loop, rest = asyncio.get_running_loop(), b""
        with suppress(OSError):
            while data := await loop.sock_recv(control, 65536):
                *lines, rest = (rest + data).split(b"\n")
                for line in lines:
                    told = json.loads(line)
                    if "ended" not in told:
                        answers.put_nowait(told)
        answers.put_nowait({"gone": 1})

    async def _answer(self) -> dict[str, int]:
        try:
            return await asyncio.wait_for(self._answers.get(), PATIENCE)
        except TimeoutError:
            return {}

    async def start(self, order: Order) -> Link:
        async with self._one_at_a_time:
            if self._ending:
                raise NoApp("no app could be started: the server ends")
            if self._process is None or self._process.returncode is not None:
                await self.begin()
            ours, theirs = socket.socketpair()
            ours.setblocking(False)
            with theirs:
                try:
                    socket.send_fds(self._control, [order.line()], [theirs.fileno()])
                except OSError as error:
                    ours.close()
                    raise NoApp(f"no app could be started: {error.strerror}") from error
            told = await self._answer()
        if "started" not in told:
            ours.close()
            raise NoApp(f"no app could be started: {told.get('failed', 'its parent ended')}")
        pid = told["started"]
        reader, writer = await asyncio.open_connection(sock=ours)
        return Link(reader, writer, lambda: self._kill(pid), pid)

    def _kill(self, pid: int) -> None:
        with suppress(OSError):
            self._control.send(json.dumps({"kill": pid}).encode() + b"\n")

    async def end(self) -> None:
        self._ending = True
        if self._process is None:
            return
        with suppress(OSError):
            self._control.shutdown(socket.SHUT_RDWR)
        try:
            await asyncio.wait_for(self._process.wait(), 0.7)
        except TimeoutError:
            with suppress(ProcessLookupError):
                self._process.kill()
        self._control.close()


class EachItsOwn:
    """Apps that are each started from nothing, where there is no fork."""

    def __init__(self, told: Callable[[str], object]) -> None:
        self._told = told
        self._processes: set[Process] = set()
        self._tasks: set[asyncio.Task[None]] = set()

    async def begin(self) -> None:
        pass

    async def start(self, order: Order) -> Link:
        try:
            process = await asyncio.create_subprocess_exec(
                sys.executable,
                *SAFE,
                "--one",
                stdin=PIPE,
                stdout=PIPE,
                stderr=PIPE,
                env=environment(),
                start_new_session=True,
            )
        except OSError as error:
            raise NoApp(f"no app could be started: {error.strerror}") from error
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(order.line())
        self._processes.add(process)
        task = asyncio.create_task(self._watch(process))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return Link(process.stdout, process.stdin, lambda: _kill(process), process.pid)

    async def _watch(self, process: Process) -> None:
        await _hear(process, self._told)
        await process.wait()
        self._processes.discard(process)

    async def end(self) -> None:
        for process in list(self._processes):
            with suppress(ProcessLookupError):
                process.terminate()
        _, late = (
            await asyncio.wait([asyncio.create_task(p.wait()) for p in self._processes], timeout=1)
            if self._processes
            else ((), ())
        )
        if late:
            for process in list(self._processes):
                _kill(process)


def _kill(process: Process) -> None:
    with suppress(ProcessLookupError):
        process.kill()
