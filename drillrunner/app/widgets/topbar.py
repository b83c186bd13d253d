"""The top line of every screen: where we are, and who plays."""

from __future__ import annotations

from textual import events
from textual.content import Content
from textual.widget import Widget


def whole_parts(title: str, room: int) -> str:
    """As many parts of a title (between ` · `) as fit the room, at least the first: none is cut."""
    parts = title.split(" · ")
    while len(parts) > 1 and Content(" · ".join(parts)).cell_length > room:
        parts.pop()
    return " · ".join(parts)


class TopBar(Widget):
    """The screen's title on the left, the player on the right. Both can be clicked."""

    def on_mount(self) -> None:
        self.watch(self.screen, "title", self._changed)
        self.watch(self.app, "player", self._changed)

    def _changed(self) -> None:
        self.refresh()

    @property
    def who(self) -> str:
        """The player's name, as shown on the right."""
        whose = getattr(self.screen, "whose", None)
        player = getattr(self.app, "player", None)
        name = whose if whose is not None else player.name if player else ""
        demo = "demo · " if getattr(self.app, "demo", False) else ""
        return f"{demo}{name}" if name else demo.removesuffix(" · ")

    def render(self) -> Content:
        who = Content(self.who)
        room = self.size.width - who.cell_length
        where = Content(whole_parts(str(self.screen.title or ""), max(room - 1, 0)))
        where = where.truncate(max(room - 1, 0), ellipsis=True)
        return Content.assemble(where.pad_right(max(room - where.cell_length, 0)), who)

    async def on_click(self, event: events.Click) -> None:
        if event.x >= self.size.width - Content(self.who).cell_length:
            await self.run_action("app.players")
        else:
            await self.run_action(getattr(self.screen, "title_does", "screen.back"))
