"""Work in a thread of its own that keeps nobody from leaving.

A pool's threads are waited for when a program ends, however long a server takes to answer one of
them; these end with the program.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from contextlib import suppress
from contextvars import copy_context
from typing import Any, TypeVar

T = TypeVar("T")
NAME = "background"
"""Of every such thread."""


def begun(work: Callable[[], T]) -> asyncio.Future[T]:
    """Begin it, from a loop's own thread; what becomes of it, told there."""
    loop, context = asyncio.get_running_loop(), copy_context()
    future: asyncio.Future[T] = loop.create_future()

    def run() -> None:
        value: Any = None
        error: BaseException | None = None
        try:
            value = context.run(work)
        except BaseException as raised:
            error = raised
        # A loop that is gone has nobody who wants to know.
        with suppress(RuntimeError):
            loop.call_soon_threadsafe(_settle, future, value, error)

    threading.Thread(target=run, name=NAME, daemon=True).start()
    return future


async def done(work: Callable[[], T]) -> T:
    """Wait for it without holding up the loop."""
    return await begun(work)


def wait_for_all() -> None:
    """Wait until no such thread is left: before a process forks."""
    for thread in threading.enumerate():
        if thread.name == NAME:
            thread.join()


def _settle(future: asyncio.Future[Any], value: object, error: BaseException | None) -> None:
    if future.done():
        return
    if error is None:
        future.set_result(value)
    else:
        future.set_exception(error)
