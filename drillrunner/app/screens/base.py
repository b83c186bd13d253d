"""What every screen has: the top line, a line for messages, the footer, help, menu, a way back."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from drillrunner.app.bare import BREAKPOINTS, HEIGHTS, BareScreen
from drillrunner.app.host import Host
from drillrunner.app.widgets.keysbar import KeysBar
from drillrunner.app.widgets.session_clock import SessionClock
from drillrunner.app.widgets.topbar import TopBar

if TYPE_CHECKING:
    from drillrunner.app.widgets.lists import BlockList


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
        Binding(
            "full_stop,decimal,comma,separator,f10",
            "menu",
            "Menu",
            key_display=".",
            id="screen.menu",
            tooltip="Everything that can be done here, as a list",
        ),
        Binding(
            "escape,slash,divide",
            "back",
            "Back",
            key_display="/",
            id="screen.back",
            tooltip="Go back; nothing is lost",
        ),
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
        if self.is_current:
            self.drillrunner.records.read(self)

    def say(self, text: str = "") -> None:
        """Put one line in the message place; an empty text clears it."""
        line = self.query_one("#say", Static)
        if line.content != text:
            # Only a place that grows with its text is laid out anew.
            height = line.styles.height
            line.update(text, layout=height is not None and height.is_auto)

    def on_block_list_meaningless(self, event: BlockList.Meaningless) -> None:
        """Answer a key that means nothing in a list."""
        self.say(f"{event.key} means nothing here: 8 and 2 move, Enter opens, . is the menu")

    def action_menu(self) -> None:
        """Open the list of everything that can be done here."""
        self.drillrunner.open_menu(self)
