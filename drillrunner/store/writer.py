"""What is typed goes to the disk in the order typed, and never on the screen's own thread.

`Queue` is the pure core: what waits, what became of what went before. `Writer` is a `Queue` with
a thread. Nothing heavy is imported, so that both can be there before the records are.

How a screen uses it:

    writer = Writer(tell)            tell(news) is called on the writer's thread: hand it on, as by
                                     `lambda news: app.post_message(Told(news))`
    writer.put(words, do)            `do` writes one thing and returns; it runs on the writer's
                                     thread once all that was put before it is settled, as
                                     `lambda: playing.append(entry)`. It is called again while the
                                     disk fails: one transaction, or what may be done twice
    writer.state                     what to say now; `str(writer.state)` is its line

Each thing put comes to one end, which is told once as `News`, in the order in which it was put:

    kept      `do` returned, and `news.value` is what it returned: show it now and not before
    refused   the rules or the records would not have it, and it is not on disk: `news.error`.
              After `Refused` the next is tried. After anything else (played elsewhere, a broken
              game, a fault) all that waited behind was typed without seeing this: it is not
              written either, and `news.dropped` has it in words
    dropped   as by `drop` or `close`: given up by the person, never written

Until then it waits. Another program that holds the file is waited for without end; a full disk, a
folder that can't be written and the like are tried again every second; a file that was moved or
replaced (`Moved`) is not tried until `again`. Each change of that is told as `waiting`, with
`news.error`, the reason, and `news.waiting`, how many are to be written.

So what is on disk is always a prefix of what was typed, but for what the rules refused.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Any, Literal, NamedTuple

from drillrunner.rules.refused import Refused
from drillrunner.store.errors import Busy, DiskTrouble, Moved

Outcome = Literal["kept", "refused", "dropped", "waiting"]

AGAIN = 1.0
"""Seconds until a write that the disk failed is tried again."""

SOON = 0.05
"""Seconds until a write is tried again that another program held up."""


class Queued(NamedTuple):
    """One thing to be written. words: what was typed, for a message; empty for what comes by
    itself, such as the time, and is not counted as waiting. do: writes it."""

    number: int
    words: str
    do: Callable[[], Any]


class News(NamedTuple):
    """What became of one thing that was put. error: why it waits or was refused.

    dropped: in words, what waited behind something refused and is not written either.
    waiting: how many are to be written after this news.
    """

    number: int
    words: str
    outcome: Outcome
    value: Any = None
    error: Exception | None = None
    dropped: tuple[str, ...] = ()
    waiting: int = 0


class State(NamedTuple):
    """What stands between what was typed and the disk. why: empty while nothing went wrong."""

    waiting: int
    why: str = ""

    @property
    def kept(self) -> bool:
        """Whether all that was typed is on disk, or was refused and told."""
        return self.waiting == 0

    def __str__(self) -> str:
        if self.kept:
            return "kept"
        why = f" ({self.why})" if self.why else ""
        return f"waiting for the disk: {self.waiting} to write{why}"


class Queue:
    """What waits to be written, in order. Pure: no thread, no clock, no disk."""

    def __init__(self) -> None:
        self._items: deque[Queued] = deque()
        self._put = 0
        self._trouble: Exception | None = None

    def __len__(self) -> int:
        return len(self._items)

    @property
    def head(self) -> Queued | None:
        """What is to be written next."""
        return self._items[0] if self._items else None

    @property
    def trouble(self) -> Exception | None:
        """Why the head waits, if it was tried already."""
        return self._trouble

    @property
    def state(self) -> State:
        """How things stand."""
        return State(self._waiting, "" if self._trouble is None else str(self._trouble))

    @property
    def _waiting(self) -> int:
        """How many wait that somebody asked for."""
        return sum(bool(item.words) for item in self._items)

    @property
    def words(self) -> tuple[str, ...]:
        """What waits, as it was typed."""
        return tuple(item.words for item in self._items)

    def retry(self) -> None:
        """Let the head be tried again at once, whatever kept it."""
        self._trouble = None

    def put(self, words: str, do: Callable[[], Any]) -> Queued:
        """Add one thing at the end."""
        self._put += 1
        item = Queued(self._put, words, do)
        self._items.append(item)
        return item

    def wrote(self, value: Any) -> News:
        """The head is on disk."""
        return self._settled("kept", value=value)

    def failed(self, error: Exception) -> News:
        """The head is not on disk: it waits, or it is refused with all that was typed unseeing."""
        if isinstance(error, DiskTrouble):
            self._trouble = error
            head = self._items[0]
            return News(head.number, head.words, "waiting", error=error, waiting=self._waiting)
        if isinstance(error, Refused):
            return self._settled("refused", error=error)
        head = self._items.popleft()
        self._trouble = None
        dropped = self.words
        self._items.clear()
        return News(head.number, head.words, "refused", error=error, dropped=dropped)

    def drop(self, but_head: bool = False) -> tuple[News, ...]:
        """Give up all that waits; but_head: not the first, which is just being tried."""
        kept = [self._items.popleft()] if but_head and self._items else []
        gone = tuple(News(item.number, item.words, "dropped") for item in self._items)
        self._items = deque(kept)
        if not kept:
            self._trouble = None
        return gone

    def _settled(self, outcome: Outcome, value: Any = None, error: Exception | None = None) -> News:
        head = self._items.popleft()
        self._trouble = None
        return News(head.number, head.words, outcome, value, error, waiting=self._waiting)


class Writer:
    """A thread that writes what is put, one after the other. See the module for its contract.

    paused: nothing is tried until `go`, as while the records are being opened.
    """

    def __init__(self, tell: Callable[[News], object], paused: bool = False) -> None:
        self._tell = tell
        self._queue = Queue()
        self._changed = threading.Condition()
        self._paused = paused
        self._trying = False
        self._giving_up = False
        self._closed = False
        self._thread: threading.Thread | None = None

    @property
    def state(self) -> State:
        """How things stand; from any thread, without waiting."""
        with self._changed:
            return self._queue.state

    def put(self, words: str, do: Callable[[], Any]) -> int:
        """Write something once all before it is settled; its number in the news.

        Raises RuntimeError after `close`.
        """
        with self._changed:
            if self._closed:
                raise RuntimeError("the writer is closed")
            item = self._queue.put(words, do)
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="writer", daemon=True)
                self._thread.start()
            self._changed.notify_all()
            return item.number

    def go(self) -> None:
        """Begin, after having been made `paused`."""
        with self._changed:
            self._paused = False
            self._changed.notify_all()

    def again(self) -> None:
        """Try at once what waits."""
        with self._changed:
            self._queue.retry()
            self._changed.notify_all()

    def drop(self) -> None:
        """Give up all that waits. What is being tried right now is either kept or given up too."""
        with self._changed:
            self._giving_up = self._trying
            gone = self._queue.drop(but_head=self._trying)
            self._changed.notify_all()
        for news in gone:
            self._tell(news)

    def settle(self, seconds: float) -> bool:
        """Wait until nothing waits any more, at most so long; whether that is so."""
        with self._changed:
            return self._changed.wait_for(lambda: not len(self._queue), seconds)

    def close(self, seconds: float = 0) -> tuple[str, ...]:
        """Let go of the thread after having waited for the disk; in words, what is not written."""
        until = time.monotonic() + seconds
        self.settle(seconds)
        self.drop()
        with self._changed:
            self._closed = True
            # What is being tried holds a transaction: it is on disk or it is not, in a moment.
            self._changed.notify_all()
            thread = self._thread
            left = self._queue.words
        if thread is not None and thread is not threading.current_thread():
            thread.join(max(until - time.monotonic(), 0))
        return left

    def _run(self) -> None:
        while True:
            with self._changed:
                head = self._await_head()
                if head is None:
                    return
                self._trying = True
            try:
                value = head.do()
            except Exception as error:
                failure: Exception | None = error
                value = None
            else:
                failure = None
            news = self._settle_head(value, failure)
            if news is not None:
                self._tell(news)

    def _await_head(self) -> Queued | None:
        """Wait under the lock until something is to be tried; `None` when closed."""
        while True:
            head, trouble = self._queue.head, self._queue.trouble
            if self._closed:
                return None
            if head is None or self._paused or isinstance(trouble, Moved):
                self._changed.wait()
            elif trouble is None:
                return head
            else:
                self._changed.wait(SOON if isinstance(trouble, Busy) else AGAIN)
                if self._queue.head is head and not self._closed:
                    return head

    def _settle_head(self, value: Any, failure: Exception | None) -> News | None:
        """Take in what became of the head; the news of it, if that is any."""
        with self._changed:
            self._trying = False
            if failure is None:
                news: News | None = self._queue.wrote(value)
            elif self._giving_up and isinstance(failure, DiskTrouble):
                (news,) = self._queue.drop()
            else:
                before = self._queue.trouble
                news = self._queue.failed(failure)
                if news.outcome == "waiting" and str(before) == str(failure):
                    news = None
            self._giving_up = False
            self._changed.notify_all()
            return news
