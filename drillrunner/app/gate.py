"""The one place where keys, clicks and pastes come in: each is answered before the next is taken.

A widget answers a key by a message to itself, which goes up to its screen, which may close or open
another. A second key that came meanwhile would be answered by a screen that is going, or by one
that is not laid out. So each event waits here until what the one before it led to stands.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable
from functools import partial
from typing import TYPE_CHECKING, Any
from weakref import WeakSet

from textual import events
from textual.app import ScreenStackError

if TYPE_CHECKING:
    from textual.app import App
    from textual.message_pump import MessagePump
    from textual.screen import Screen

PATIENCE = 2.0
"""Seconds after which the next event is taken all the same."""
ALWAYS = ("ctrl+q", "ctrl+c")
"""Keys that are never kept waiting: the app can be left at any time."""
DISK = 0.25
"""Seconds that the next event waits for the disk at most: then what is typed queues up there."""
LOOK = 0.005
"""Seconds between two looks at whether a screen stands."""
HELD_MOST = 4000
"""Events that are kept; what comes then is no typing of a person."""
TYPED = (events.Key, events.Paste, events.MouseDown, events.MouseUp)
"""What is taken in turn. The mouse's moves are of the moment: they are not kept."""
WHEEL = (events.MouseScrollDown, events.MouseScrollUp)
"""Comes at once where nothing is before it. Behind the press of a finger that pushes a list it
waits for its turn, or the list would stay where it is."""


