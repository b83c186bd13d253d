"""Which screen each door leads to. A screen is imported when it is opened first."""

from __future__ import annotations

import re
from importlib import import_module
from typing import TYPE_CHECKING, Any

from drillrunner.app import doors

if TYPE_CHECKING:
    from textual.screen import Screen

ELSEWHERE: dict[type[doors.Door], tuple[str, str]] = {
    doors.AboutPlayer: ("player", "PlayerScreen"),
    doors.CourseForm: ("course", "CourseScreen"),
    doors.MatchFair: ("match_fair", "FairScreen"),
    doors.MatchPlay: ("match", "MatchPlayScreen"),
    doors.PlayInSession: ("session_play", "SessionPlayScreen"),
    doors.ResultInSession: ("session_play", "SessionResultScreen"),
    doors.Session: ("session_block", "SessionScreen"),
    doors.Summary: ("session_summary", "SummaryScreen"),
}
"""The module under `app.screens` and the class, for each door that is not called as its screen."""


def kind(door: type[doors.Door]) -> type[Screen[Any]]:
    """The class of the screen behind a kind of door: behind `RoundPlay` it is `RoundPlayScreen` of
    `screens/round_play.py`, unless it lies elsewhere. Raises ImportError.
    """
    called = door.__name__
    usual = re.sub(r"(?<=[a-z])(?=[A-Z])", "_", called).lower(), f"{called}Screen"
    module, name = ELSEWHERE.get(door, usual)
    found: type[Screen[Any]] = getattr(import_module(f"drillrunner.app.screens.{module}"), name)
    return found


def screen(door: doors.Door) -> Screen[Any]:
    """A new screen behind a door. Raises ImportError."""
    given = {name: getattr(door, name) for name in door.holds}
    return kind(type(door))(**given)
