"""The session's clock, under the top line of every screen while a session goes on."""

from __future__ import annotations

from dataclasses import dataclass

from textual import events
from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

ROOMY = 70
"""Columns from which the numbers say what they count."""


@dataclass(frozen=True)
class Face:
    """What the clock shows. clock, block_clock: `mm:ss` left, with a plus once it is over.

    balls, bucket: used and given, of the block and of the session. pace: seconds a ball, in
    words. mark: a shape before it all. notes: what is to be said in a second line, the longest
    first. loud: that line is a cue and not a quiet word.
    """

    clock: str
    block: str
    block_clock: str
    balls: tuple[int, int]
    bucket: tuple[int, int]
    pace: str = ""
    mark: str = ""
    notes: tuple[str, ...] = ()
    loud: bool = False

    def line(self, width: int) -> str:
        """The first line, to the edges of a width; the block's name gives way to the numbers."""
        (used, given), (out, whole) = self.balls, self.bucket
        left, after = f"{self.mark}{self.clock} · ", f" {self.block_clock}"
        if width < ROOMY:
            right = f" {out}/{whole}"
        else:
            left = f"{self.mark}session {self.clock} · "
            here = f"{used} of {given} balls here · " if given else ""
            right = f"  {self.pace}{here}{out} of {whole} in all"
        room = max(width - len(left) - len(after) - len(right), 0)
        name = self.block if len(self.block) <= room else f"{self.block[: max(room - 1, 0)]}…"
        return left + (name + after).ljust(width - len(left) - len(right)) + right

    def note(self, width: int) -> str:
        """The second line: the first wording that fits."""
        return next((note for note in self.notes if len(note) <= width), "".join(self.notes[-1:]))


class SessionClock(Widget):
    """Shows the app's `session_face`; nothing without a session. A click opens its menu."""

    def on_mount(self) -> None:
        self.watch(self.app, "session_face", self._changed)

    def _changed(self, old: Face | None, new: Face | None) -> None:
        self.display = new is not None
        self.set_class(new is not None and new.loud, "-loud")
        lines = [0 if face is None else 1 + bool(face.notes) for face in (old, new)]
        self.refresh(layout=lines[0] != lines[1])

    @property
    def face(self) -> Face | None:
        """What is shown."""
        found: Face | None = getattr(self.app, "session_face", None)
        return found

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return 2 if self.face is not None and self.face.notes else 1

    def render(self) -> Content:
        face, width = self.face, self.content_size.width
        if face is None:
            return Content("")
        line = Content.styled(face.line(width), "bold")
        return line if not face.notes else Content.assemble(line, "\n", face.note(width))

    async def on_click(self, event: events.Click) -> None:
        event.stop()
        await self.run_action("app.session('menu')")