class Gate:
    """deliver: hands an event on to the screen. waits: whether something is still to come that
    what is typed was meant for. asks: whether a screen is a question. writes: whether something
    is being written, so that it will be shown in a moment. late: called when it is not shown by
    then.

    While `held`, what is typed is kept for the screen that the app was started for; only a question
    that stands already is answered by what is typed after that.
    """

    def __init__(
        self,
        app: App[Any],
        deliver: Callable[[events.Event], Any],
        waits: Callable[[], bool],
        asks: Callable[[Screen[Any]], bool],
        writes: Callable[[], bool],
        late: Callable[[], object],
    ) -> None:
        self.app = app
        self.held = False
        self._deliver = deliver
        self._waits = waits
        self._asks = asks
        self._writes = writes
        self._late = late
        self._queue: deque[events.Event] = deque()
        self._for_later: deque[events.Event] = deque()
        self._task: asyncio.Task[None] | None = None
        self._laid_out: WeakSet[Screen[Any]] = WeakSet()
        self._told: asyncio.Future[None] | None = None

    def takes(self, event: events.Event) -> bool:
        """Whether an event is taken in turn; another one goes its way at once."""
        if isinstance(event, events.Key) and event.key in ALWAYS:
            return False
        if isinstance(event, TYPED):
            return True
        # The wheel and the moves of the mouse need a screen that is laid out.
        return isinstance(event, events.MouseEvent) and self._task is not None

    def put(self, event: events.Event) -> None:
        """Take an event that came in."""
        later = self.held and not self._answers_now
        if not isinstance(event, TYPED) and (later or not isinstance(event, WHEEL)):
            return
        event = _as_typed(event)
        queue = self._for_later if later else self._queue
        if len(queue) < HELD_MOST:
            queue.append(event)
        self.go()

    def hold(self) -> None:
        """Keep what is typed until `release` or `drop`."""
        self.held = True

    def release(self) -> None:
        """The screen that the app was started for stands or is coming: it takes what was typed."""
        self.held = False
        self._queue.extendleft(reversed(self._for_later))
        self._for_later.clear()
        self.go()

    def drop(self) -> bool:
        """What was typed has nothing to go to; whether there was anything."""
        self.held = False
        dropped = bool(self._for_later)
        self._for_later.clear()
        return dropped

    @property
    def busy(self) -> bool:
        """Whether an event is being answered, or waits for that."""
        return self._task is not None

    @property
    def _answers_now(self) -> bool:
        """Whether a question stands, so that what is typed now was typed with it seen."""
        screen = self.app.screen
        return self._asks(screen) and screen in self._laid_out

    def go(self) -> None:
        """See to what is here, unless that is being done."""
        if self._task is None and self.app.is_running:
            self._task = asyncio.create_task(self._run())

    async def _run(self) -> None:
        try:
            await self._stands()
            while self._queue and self.app.is_running:
                event = self._queue.popleft()
                if isinstance(event, WHEEL):
                    self.app.post_message(events.Callback(AtTurn(partial(self._deliver, event))))
                    continue
                await self.passed(self.app, partial(self._deliver, event))
                # What is being written is shown first: nothing competes with that.
                await self._answered(event, until=self._writes)
                if await self._written():
                    await self._answered(event)
                await self._stands()
        except ScreenStackError:
            # The app is being left: its screens are gone.
            self._queue.clear()
        finally:
            self._task = None
        if self._queue:
            self.go()

    async def _written(self) -> bool:
        """Give the disk a moment, so that what is typed next sees it; whether that was needed."""
        loop = asyncio.get_running_loop()
        until = loop.time() + DISK
        needed = self._writes()
        while self._writes() and loop.time() < until:
            self._told = loop.create_future()
            await asyncio.wait((self._told,), timeout=until - loop.time())
        if self._writes():
            self._late()
        return needed

    def told(self) -> None:
        """Something that was to be written is settled, or has met with trouble."""
        lets_go_on(self._told)

    async def _answered(
        self, event: events.Event, until: Callable[[], bool] = lambda: False
    ) -> None:
        """Wait until what an event led to is done: from the widget that had it up to the app."""
        before = None
        for _ in range(4):
            screen = self.app.screen
            focused = screen.focused
            # A key goes to what has the focus, and to nothing else on its way to the screen.
            short = focused is None and isinstance(event, events.Key)
            path: list[MessagePump] = [] if focused is None else [focused, focused]
            node: MessagePump | None = None if focused is None else focused.parent
            while node is not None and node is not screen:
                path.append(node)
                node = node._parent
            for pump in (screen, self.app) if short else (*path, screen, screen, self.app):
                await self.passed(pump)
                if until():
                    return
            still = short and not (screen.message_queue_size or self.app.message_queue_size)
            if (still or screen is before) and screen is self.app.screen:
                return
            before = screen

    async def passed(
        self, pump: MessagePump, do: Callable[[], Awaitable[object]] | None = None
    ) -> None:
        """Wait until a node has done all that lies before it now, and this."""
        loop = asyncio.get_running_loop()
        done: asyncio.Future[None] = loop.create_future()
        if not pump.is_running or not pump.post_message(events.Callback(AtTurn(do, done))):
            return
        until = loop.time() + PATIENCE
        while not done.done() and pump.is_running and loop.time() < until:
            await asyncio.wait((done,), timeout=0.05)

    async def _stands(self) -> None:
        """Wait until the screen on top is laid out, and nothing is to come in its place."""
        loop = asyncio.get_running_loop()
        until = loop.time() + PATIENCE
        while self.app.is_running:
            screen = self.app.screen
            if self._waits():
                until = loop.time() + PATIENCE
            elif screen in self._laid_out:
                return
            elif screen.is_mounted and screen.is_running and screen.size.width:
                painted = asyncio.Event()
                screen.call_after_refresh(painted.set)
                while not painted.is_set() and screen is self.app.screen and loop.time() < until:
                    await asyncio.sleep(LOOK)
                self._laid_out.add(screen)
                continue
            elif loop.time() > until:
                return
            await asyncio.sleep(LOOK)

    def await_screen(self, screen: Screen[Any]) -> None:
        """Learn when a screen that just came is laid out, if that is not known."""
        if screen not in self._laid_out:
            self.go()


class AtTurn:
    """Called by a node when it comes to that: what is given is done, and who waits goes on."""

    _param_count = 0
    """Textual would look at the signature of every other callable each time anew."""

    def __init__(
        self,
        do: Callable[[], Awaitable[object]] | None = None,
        done: asyncio.Future[None] | None = None,
    ) -> None:
        self.do = do
        self.done = done

    async def __call__(self) -> None:
        if self.do is not None:
            await self.do()
        lets_go_on(self.done)


def lets_go_on(done: asyncio.Future[None] | None) -> None:
    """Let who waits for this go on."""
    if done is not None and not done.done():
        done.set_result(None)


def _as_typed(event: events.Event) -> events.Event:
    """Enter, typed while the terminal was not the app's yet, comes as a line feed."""
    if isinstance(event, events.Key) and event.key == "ctrl+j":
        return events.Key("enter", "\r")
    return event
