"""What the parts of the app know of it and of its screens: the ground under both."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual._compositor import Compositor
from textual.app import App
from textual.geometry import Size
from textual.reactive import reactive
from textual.screen import ModalScreen, Screen

from drillrunner.app import preferences
from drillrunner.app.gate import Gate
from drillrunner.app.keys import Keyed
from drillrunner.app.painting import Sparing
from drillrunner.catalogue import places

if TYPE_CHECKING:
    from textual.driver import Driver

    from drillrunner.app.doors import Door
    from drillrunner.app.face import Face
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

BREAKPOINTS: list[tuple[int, str]] = [
    (0, "-tiny"),
    (40, "-narrow"),
    (80, "-normal"),
    (160, "-wide"),
]
HEIGHTS: list[tuple[int, str]] = [(0, "-short"), (30, "-tall")]
STRAY = (events.Mount, events.Resize, events.Timer)
"""What may come to a screen after it was taken away, and asks for what was in it."""


def now() -> datetime:
    """The time, with the local offset."""
    return datetime.now().astimezone()


class OneSize:
    """Mixed into a screen: it takes the size that the window has now, and no earlier one.

    A screen tells itself each new size. With two on their way it would go from one to the other and
    back for ever, and no key would be answered again. It has the classes of its size before it is
    drawn; Textual gives them after that, and a finger would meet keys that move.
    """

    CSS_PATH: ClassVar[Any] = Path(__file__).with_name("screens.tcss")

    app: Any
    parent: Any
    set_class: Any

    def __init__(
        self, name: str | None = None, id: str | None = None, classes: str | None = None
    ) -> None:
        super().__init__(name=name, id=id, classes=classes)  # type: ignore[call-arg]
        self._compositor: Compositor = Sparing()
        self._come_to_before = False

    def on_compose(self) -> None:
        # Before there is anything in it: each class would give all of that its styles anew.
        size = self.app.size
        for marks, length in ((BREAKPOINTS, size.width), (HEIGHTS, size.height)):
            reached = [name for least, name in marks if length >= least]
            for _, name in marks:
                self.set_class(name == reached[-1], name)

    def _on_screen_resume(self, event: events.ScreenResume) -> None:
        # All in it got its styles when it was mounted; Textual gives them once more at once.
        event.refresh_styles &= self._come_to_before
        self._come_to_before = True

    @property
    def in_stack(self) -> bool:
        """Whether it was not taken away, which leaves it without what is in it, piece by piece."""
        return self in getattr(self.parent, "screen_stack", ())

    async def on_event(self, event: events.Event) -> None:
        # It may have been taken away while it opened, or while something waited.
        if not isinstance(event, STRAY) or self.in_stack:
            await super().on_event(event)  # type: ignore[misc]

    def _screen_resized(self, size: Size) -> None:
        # Textual lays out what it tells of a size, and all under it, though they have it already:
        # three times at a start, and home whenever another screen is opened above it.
        if size != self._compositor.size:
            super()._screen_resized(size)  # type: ignore[misc]

    async def _on_resize(self, event: events.Resize) -> None:
        if event.size != self.app.size:
            event.prevent_default()
            event.stop()


class BareScreen(OneSize, Keyed, Screen[None]):
    """A full screen, as the parts of the app know one."""

    of_play: ClassVar[bool] = False
    """Whether the screen belongs to the playing of one run, and goes when the next one opens."""
    place: ClassVar[str] = ""
    """The name of a screen that is come back to: `home`, `session` or `find`."""
    title_does: str = "screen.back"
    """The action of a click on the title."""
    hinted: object = None
    """Stands for a hint about a key while that is what is said."""
    asks_who: ClassVar[bool] = False
    """Whether the screen asks who plays."""

    @property
    def is_current(self) -> bool:
        """Whether it is seen: nothing covers it but screens that one sees through.

        For Textual the screen under the top one is always seen: it would be laid out and painted
        with every change there, for nothing.
        """
        for screen in reversed(self.app.screen_stack):
            if screen is self:
                return True
            if screen.styles.background.a == 1:
                break
        return False

    def read(self, store: Store) -> None:
        """Read from the records what the screen shows; done whenever it comes to the front."""

    def takes_up(self, playing: Playing) -> None:
        """Go on with a run that has its place in the records now; a screen of play is told."""

    def waits(self) -> None:
        """Say what still waits for the disk, if that was typed here."""

    def file_moved(self, why: str) -> bool:
        """Offer to write what was typed here to the file that came; whether there is anything."""
        return False

    def on_resize(self) -> None:
        # Its classes and what is in it are of the new size only after this.
        self.call_after_refresh(self._fit)

    def _fit(self) -> None:
        if self.in_stack:
            self.refit()

    def refit(self) -> None:
        """Say anew what follows from the room that there is now."""

    def changed(self) -> None:
        """Show what has changed elsewhere; only a screen with a `place` is told."""

    def say(self, text: str = "") -> None:
        """Put one line in the message place; an empty text clears it."""

    @property
    def said(self) -> str:
        """What stands in the message place."""
        return ""

    def forget(self, hint: object) -> None:
        """Say nothing any more if that hint is what is said."""
        if hint is not None and hint is self.hinted and self.is_mounted:
            self.say()

    def action_back(self) -> None:
        """Go back; nothing is lost."""
        self.app.pop_screen()


class Bare(Keyed, App[None]):
    """The app without its parts: who plays, the time, the choices kept, and screens by name."""

    # Of both, what shows them is told: the app itself need not be painted anew.
    player: reactive[PlayerInfo | None] = reactive(None, repaint=False)
    session_face: reactive[Face | None] = reactive(None, repaint=False)
    in_sight: bool = True
    """Whether anybody sees the app: a phone may be away for a while."""

    def __init__(self, clock: Callable[[], datetime] | None) -> None:
        super().__init__()
        self.clock = clock or now
        self.preferences, self.start_trouble = preferences.load(places.config_dir())
        """start_trouble: one line, to be said once the first screen stands."""
        self.unsaid = ""
        """What was said while no screen stood yet; the first that does says it."""

        self._leave_with: int | None = None
        self._turns: asyncio.AbstractEventLoop | None = None
        self.gate = Gate(
            self,
            super().on_event,
            self.is_waiting,
            self.is_question,
            self.is_writing,
            self.disk_is_late,
        )

    def get_driver_class(self) -> type[Driver]:
        from drillrunner.app.driver import made_fit

        return made_fit(super().get_driver_class())

    async def on_event(self, event: events.Event) -> None:
        if not event.is_forwarded and self.gate.takes(event):
            self.gate.put(event)
        else:
            await super().on_event(event)

    def _handle_exception(self, error: Exception) -> None:
        # A screen that was just opening when the app was left finds its widgets gone.
        if not self._exit:
            super()._handle_exception(error)

    async def run_action(self, *what: Any, **more: Any) -> bool:
        screen = self.screen
        hint = screen.hinted if isinstance(screen, BareScreen) else None
        done = await super().run_action(*what, **more)
        if done and isinstance(screen, BareScreen):
            screen.forget(hint)
        return done

    @property
    def is_answering(self) -> bool:
        """Whether something typed is not answered yet, and will be without anything else."""
        return (self.gate.busy and not self.is_waiting()) or self.is_writing()

    def is_waiting(self) -> bool:
        """Whether something asked for is still to come, so that what is typed waits for it."""
        return False

    def is_writing(self) -> bool:
        """Whether something typed is being written."""
        return False

    def disk_is_late(self) -> None:
        """Something typed is not on disk after a moment: the screen on top says so."""
        if isinstance(self.screen, BareScreen):
            self.screen.waits()

    def is_question(self, screen: Screen[Any]) -> bool:
        """Whether a screen asks something, so that it is no place for what was typed before it."""
        return isinstance(screen, ModalScreen) or getattr(screen, "asks_who", False)

    def leave(self, code: int) -> None:
        """End in good order with this exit code; from anywhere, a handler of a signal too."""
        self._leave_with = code
        if self._turns is not None:
            # One that ends already closes it.
            with suppress(RuntimeError):
                self._turns.call_soon_threadsafe(self._leave)

    def on_load(self) -> None:
        # A signal may come before there is a loop to hear of it.
        self._turns = asyncio.get_running_loop()
        if self._leave_with is not None:
            self._leave()

    def _leave(self) -> None:
        self.exit(return_code=self._leave_with or 0)

    def open(self, door: Door) -> None:
        """Open what a door leads to."""
        raise NotImplementedError

    def say(self, text: str = "") -> None:
        """One line in the message place of the nearest full screen."""
        for screen in reversed(self.screen_stack):
            if isinstance(screen, BareScreen) and screen.is_mounted:
                screen.say(text)
                return
        self.unsaid = text

    def tell(self, *wanted: str) -> None:
        """Let the screens at these places show what has changed."""
        for screen in self.screen_stack:
            if isinstance(screen, BareScreen) and screen.place in wanted and screen.is_mounted:
                screen.changed()

    @property
    def at(self) -> str:
        """The place of the screen on top; empty for one that has none."""
        return self.screen.place if isinstance(self.screen, BareScreen) else ""

    def down_to(self, place: str) -> None:
        """Leave every screen above this place, or above home."""
        while len(self.screen_stack) > 1 and self.at != place:
            self.pop_screen()

    def instead_of_play(self, screen: Screen[Any] | None = None) -> None:
        """Leave the run that is played; open a screen in its place."""
        with self.batch_update():
            while isinstance(self.screen, BareScreen) and self.screen.of_play:
                self.pop_screen()
            if screen is not None:
                self.push_screen(screen)

    def prefer(self, **chosen: str | None) -> None:
        """Keep a choice that outlives the app; names as of `Preferences`."""
        wanted = replace(self.preferences, **chosen)
        if wanted != self.preferences:
            self.preferences = wanted
            if trouble := preferences.save(places.config_dir(), wanted):
                self.say(trouble)

    @property
    def bell_wanted(self) -> bool:
        """Whether a bell rings when a block's time is up."""
        return self.preferences.bell is not None
