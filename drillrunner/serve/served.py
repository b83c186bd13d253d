"""The app on a phone: it belongs to the phone's player, and tells the page what a page can do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from textual import on
from textual.events import AppFocus, DescendantBlur, DescendantFocus
from textual.message import Message
from textual.widgets import Digits, Input, Static

from drillrunner.app import doors
from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.bare import BareScreen
from drillrunner.app.preferences import Preferences
from drillrunner.app.themes import DARK, LIGHT, THEMES, StyleSheet
from drillrunner.app.widgets.readout import Readout

if TYPE_CHECKING:
    from textual.driver import Driver
    from textual.widget import Widget

LOOK = 0.5
"""Seconds between two looks at what is to be read aloud."""
NEWS = "#beat, #last, #say, #verdict"
"""What is read aloud after the number that matters: what there is to beat, and the news."""
ALOUD_MOST = 400
"""Characters that are read aloud at once."""


class Anew(Message):
    """The page came back: it has nothing of the screen."""


class Away(Message):
    """The page has gone; it may come back."""


class InBay(Message):
    """The bay that the phone is in, as its link names it."""

    def __init__(self, name: str | None) -> None:
        super().__init__()
        self.name = name


class PhoneLook(Message):
    """Whether all on the phone is dark."""

    def __init__(self, dark: bool) -> None:
        super().__init__()
        self.dark = dark


def told_anew(driver: type[Driver]) -> type[Driver]:
    """A driver of a browser that also hears that its page came back."""

    def on_meta(self: Any, kind: str, payload: dict[str, object]) -> None:
        if kind == "anew":
            self._app.post_message(Anew())
        elif kind == "gone":
            self._app.post_message(Away())
        elif kind == "bay":
            name = payload.get("name")
            self._app.post_message(InBay(None if name is None else str(name)))
        elif kind == "look":
            self._app.post_message(PhoneLook(bool(payload.get("dark"))))
        else:
            driver.on_meta(self, kind, payload)  # type: ignore[attr-defined]

    def start_application_mode(self: Any) -> None:
        driver.start_application_mode(self)
        # It starts blurred, and a footer without focus is blank: a phone has one thing to look at.
        self._app.call_later(self._app.post_message, AppFocus())

    own = {"on_meta": on_meta, "start_application_mode": start_application_mode}
    return type(f"Told{driver.__name__}", (driver,), own)


class ServedApp(DrillrunnerApp):
    """As `DrillrunnerApp`; its player is the phone's, and another one signs in on the page.

    prefers: choices that the phone kept, as of `Preferences`: it keeps its own. dark: whether all
    on the phone is; so is this until a look is chosen.
    """

    ALLOW_SELECT = False
    # Quick taps on one key would mark text around it.

    def __init__(self, *, prefers: Mapping[str, str], dark: bool = True, **fields: Any) -> None:
        super().__init__(**fields)
        # A list stands where the finger left it, and no frames in between cross the network.
        self.animation_level = "none"
        known = {name: text for name, text in prefers.items() if hasattr(self.preferences, name)}
        self.preferences = replace(Preferences(), **known)
        self._phones_look = DARK.name if dark else LIGHT.name
        self._wear_ours()
        self.stylesheet = StyleSheet(self.get_css_variables())

    def prefer(self, **chosen: str | None) -> None:
        self.preferences = replace(self.preferences, **chosen)
        self.tell_page(type="prefer", **asdict(self.preferences))

    def _wear_ours(self) -> None:
        """The look that was chosen, else the phone's."""
        chosen = self.preferences.theme
        self.theme = chosen if chosen in THEMES else self._phones_look

    def _keep_theme(self, _: object) -> None:
        # Who chooses what the phone has goes with it.
        self.prefer(theme=None if self.theme == self._phones_look else self.theme)

    @on(PhoneLook)
    def _phone_looks(self, event: PhoneLook) -> None:
        self._phones_look = DARK.name if event.dark else LIGHT.name
        self._wear_ours()

    def get_driver_class(self) -> type[Driver]:
        return told_anew(super().get_driver_class())

    def on_mount(self) -> None:
        self._aloud = ""
        self.set_interval(LOOK, self._read_aloud)
        self.theme_changed_signal.subscribe(self, self._tell_look)
        self.screen_change_signal.subscribe(self, self._on_screen)
        self._tell_look()

    def tell_page(self, **what: object) -> None:
        """Tell the page something: `type` and what belongs to it."""
        write = getattr(self._driver, "write_meta", None)
        if write is not None:
            write(what)

    @on(InBay)
    def _in_bay(self, event: InBay) -> None:
        self.records.be_in_bay(event.name)

    @on(Away)
    def _unseen(self) -> None:
        self.in_sight = False

    @on(Anew)
    def _draw_anew(self) -> None:
        self.in_sight = True
        for screen in self.screen_stack:
            screen.refresh(layout=True)
        self._tell_field(self.screen.focused)
        self._tell_look()
        self._aloud = ""

    def _tell_look(self, _: object = None) -> None:
        """The page around the screen has its colours."""
        theme = self.current_theme
        self.tell_page(
            type="look", dark=theme.dark, ground=theme.background, figure=theme.foreground
        )

    # ---- a field of the page ----

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        self._tell_field(event.widget)

    def on_descendant_blur(self, event: DescendantBlur) -> None:
        if isinstance(event.widget, Input):
            self.call_after_refresh(lambda: self._tell_field(self.screen.focused))

    def _on_screen(self, _: object) -> None:
        # A question that is gone takes its field along, without a word of that.
        self.call_after_refresh(lambda: self._tell_field(self.screen.focused))

    def _tell_field(self, widget: object) -> None:
        """What needs letters is typed in a field of the page, by the phone's own keyboard."""
        if isinstance(widget, Input):
            self.tell_page(
                type="field",
                open=True,
                label=_label(widget),
                value=widget.value,
                longest=widget.max_length or 200,
                hidden=widget.password,
            )
        else:
            self.tell_page(type="field", open=False)

    # ---- what is read aloud ----

    def _read_aloud(self) -> None:
        screen = next((s for s in reversed(self.screen_stack) if isinstance(s, BareScreen)), None)
        if screen is None or not screen.is_mounted or not self.in_sight:
            return
        texts = [
            f"{_words(readout.query_one('#plain'))}. {_words(readout.query_one('#lines'))}"
            for readout in screen.query(Readout)
        ]
        texts += [_words(widget) for widget in screen.query(NEWS)]
        said = ". ".join(text for text in texts if text)[:ALOUD_MOST]
        if said != self._aloud:
            self._aloud = said
            self.tell_page(type="aloud", text=said)

    # ---- who plays ----

    def action_players(self) -> None:
        """Who plays: on a phone its own player; another one signs in on the page."""
        self.open(doors.AboutPlayer())


def _label(field: Input) -> str:
    """The words that stand above a field."""
    before = field.parent.children if field.parent is not None else ()
    said = ""
    for node in before:
        if node is field:
            break
        said = _words(node) or said
    return said[:80]


def _words(widget: Widget | Any) -> str:
    """The words that a widget shows, in one line."""
    if isinstance(widget, Digits):
        return widget.value
    return " ".join(str(widget.content).split()) if isinstance(widget, Static) else ""
