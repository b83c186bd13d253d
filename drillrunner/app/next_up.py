"""What is next, in a line, and the one key that plays it: on home, a result and a summary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import events

from drillrunner.app import doors
from drillrunner.app.host import Host
from drillrunner.app.keys import FACES
from drillrunner.app.widgets.line import TextLine

if TYPE_CHECKING:
    from drillrunner.practice.looking_back.what_next import NextThing


class NextLine(TextLine):
    """What is next; a click plays it. Its screen has `action_what_next`.

    keeps_room: for what is known late, so that nothing moves under a finger then; else it takes no
    room while it is empty.
    """

    def __init__(self, *, id: str, keeps_room: bool = False) -> None:
        super().__init__(id=id)
        self.keeps_room = keeps_room
        self.display = keeps_room

    def show(self, text: str) -> None:
        """Show a text."""
        super().show(text)
        self.display = self.keeps_room or bool(text)

    async def on_click(self, event: events.Click) -> None:
        if self.text:
            await self.run_action("screen.what_next")


def next_line(found: NextThing | None, means: str, roomy: bool = True) -> str:
    """What is next and why, and the key that plays it; empty for nothing. means: of that key.

    roomy: there are more than two lines of a phone for it.
    """
    what = "what is next" if roomy else "next"
    return "" if found is None else f"{FACES[means]} plays {what} · {found.line}"


def play_next(app: Host, found: NextThing | None) -> str:
    """Play what is next; why nothing comes of it, else empty."""
    if found is None:
        return "what is next is worked out once you pause for a moment"
    if found.drill is not None:
        app.runs.play(app.drills.catalogue.drill(found.drill))
        return ""
    if found.find is None:
        return f"{found.what}: there is no drill for it here"
    if app.sessions.desk is not None or app.sessions.waiting is not None:
        return "a session is open: go on with it or end it first"
    from drillrunner.practice.sessions import compose
    from drillrunner.practice.sessions.session import Limits

    limits = Limits(
        compose.FIND_MINUTES + compose.WARM_MINUTES, compose.FIND_BALLS + compose.WARM_BALLS
    )
    plan = compose.search_plan(*found.find, found.what, found.why, warm=False)
    app.open(doors.Cautions(plan, limits))
    return ""
