"""The session's clock, under the top line of every screen while a session goes on."""

from __future__ import annotations

from textual import events
from textual.content import Content
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widget import Widget

from drillrunner.app.face import Face


class SessionClock(Widget):
    """Shows the app's `session_face`; nothing without a session. A click opens its menu.

    Its second line is kept free for cues: none of them moves the keys below.
    """

    auto_links = Reactive(False)

    def on_mount(self) -> None:
        self.watch(self.app, "session_face", self._changed)

    def _changed(self, old: Face | None, new: Face | None) -> None:
        self.display = new is not None
        self.set_class(new is not None and new.loud, "-loud")
        comes_or_goes = (old is None) != (new is None)
        if comes_or_goes or self.screen.is_current:
            self.refresh(layout=comes_or_goes)

    @property
    def face(self) -> Face | None:
        """What is shown."""
        found: Face | None = getattr(self.app, "session_face", None)
        return found

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return 2

    def render(self) -> Content:
        face, width = self.face, self.content_size.width
        if face is None:
            return Content("")
        line = Content.styled(face.line(width), "bold")
        return Content.assemble(line, "\n", face.note(width))

    async def on_click(self, event: events.Click) -> None:
        event.stop()
        await self.run_action("app.session('menu')")
