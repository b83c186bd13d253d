"""Questions worked out off the event loop: the newest wins, a key press never waits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from textual.message import Message

from drillrunner.store import background

if TYPE_CHECKING:
    from textual.screen import Screen
    from textual.timer import Timer

T = TypeVar("T")
PAINTED = 0.02
"""Seconds until what a key press shows has been painted."""
LATE = 0.1
"""Seconds until it is said that an answer is waited for: one that comes sooner takes the place of
the one before it, and nothing flickers."""


@dataclass
class WorkedOut(Message):
    """The answer to a question, or what went wrong with it."""

    of: Newest
    tag: int
    answer: Any
    trouble: Exception | None


class Newest:
    """The questions of one screen, which hands `WorkedOut` on to `take`.

    A question is taken up when what was shown with it has been painted: a thread would compete with
    that. One is worked out at a time. Meanwhile only the newest other one waits; an answer to
    anything but the newest is dropped.
    """

    def __init__(self, screen: Screen[Any]) -> None:
        self._screen = screen
        self._tag = 0
        self._busy = False
        self._waiting: Callable[[], Any] | None = None
        self._then: Callable[[Any], object] = lambda _: None
        self._failed: Callable[[Exception], object] = lambda _: None
        self._late: Callable[[], object] = lambda: None
        self._look: Timer | None = None

    @property
    def settled(self) -> bool:
        """Whether nothing is being worked out."""
        return not self._busy

    def ask(
        self,
        question: Callable[[], T],
        then: Callable[[T], object],
        failed: Callable[[Exception], object] = lambda _: None,
        late: Callable[[], object] = lambda: None,
    ) -> None:
        """Work this out in a thread, then call `then` or `failed` if nothing newer was asked.

        late: called if that takes longer than a moment.
        """
        self._tag += 1
        self._waiting, self._then, self._failed, self._late = question, then, failed, late
        if not self._busy:
            self._busy = True
            self._screen.set_timer(PAINTED, self._start)

    def drop(self) -> None:
        """Nobody wants to know any more."""
        self._tag += 1
        self._waiting = None
        self._answered()

    def _answered(self) -> None:
        """Nothing is waited for any more."""
        if self._look is not None:
            self._look.stop()
            self._look = None

    def _is_late(self) -> None:
        self._look = None
        self._late()

    def _start(self) -> None:
        question, self._waiting = self._waiting, None
        self._busy, tag = question is not None, self._tag
        if question is None:
            return

        def work() -> None:
            answer, trouble = None, None
            try:
                answer = question()
            # A stranger's game may raise anything; what it raises is told and ends nothing.
            except Exception as error:
                trouble = error
            self._screen.post_message(WorkedOut(self, tag, answer, trouble))

        if self._look is None:
            self._look = self._screen.set_timer(LATE - PAINTED, self._is_late)
        self._screen.run_worker(background.done(work), group="questions")

    def take(self, event: WorkedOut) -> None:
        """Hand on an answer that is still wanted, then turn to the question that waits."""
        self._start()
        if event.tag == self._tag:
            self._answered()
            if event.trouble is not None:
                self._failed(event.trouble)
            else:
                self._then(event.answer)


class HasQuestions:
    """Mixed into a screen that asks: `self.questions.ask(...)`."""

    in_stack: bool
    _questions: Newest | None = None

    @property
    def questions(self) -> Newest:
        """Those of this screen."""
        if self._questions is None:
            self._questions = Newest(self)  # type: ignore[arg-type]
        return self._questions

    def on_worked_out(self, event: WorkedOut) -> None:
        """Take an answer, if there is still something to show it in."""
        event.stop()
        if self.in_stack:
            event.of.take(event)
