"""Which screen each door leads to. A screen is imported when it is opened first."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from drillrunner.app import doors

if TYPE_CHECKING:
    from textual.screen import Screen

SCREENS: dict[type[doors.Door], tuple[str, str]] = {
    doors.AboutPlayer: ("player", "PlayerScreen"),
    doors.Association: ("association", "AssociationScreen"),
    doors.BetweenBays: ("between_bays", "BetweenBaysScreen"),
    doors.Calendar: ("calendar", "CalendarScreen"),
    doors.Cautions: ("cautions", "CautionsScreen"),
    doors.Clubs: ("clubs", "ClubsScreen"),
    doors.Compare: ("compare", "CompareScreen"),
    doors.CourseForm: ("course", "CourseScreen"),
    doors.Courses: ("courses", "CoursesScreen"),
    doors.Find: ("find", "FindScreen"),
    doors.Goals: ("goals", "GoalsScreen"),
    doors.Green: ("green", "GreenScreen"),
    doors.Help: ("help", "HelpScreen"),
    doors.History: ("history", "HistoryScreen"),
    doors.Holes: ("holes", "HolesScreen"),
    doors.Leaders: ("leaders", "LeadersScreen"),
    doors.MakeDrill: ("make_drill", "MakeDrillScreen"),
    doors.Index: ("index", "IndexScreen"),
    doors.MakeRange: ("make_range", "MakeRangeScreen"),
    doors.MatchFair: ("match_fair", "FairScreen"),
    doors.MatchPlay: ("match", "MatchPlayScreen"),
    doors.MatchResult: ("match_result", "MatchResultScreen"),
    doors.MatchSetup: ("match_setup", "MatchSetupScreen"),
    doors.NewPlayer: ("new_player", "NewPlayerScreen"),
    doors.Notices: ("notices", "NoticesScreen"),
    doors.Pattern: ("pattern", "PatternScreen"),
    doors.Play: ("play", "PlayScreen"),
    doors.PlayInSession: ("session_play", "SessionPlayScreen"),
    doors.Result: ("result", "ResultScreen"),
    doors.ResultInSession: ("session_play", "SessionResultScreen"),
    doors.RoundCard: ("round_card", "RoundCardScreen"),
    doors.RoundPlay: ("round_play", "RoundPlayScreen"),
    doors.RoundSetup: ("round_setup", "RoundSetupScreen"),
    doors.Rounds: ("rounds", "RoundsScreen"),
    doors.Run: ("run", "RunScreen"),
    doors.Session: ("session_block", "SessionScreen"),
    doors.SessionSetup: ("session_setup", "SessionSetupScreen"),
    doors.SettingsBeside: ("settings_beside", "SettingsBesideScreen"),
    doors.Standings: ("standings", "StandingsScreen"),
    doors.Stock: ("stock", "StockScreen"),
    doors.Summary: ("session_summary", "SummaryScreen"),
    doors.WhereLost: ("where_lost", "WhereLostScreen"),
    doors.WhichRuns: ("which_runs", "WhichRunsScreen"),
    doors.ThenAndNow: ("then_and_now", "ThenAndNowScreen"),
    doors.Tuning: ("tuning", "TuningScreen"),
    doors.Width: ("width", "WidthScreen"),
}
"""The module under `app.screens` and the class, for each door that leads to a screen."""


def kind(door: type[doors.Door]) -> type[Screen[Any]]:
    """The class of the screen behind a kind of door. Raises KeyError."""
    module, name = SCREENS[door]
    found: type[Screen[Any]] = getattr(import_module(f"drillrunner.app.screens.{module}"), name)
    return found


def screen(door: doors.Door) -> Screen[Any]:
    """A new screen behind a door. Raises KeyError."""
    given = {name: getattr(door, name) for name in door.holds}
    return kind(type(door))(**given)
