"""The server: who may come in, which page they get, and the connection to their app."""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
import ssl
import time
from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, TypeVar

from aiohttp import WSMsgType, web

from drillrunner.serve import bay, checks, forms, pages, report
from drillrunner.serve.guard import Guard
from drillrunner.serve.nursery import Order
from drillrunner.serve.players import NotHad, Players, StoreError
from drillrunner.serve.seats import Full, NoApp, PhoneApp, Seats
from drillrunner.store.phone_book import Phone, PhoneBook, hash_of

COOKIE = "drillrunner"
YEAR = 365 * 24 * 3600
SWEEP = 2.0
"""Seconds between two looks at who is gone, and who was signed out."""
FIRST = 10.0
"""Seconds that a connection has to ask for something."""
MESSAGES, BURST = 60.0, 240.0
"""Messages a second that a phone may send, and how many at once."""
CONNECTIONS = 8
"""Connections for each phone that may play; what comes above them is closed at once."""
PREFERS = 400
"""Characters of the choices that a phone keeps."""

T = TypeVar("T")
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


@dataclass(frozen=True, slots=True)
class ServeSettings:
    """names: what this machine is called, in a Host header. database: path or URL. most, keep:
    as of `Seats`. private: nobody else's records are open to a phone."""

    names: Sequence[str]
    database: str
    folders: Sequence[str]
    most: int
    private: bool
    secure: bool


