"""From what was wanted to a server that runs until it is told to end."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import ssl
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from drillrunner.serve import way
from drillrunner.serve.guard import Guard, Tries
from drillrunner.serve.pages import Missing
from drillrunner.serve.players import Players
from drillrunner.serve.seats import Seats
from drillrunner.serve.server import Server, ServeSettings, listen
from drillrunner.serve.starter import NoApp, starter
from drillrunner.store.store import Store

HOME = "127.0.0.1"
LAST = 1.4
"""Seconds after a signal to end at which this process ends in any case."""


class CannotServe(Exception):
    """The server can't run; one line says why."""


@dataclass(frozen=True, slots=True)
class ToServe:
    """on: the address to listen at. pin: `None` for none. keep: seconds. certificate, key: files
    in PEM, both or none."""

    database: str
    folders: Sequence[Path]
    on: str = HOME
    port: int = 8000
    most: int = 40
    keep: float = 600
    open: bool = False
    pin: str | None = None
    certificate: Path | None = None
    key: Path | None = None
    private: bool = False
    forks: bool = hasattr(os, "fork")


def serve(
    wanted: ToServe,
    store: Store,
    shown: Callable[[str], object],
    told: Callable[[str], object],
) -> None:
    """Serve until a signal ends it. store: the database of the same name, open.

    shown: the way in is shown there; told: lines about trouble.

    Raises CannotServe, StoreError.
    """
    context = _context(wanted)
    try:
        with _socket(wanted.on, wanted.port) as handle:
            asyncio.run(_serve(wanted, store, handle, context, shown, told))
    except (Missing, NoApp) as error:
        raise CannotServe(str(error)) from error


def _context(wanted: ToServe) -> ssl.SSLContext | None:
    if wanted.certificate is None:
        return None
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(wanted.certificate, wanted.key)
    except ssl.SSLError as error:
        why = "expected a certificate and the key that belongs to it, in PEM"
        raise CannotServe(f"--certificate {wanted.certificate}, --key: {why}") from error
    except OSError as error:
        why = error.strerror or str(error)
        raise CannotServe(f"--certificate {wanted.certificate}, --key: {why}") from error
    return context


def _socket(on: str, port: int) -> socket.socket:
    try:
        found = socket.getaddrinfo(on, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, kind, proto, _, address = found[0]
        handle = socket.socket(family, kind, proto)
    except OSError as error:
        raise CannotServe(f"--on {on}: {error.strerror or error}") from error
    try:
        if os.name == "posix":
            handle.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        handle.bind(address)
    except OSError as error:
        handle.close()
        raise CannotServe(f"{on}, port {port}: {error.strerror or error}") from error
    return handle


async def _serve(
    wanted: ToServe,
    store: Store,
    handle: socket.socket,
    context: ssl.SSLContext | None,
    shown: Callable[[str], object],
    told: Callable[[str], object],
) -> None:
    ended = asyncio.Event()

    def end() -> None:
        # Whatever still hangs then, the apps end with this process.
        last = threading.Timer(LAST, os._exit, (0,))
        last.daemon = True
        last.start()
        ended.set()

    _on_signals(end)
    scheme = "http" if context is None else "https"
    port = int(handle.getsockname()[1])

    def show(secret: str) -> None:
        for address in way.addresses(wanted.on):
            link = way.link(scheme, address, port, secret)
            shown(f"{way.code(link)}\n{link}")
        if secret:
            shown("This link works once; the next one is shown as soon as it was used.")

    guard = Guard(pin=wanted.pin, open=wanted.open, tries=Tries(time.monotonic), on_used=show)
    apps = starter(told, wanted.forks)
    server = Server(
        ServeSettings(
            names=way.names(wanted.on),
            database=wanted.database,
            folders=[str(folder) for folder in wanted.folders],
            most=wanted.most,
            private=wanted.private,
            secure=context is not None,
        ),
        guard,
        store.phones,
        Players(store, wanted.private),
        Seats(apps, wanted.most, wanted.keep, time.monotonic),
        told,
    )
    stop = await listen(server, handle, context)
    try:
        await apps.begin()
        await server.begin()
        show(guard.link)
        if wanted.pin:
            shown("The PIN is asked for.")
        await ended.wait()
    finally:
        await stop()


def _on_signals(end: Callable[[], object]) -> None:
    loop = asyncio.get_running_loop()
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is None:
            continue
        with suppress(NotImplementedError):
            loop.add_signal_handler(number, end)
            continue
        # Where a loop takes no signals (Windows), Ctrl+C still comes as KeyboardInterrupt.
