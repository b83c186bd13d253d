"""Code that waits for a database in plain lines, while the screen's own thread goes on.

An `Errand` runs such code at once, on the thread of the event loop. As long as nothing waits, that
is all. What would wait (a server, a lock that another program holds, the disk when it is to keep
something) is asked for through `in_thread` or `until`: there the errand is set aside, the loop goes
on, and so does the errand, on the same thread, once that is over. Outside an errand both simply
wait, so that the command line and threads run the same code.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextvars import copy_context
from typing import Any, TypeVar

from greenlet import getcurrent, greenlet

from drillrunner.store import background

T = TypeVar("T")


class Abandoned(BaseException):
    """Nobody wants any more what an errand was to do: it ends where it waits."""


class Errand(greenlet):
    """do: what is done. ended: called once it is over, if it had to wait.

    wanted: asked before each wait; where nobody wants it any more, it ends there.
    """

    def __init__(
        self,
        do: Callable[[], object],
        ended: Callable[[Errand], object],
        wanted: Callable[[], bool] = lambda: True,
    ) -> None:
        super().__init__(self._all)
        # What it sets there is its own: whoever began it is elsewhere when it goes on.
        self.gr_context = copy_context()
        self.wanted = wanted
        self.over = False
        self.trouble: BaseException | None = None
        """What it ended by, if that was an error."""
        self._do = do
        self._ended = ended
        self._awaited: asyncio.Future[Any] | None = None
        self._told = False
        self._left = False

    def go(self) -> bool:
        """Begin it; whether it is over, so that nothing had to wait."""
        self.switch()
        return self.over

    def leave(self) -> None:
        """End it where it waits: the app goes, and so does all that it could still tell."""
        if self._awaited is not None:
            self._left = True
            self._awaited.remove_done_callback(self._go_on)
            self._awaited.cancel()
            self.switch()

    def wait(self, begin: Callable[[], asyncio.Future[T]]) -> T:
        """From within it: set it aside until what begins here is over. Raises what that raises."""
        if self._left or not (self._told or self.wanted()):
            # Once only: what it has to put in order may wait again.
            self._told = True
            raise Abandoned
        awaited = self._awaited = begin()
        awaited.add_done_callback(self._go_on)
        assert self.parent is not None
        self.parent.switch()
        self._awaited = None
        if self._left:
            raise Abandoned
        return awaited.result()

    def _all(self) -> None:
        try:
            self._do()
        except Abandoned:
            pass
        except BaseException as error:
            self.trouble = error
        finally:
            self.over = True

    def _go_on(self, _: object) -> None:
        self.switch()
        if self.over:
            self._ended(self)


def waits() -> bool:
    """Whether this code may be set aside: it runs within an errand."""
    return isinstance(getcurrent(), Errand)


def in_thread(work: Callable[[], T]) -> T:
    """Do what may wait; within an errand in a thread, while that is set aside."""
    errand = getcurrent()
    return errand.wait(lambda: background.begun(work)) if isinstance(errand, Errand) else work()


def until(begin: Callable[[], asyncio.Future[T]]) -> T:
    """Within an errand: wait for what begins here."""
    errand = getcurrent()
    assert isinstance(errand, Errand)
    return errand.wait(begin)