class Server:
    """Everything that a phone can ask for. Tell it to `begin`, then give its `app` to a runner."""

    def __init__(
        self,
        settings: ServeSettings,
        guard: Guard,
        phones: PhoneBook,
        players: Players,
        seats: Seats,
        told: Callable[[str], object],
    ) -> None:
        self.settings = settings
        self.guard = guard
        self.phones = phones
        self.players = players
        self.seats = seats
        self._told = told
        self._static = pages.static()
        self._pages: dict[str, set[web.WebSocketResponse]] = {}
        self._choosing = asyncio.Lock()
        self._sweeping: asyncio.Task[None] | None = None
        self.asked: set[int] = set()
        """Connections that have asked for something, of those that are looked at for it."""
        self.app = web.Application(middlewares=[self._checked], client_max_size=checks.BODY)
        self.app.add_routes(
            [
                web.get("/", self._play),
                web.get("/in", self._way_in),
                web.post("/in", self._come_in),
                web.get("/who", self._who),
                web.post("/who", self._be),
                web.get("/phone", self._phone),
                web.post("/phone", self._change_phone),
                web.get("/report", self._report),
                web.get("/state", self._state),
                web.get("/socket", self._socket),
                web.get("/static/{name}", self._file),
            ]
        )

    async def begin(self) -> None:
        """Start what looks after the seats."""
        self._sweeping = asyncio.create_task(self._sweep())

    async def end(self) -> None:
        """End every app; phones are told, and find out by themselves when we are back."""
        if self._sweeping is not None:
            self._sweeping.cancel()
        await self.seats.end()

    async def _sweep(self) -> None:
        said = ""
        while True:
            await asyncio.sleep(SWEEP)
            try:
                await self.seats.sweep()
                for hash in list(self._pages):
                    if await self._ask(self.phones.find, hash) is None:
                        await self._put_out(hash)
                said = ""
            except Exception as error:  # what fails once may work the next time
                before, said = said, f"looking after the phones: {type(error).__name__}: {error}"
                if said != before:
                    self._told(said)

    async def _ask(self, do: Callable[..., T], *of: object) -> T:
        """Do what may wait for a disk or take long, beside the loop."""
        return await asyncio.to_thread(do, *of)

    # ---- every request ----

    @web.middleware
    async def _checked(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        self.asked.add(id(request.protocol))
        if not checks.good_host(request.host, self.settings.names):
            return _plain(421, "this is not a name of this server")
        try:
            response = await self._answer(request, handler)
        except web.HTTPException as error:
            response = _plain(error.status, error.reason)
            if "Location" in error.headers:
                response.headers["Location"] = error.headers["Location"]
        except StoreError as error:
            response = _plain(503, str(error))
        if not response.prepared:
            bay.keep(request, response, self.settings.secure)
            for name, text in checks.headers(request.host).items():
                response.headers.setdefault(name, text)
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    async def _answer(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        acts = request.method not in ("GET", "HEAD") or request.path == "/socket"
        scheme = "https" if self.settings.secure else "http"
        if acts and not checks.good_origin(request.headers.get("Origin"), scheme, request.host):
            return _plain(403, "only a page of this server may ask that")
        return await handler(request)

    async def _known(self, request: web.Request) -> Phone | None:
        """The phone that asks, by its cookie."""
        cookie = request.cookies.get(COOKIE, "")
        if not 20 <= len(cookie) <= 100:
            return None
        phone = await self._ask(self.phones.find, hash_of(cookie))
        if phone is not None:
            await self._ask(self.phones.here, phone.hash, bay.named(request))
        return phone

    async def _needed(self, request: web.Request) -> Phone:
        phone = await self._known(request)
        if phone is None:
            raise web.HTTPFound("in")
        return phone

    # ---- the way in ----

    async def _way_in(self, request: web.Request) -> web.StreamResponse:
        if self.guard.open and await self._known(request) is None:
            return await self._welcome(request)
        return _html(self._way_in_page(""))

    def _way_in_page(self, wrong: str) -> str:
        pin = self.guard.pin is not None
        return pages.filled(
            "way_in",
            what="The PIN stands where the server was started."
            if pin
            else "A link that works once stands, as a code to point the camera at, where the "
            "server was started.",
            wrong=wrong,
            label="PIN" if pin else "What stands behind the # of the link",
            mode="numeric" if pin else "text",
        )

    async def _come_in(self, request: web.Request) -> web.StreamResponse:
        given = str((await request.post()).get("given", ""))[:64]
        address = request.remote or ""
        if wait := self._waits(address):
            return wait
        if not self.guard.let_in(given, address):
            wrong = "that is not the PIN" if self.guard.pin else "this link was used, or never was"
            return _html(self._way_in_page(wrong), 403)
        return await self._welcome(request)

    def _waits(self, address: str) -> web.StreamResponse | None:
        seconds = self.guard.tries.wait(address)
        if not seconds:
            return None
        answer = _html(self._way_in_page(f"too many wrong tries: wait {_time(seconds)}"), 429)
        answer.headers["Retry-After"] = str(seconds)
        return answer

    async def _welcome(self, request: web.Request) -> web.StreamResponse:
        """Know the phone again from now on."""
        about = forms.kind_of_phone(request.headers.get("User-Agent", ""))
        cookie, _ = await self._ask(self.phones.new, about)
        answer = web.Response(status=303, headers={"Location": "./"})
        answer.set_cookie(
            COOKIE,
            cookie,
            max_age=YEAR,
            httponly=True,
            samesite="Strict",
            secure=self.settings.secure,
            path="/",
        )
        return answer

    # ---- who plays ----

    async def _who(self, request: web.Request) -> web.StreamResponse:
        await self._needed(request)
        return await self._who_page("")

    async def _who_page(self, wrong: str, status: int = 200) -> web.StreamResponse:
        listed = await self._ask(self.players.listed)
        return _html(forms.who(listed, self.settings.private, wrong), status)

    async def _be(self, request: web.Request) -> web.StreamResponse:
        form = await request.post()
        async with self._choosing:
            return await self._become(request, form)

    async def _become(self, request: web.Request, form: Mapping[str, object]) -> web.StreamResponse:
        phone = await self._needed(request)
        name, pin = (str(form.get(field, ""))[:200] for field in ("name", "pin"))
        address = request.remote or ""
        if wait := self._waits(address):
            return wait
        do = self.players.had
        if form.get("do") == "new":
            if phone.player is not None and await self._player(phone) == name.strip():
                # The button was tapped twice.
                raise web.HTTPSeeOther("./")
            do = self.players.added
        try:
            player = await self._ask(do, name, pin)
        except (NotHad, StoreError) as error:
            if isinstance(error, NotHad) and error.wrong:
                self.guard.tries.wrong(address)
            return await self._who_page(str(error), 403)
        await self._ask(self.phones.belongs, phone.hash, player.id)
        await self.seats.close(phone.hash)
        raise web.HTTPSeeOther("./")

    async def _player(self, phone: Phone) -> str | None:
        """The name of the phone's player; `None` where there is none (any more)."""
        return None if phone.player is None else await self._ask(self.players.name_of, phone.player)

    # ---- play ----

    async def _play(self, request: web.Request) -> web.StreamResponse:
        phone = await self._needed(request)
        player = await self._player(phone)
        if player is None:
            raise web.HTTPFound("who")
        nonce = secrets.token_urlsafe(12)
        answer = _html(pages.filled("play", nonce=nonce, player=player))
        answer.headers.update(checks.headers(request.host, nonce))
        return answer

    async def _report(self, request: web.Request) -> web.StreamResponse:
        """What the phone's own player has practised, on one page."""
        phone = await self._needed(request)
        player = await self._player(phone)
        if player is None:
            raise web.HTTPFound("who")
        try:
            answer = _html(await report.report_of(self.settings.database, player))
        except report.NoReport as error:
            return _plain(404, str(error))
        except TimeoutError:
            return _plain(503, "it took too long: try again when fewer play")
        answer.headers["Content-Security-Policy"] = report.POLICY
        return answer

    async def _state(self, request: web.Request) -> web.StreamResponse:
        known = await self._known(request) is not None
        return web.json_response({"in": known}, status=200 if known else 401)

    async def _file(self, request: web.Request) -> web.StreamResponse:
        held = self._static.get(request.match_info["name"])
        if held is None:
            return _plain(404, "no such file")
        answer = web.Response(body=held[0], headers={"Content-Type": held[1]})
        answer.headers["Cache-Control"] = "max-age=3600"
        return answer

    async def _socket(self, request: web.Request) -> web.StreamResponse:
        phone = await self._known(request)
        player = None if phone is None else await self._player(phone)
        size = _size(request.query.get("width"), request.query.get("height"))
        dark = request.query.get("look") != "light"
        if phone is None or player is None or size is None:
            return _plain(401 if size else 400, "come in first" if size else "expected a size")
        page = web.WebSocketResponse(max_msg_size=checks.FRAME, heartbeat=10, timeout=0.5)
        await page.prepare(request)
        order = Order(
            self.settings.database,
            tuple(self.settings.folders),
            player,
            size,
            self.settings.private,
            _prefers(request.query.get("prefers", "")),
            dark,
        )
        open_pages = self._pages.setdefault(phone.hash, set())
        open_pages.add(page)
        try:
            seat = await self.seats.open(phone.hash, order)
            await seat.attach(page, size)
            seat.note(type="bay", name=bay.named(request))
            seat.note(type="look", dark=dark)
            await self._follow(page, seat)
            seat.detach(page)
        except (Full, NoApp) as error:
            self._told(str(error))
            await page.close(code=4008, message=b"no place")
        finally:
            open_pages.discard(page)
            if not open_pages:
                self._pages.pop(phone.hash, None)
        return page

    async def _follow(self, page: web.WebSocketResponse, seat: PhoneApp) -> None:
        """Hand on what a phone sends until it goes; one that sends too much is slowed down."""
        left, last = BURST, time.monotonic()
        async for message in page:
            now = time.monotonic()
            left, last = min(BURST, left + (now - last) * MESSAGES) - 1, now
            if left < 0:
                await asyncio.sleep(-left / MESSAGES)
            if message.type is not WSMsgType.TEXT or not await _obey(message.data, page, seat):
                await page.close(code=1008, message=b"not understood")
                return
            await seat.drained()

    # ---- phones ----

    async def _phone(self, request: web.Request) -> web.StreamResponse:
        return await self._phone_page(await self._needed(request), "")

    async def _phone_page(self, phone: Phone, wrong: str, status: int = 200) -> web.StreamResponse:
        player = await self._player(phone)
        if player is None or phone.player is None:
            raise web.HTTPFound("who")
        every = await self._ask(self.phones.all)
        own = [one for one in every if one.player == phone.player]
        has_pin = await self._ask(self.phones.pin_of, phone.player) is not None
        return _html(forms.phone(player, own, phone, has_pin, time.time(), wrong), status)

    async def _change_phone(self, request: web.Request) -> web.StreamResponse:
        phone = await self._needed(request)
        form = await request.post()
        do = form.get("do")
        if do == "leave":
            await self._ask(self.phones.belongs, phone.hash, None)
            await self.seats.close(phone.hash)
            raise web.HTTPSeeOther("who")
        if phone.player is None:
            raise web.HTTPSeeOther("who")
        if do == "out":
            every = await self._ask(self.phones.all)
            for one in every:
                if one.player == phone.player and one.hash == form.get("phone"):
                    await self._ask(self.phones.sign_out, one.hash)
                    await self._put_out(one.hash)
        elif do == "pin":
            address = request.remote or ""
            if wait := self._waits(address):
                return wait
            before, pin = (str(form.get(field, ""))[:64] for field in ("before", "pin"))
            try:
                await self._ask(self.players.set_pin, phone.player, before, pin)
            except NotHad as error:
                if error.wrong:
                    self.guard.tries.wrong(address)
                return await self._phone_page(phone, str(error), 403)
        raise web.HTTPSeeOther("phone")

    async def _put_out(self, hash: str) -> None:
        """End a phone's app and its connections: it was signed out."""
        for page in list(self._pages.get(hash, ())):
            with suppress(ConnectionError, RuntimeError):
                await page.close(code=4003, message=b"signed out")
        await self.seats.close(hash)


async def _obey(text: str, page: web.WebSocketResponse, seat: PhoneApp) -> bool:
    """Do what a message of a phone says; whether it was one."""
    try:
        told = json.loads(text)
        kind, *rest = told if isinstance(told, list) else [None]
    except (ValueError, RecursionError):
        return False
    match kind, rest:
        case "stdin", [str(typed)] if len(typed) <= checks.MOST_TYPED:
            seat.typed(typed)
        case "resize", [dict(wanted)]:
            size = _size(wanted.get("width"), wanted.get("height"))
            if size is None:
                return False
            seat.resize(size)
        case "ping", [str(when)] if len(when) <= 20:
            await page.send_str(json.dumps(["pong", when]))
        case "look", ["dark" | "light" as look]:
            seat.note(type="look", dark=look == "dark")
        case "focus" | "blur", []:
            seat.note(type="focus")
        case _:
            return False
    return True


def _size(width: Any, height: Any) -> tuple[int, int] | None:
    """Columns and rows; `None` for what no screen has."""
    try:
        size = int(width), int(height)
    except (TypeError, ValueError, OverflowError):
        return None
    bounds = zip(size, (checks.COLUMNS, checks.ROWS), strict=True)
    return size if all(least <= n <= most for n, (least, most) in bounds) else None


def _prefers(text: str) -> Mapping[str, str]:
    """The choices that a phone kept; none where that is not understood."""
    try:
        told = json.loads(text) if len(text) <= PREFERS else {}
    except (ValueError, RecursionError):
        return {}
    if not isinstance(told, dict):
        return {}
    return {key: value for key, value in told.items() if isinstance(value, str)}


def _html(text: str, status: int = 200) -> web.Response:
    return web.Response(text=text, content_type="text/html", status=status)


def _plain(status: int, text: str) -> web.Response:
    return web.Response(text=f"{text}\n", status=status)


def _time(seconds: int) -> str:
    return f"{seconds} s" if seconds < 120 else f"{-(-seconds // 60)} min"


class _Closed(asyncio.Protocol):
    """A connection too many."""

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        transport.close()


async def listen(
    server: Server, handle: socket.socket, context: ssl.SSLContext | None
) -> Callable[[], Awaitable[None]]:
    """Take connections on a socket, as many as is set; those that ask for nothing are closed.

    What it gives is called to stop.
    """
    runner = web.AppRunner(server.app, access_log=None, shutdown_timeout=0.3)
    await runner.setup()
    taken: Any = runner.server
    loop = asyncio.get_running_loop()
    most = CONNECTIONS * server.settings.most + 32

    def connection() -> asyncio.Protocol:
        if len(taken.connections) >= most:
            return _Closed()
        made: Any = taken()
        server.asked.discard(id(made))
        loop.call_later(FIRST, late, made)
        return made  # type: ignore[no-any-return]

    def late(made: Any) -> None:
        if id(made) not in server.asked and made.transport is not None:
            made.transport.abort()
        server.asked.discard(id(made))

    listening = await loop.create_server(connection, sock=handle, ssl=context, backlog=512)

    async def stop() -> None:
        listening.close()
        await server.end()
        await runner.cleanup()

    return stop
