"""What every screen has: the top line, a line for messages, the footer, help, menu, a way back."""

from __future__ import annotations

from typing import ClassVar, cast

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app.bare import BREAKPOINTS, HEIGHTS, BareScreen
from drillrunner.app.host import Host
from drillrunner.app.keys import key
from drillrunner.app.widgets.keysbar import KeysBar
from drillrunner.app.widgets.lists import BlockList
from drillrunner.app.widgets.session_clock import SessionClock
from drillrunner.app.widgets.topbar import TopBar

HINT = 6.0
"""Seconds that a hint about a key is said."""


class BaseScreen(BareScreen):
    """Base of the full screens. A subclass names its `topic` of help and writes `body`.

    Keys of the number block that mean something everywhere are bound here: `/` goes back and `.`
    opens the menu. A screen that means something else by them takes them in `on_key` and stops
    the event, which comes before bindings.
    """

    AUTO_FOCUS = None
    HORIZONTAL_BREAKPOINTS = BREAKPOINTS
    VERTICAL_BREAKPOINTS = HEIGHTS
    BINDINGS: ClassVar[list[BindingType]] = [
        key("menu", "screen.menu", shown=True),
        key("back leave", "screen.back", "back", shown=True),
    ]

    topic: ClassVar[str] = "home"
    """The name of this screen's text in `help.TEXTS`."""

    @property
    def drillrunner(self) -> Host:
        """The app and its parts, by their own type."""
        return cast(Host, self.app)

    def compose(self) -> ComposeResult:
        yield TopBar()
        yield SessionClock()
        yield from self.body()
        yield Static("", id="say", markup=False)
        yield KeysBar()

    def body(self) -> ComposeResult:
        """The widgets between the top line and the message line."""
        yield from ()

    def on_screen_resume(self) -> None:
        # It may have been left again before this came.
        if not self.is_current:
            return
        if unsaid := self.drillrunner.unsaid:
            self.drillrunner.unsaid = ""
            self.say(unsaid)
        self.query(SessionClock).refresh()
        self.drillrunner.records.read(self)

    def say(self, text: str = "") -> None:
        """Put one line in the message place; an empty text clears it."""
        self.hinted = None
        line = self.query_one("#say", Static)
        if line.content != text:
            # Only a place that grows with its text is laid out anew.
            height = line.styles.height
            line.update(text, layout=height is not None and height.is_auto)

    @property
    def said(self) -> str:
        lines = self.query("#say").results(Static)
        return "".join(str(line.content) for line in lines)

    def hint(self, text: str) -> None:
        """Say why a key did nothing: it goes with the next one that does, or after a while."""
        self.say(text)
        self.hinted = hint = object()
        self.set_timer(HINT, lambda: self.forget(hint))

    def on_block_list_meaningless(self, event: BlockList.Meaningless) -> None:
        """Answer a key that means nothing in a list."""
        self.hint(f"{event.key} means nothing here: 8 and 2 move, Enter opens, . is the menu")

    def first_help(self) -> str:
        """What the help says first: of what is on this screen now, and not of every such screen."""
        return ""

    def action_menu(self) -> None:
        """Everything that can be done here, as a list."""
        self.drillrunner.open_menu(self)


class ListScreen(BaseScreen):
    """Base of the screens with one list: it has the keys from the start."""

    def on_mount(self) -> None:
        self.block.focus()

    @property
    def block(self) -> BlockList:
        """The list."""
        return self.query_one(BlockList)

    @property
    def under(self) -> str:
        """The id of the row under the cursor; empty for none."""
        row = self.block.highlighted_option
        return "" if row is None else row.id or ""


class ScrollScreen(BaseScreen):
    """Base of the screens that are read: the block scrolls what `scrolled` (a selector) finds."""

    scrolled: ClassVar[str]
    BINDINGS: ClassVar[list[BindingType]] = [
        key("up", "scroll.up", "scroll(-2)"),
        key("down", "scroll.down", "scroll(2)"),
        key("page_up", "scroll.page_up", "scroll_page(-1)"),
        key("page_down", "scroll.page_down", "scroll_page(1)"),
        key("first", "scroll.first", "scroll_edge(False)"),
        key("last", "scroll.last", "scroll_edge(True)"),
    ]

    def action_scroll(self, by: int) -> None:
        """Scroll by some lines."""
        self._scroll(by)

    def action_scroll_page(self, by: int) -> None:
        """Scroll by a page, less a line to find the place again."""
        self._scroll(by * max(self.query_one(self.scrolled).content_size.height - 1, 1))

    def _scroll(self, by: int) -> None:
        # At once: what waits for a refresh counts from where it was before the key before it.
        self.query_one(self.scrolled).scroll_relative(y=by, animate=False, immediate=True)

    def action_scroll_edge(self, down: bool) -> None:
        """Scroll to one end."""
        room = self.query_one(self.scrolled)
        room.scroll_end(animate=False) if down else room.scroll_home(animate=False)
