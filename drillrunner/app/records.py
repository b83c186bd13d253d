"""How the app comes to its records: opened in the background, asked when open, troubles told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from textual import work
from textual.app import App
from textual.message import Message

from drillrunner.app.screens.base import BaseScreen
from drillrunner.store.errors import StoreError

if TYPE_CHECKING:
    from drillrunner.store.store import Store


def now() -> datetime:
    """The time, with the local offset."""
    return datetime.now().astimezone()


class StoreOpened(Message):
    """The records are open."""

    def __init__(self, store: Store) -> None:
        super().__init__()
        self.store = store


class StoreRefused(Message):
    """The records could not be opened; `why` is one line."""

    def __init__(self, why: str) -> None:
        super().__init__()
        self.why = why


class RecordsApp(App[None]):
    """An app with records, which are opened once its first screen stands.

    A screen reads in `BaseScreen.read`; what a person asks for goes through `with_store`.
    """

    def __init__(self, database: str, clock: Callable[[], datetime] | None) -> None:
        super().__init__()
        self.database = database
        self.clock = clock or now
        self.store: Store | None = None
        self._opening = False
        self._waiting: Callable[[Store], object] | None = None

    def open_store(self) -> None:
        """Open the records in the background."""
        if self.store is None and not self._opening:
            self._opening = True
            self._open_in_thread()

    @work(thread=True)
    def _open_in_thread(self) -> None:
        try:
            from drillrunner.store.store import Store

            store = Store.open(self.database, self.clock)
        except StoreError as error:
            self.post_message(StoreRefused(str(error)))
        else:
            self.post_message(StoreOpened(store))

    def on_store_opened(self, event: StoreOpened) -> None:
        """The records are there: settle what hangs on them, then do what was asked for."""
        self._opening = False
        self.store = event.store
        self.say()
        self.with_store(self.settle)
        if isinstance(self.screen, BaseScreen):
            self.read(self.screen)
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self.with_store(waiting)

    def on_store_refused(self, event: StoreRefused) -> None:
        """The records can't be opened: say why, and offer to try again."""
        self._opening = False
        self.say("your records are not open")
        self.trouble(event.why, self.open_store)

    def on_unmount(self) -> None:
        if self.store is not None:
            self.store.close()

    def settle(self, store: Store) -> None:
        """What is to be done as soon as the records are open."""

    def with_store(self, do: Callable[[Store], object]) -> None:
        """Do what a person asked for: now, or as soon as the records are open.

        If they fail, the reason is shown, and the same can be tried again or left.
        """
        if self.store is not None:
            self._attempt(do, lambda: self.with_store(do))
        elif self._waiting is None:
            self._waiting = do
            self.say("opening your records; then this goes on")
            self.open_store()
        else:
            self.say("still opening your records: what you asked for first comes first")

    def read(self, screen: BaseScreen) -> None:
        """Let a screen read what it shows. If that fails, the way out leads back from it too."""
        leaving = self.return_code is not None
        # One that is not mounted yet reads when it comes to the front.
        if self.store is not None and screen.is_mounted and not leaving:
            self._attempt(screen.read, lambda: self.read(screen), screen.action_back)

    def _attempt(
        self,
        do: Callable[[Store], object],
        again: Callable[[], object],
        back: Callable[[], object] = lambda: None,
    ) -> None:
        assert self.store is not None
        try:
            do(self.store)
        except StoreError as error:
            self.trouble(str(error), again, back)

    def trouble(
        self,
        why: str,
        again: Callable[[], object],
        back: Callable[[], object] = lambda: None,
    ) -> None:
        """Say what failed, with the ways out: try again, leave the app, or go back."""
        from drillrunner.app.screens.dialog import Choice

        ways = {"again": again, "leave": self.exit}

        def answered(choice: str | None) -> None:
            ways.get(choice or "", back)()

        self.push_screen(
            Choice(
                "Your records",
                (
                    ("again", "try again", "the same once more"),
                    ("leave", "quit", "close the app; all that was kept stays kept"),
                ),
                why,
            ),
            answered,
        )

    def say(self, text: str = "") -> None:
        """One line in the message place of the nearest full screen."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, BaseScreen) and screen.is_mounted:
                screen.say(text)
                return
