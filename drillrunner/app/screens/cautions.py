"""Cautions: what to mind before the first ball, and the warm-up. Enter passes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.widgets import Button, Static

from drillrunner.app.keys import key
from drillrunner.app.plan_words import plan_text
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.practice.sessions.compose import LONG_SESSION
from drillrunner.rules import keypad

if TYPE_CHECKING:
    from drillrunner.catalogue.plans import Plan
    from drillrunner.practice.sessions.session import Limits

WARM_UP = (
    "Walk a little, swing your arms, turn to both sides.",
    "Then half swings with a short club, then longer ones.",
)
"""Common practice, no source; only the ten minutes have one (see `compose.TRADED`)."""

FULL, SHORT = "Take ten minutes for it.", "Ten minutes is better: go easy on the first balls."

CAUTIONS = (
    "Stay in your bay. Look before you swing.",
    "Never go forward of the line for a ball or a tee.",
    "Stop if something hurts; ask a physician or a physiotherapist.",
    "The range's rules and its staff come first.",
)
STRUCTURE = (
    "drillrunner gives practice a structure: no medical advice, and no technical swing advice. "
    "A physician or physiotherapist knows what hurts, a teaching professional your swing."
)


class CautionsScreen(ScrollScreen):
    """plan, limits: of the session that Enter starts."""

    topic = "cautions"
    scrolled = "#cautions"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do go", "cautions.start", "start", "Start", shown=True),
    ]

    def __init__(self, plan: Plan, limits: Limits) -> None:
        super().__init__()
        self.plan = plan
        self.limits = limits
        self.title = f"Before you start · {limits.said}"

    def body(self) -> ComposeResult:
        long = self.limits.minutes >= LONG_SESSION
        with VerticalScroll(id="cautions", can_focus=False):
            yield Static("Warm up first", classes="head", markup=False)
            for line in (*WARM_UP, FULL if long else SHORT):
                yield Static(f"· {line}", classes="point", markup=False)
            yield Static("Mind", classes="head", markup=False)
            for line in CAUTIONS:
                yield Static(f"■ {line}", classes="point", markup=False)
            yield Static(STRUCTURE, id="structure", markup=False)
            yield Static(
                plan_text(self.plan, self.limits, self.drillrunner.clock()), id="planned-blocks"
            )
        start = Button("Start the clock", id="start", variant="primary")
        # Enter is the screen's: the button, which has no room in a small window, would swallow it.
        start.can_focus = False
        yield start

    def on_key(self, event: events.Key) -> None:
        if event.key in self.active_bindings or keypad.is_modifier(event.key):
            return
        if event.is_printable:
            self.say("Enter starts the clock, / goes back")

    def on_button_pressed(self, event: Button.Pressed) -> None:
        event.stop()
        self.action_start()

    def action_start(self) -> None:
        """The session begins now."""
        self.drillrunner.sessions.begin(self.plan, self.limits)
