"""What can be opened, by name: a part or a screen says `app.open(Door(...))` and imports no screen.

The fields of a door are those that its screen is made with; `opener` knows which screen that is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from inspect import get_annotations
from typing import TYPE_CHECKING, Any, ClassVar, dataclass_transform

if TYPE_CHECKING:
    from datetime import date
    from decimal import Decimal

    from textual.screen import Screen

    from drillrunner.catalogue.courses import Course
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.plans import Plan
    from drillrunner.catalogue.ranges import RangeProfile
    from drillrunner.practice.looking_back.progress import Shown
    from drillrunner.practice.matches.record import Setup
    from drillrunner.practice.sessions.plan import Wanted
    from drillrunner.practice.sessions.session import Limits
    from drillrunner.rules.shot import NearLie
    from drillrunner.rules.station import Ask
    from drillrunner.services.match_desk import MatchDesk, Seat
    from drillrunner.store.journal import Playing
    from drillrunner.store.shapes import Best, StoredRun


@dataclass_transform(frozen_default=True)
class Door:
    """Base of all that can be opened. A door is made as a frozen dataclass of its fields would be;
    making so many of those would take a tenth of the time to the first paint.
    """

    holds: ClassVar[dict[str, str]] = {}
    """The fields and what each may be, as it is written."""

    def __init_subclass__(cls) -> None:
        cls.holds = {**cls.holds, **get_annotations(cls)}

    def __init__(self, *values: Any, **named: Any) -> None:
        given = {**dict(zip(self.holds, values, strict=False)), **named}
        left = [name for name in self.holds if name not in given and not hasattr(self, name)]
        if left or given.keys() - self.holds.keys() or len(values) + len(named) > len(given):
            raise TypeError(f"{type(self).__name__} takes {', '.join(self.holds) or 'nothing'}")
        self.__dict__.update(given)


# ---- what is gone on with ----


class OpenRun(Door):
    """An open run, or the open match that it belongs to."""

    run: str


class OpenMatch(Door):
    """A match that was left open."""

    match: str


# ---- playing ----


class Play(Door):
    """A run. best: what there is to beat."""

    playing: Playing
    best: Best | None


class PlayInSession(Play):
    """A run in a session."""


class Result(Door):
    """What a run came to."""

    playing: Playing


class ResultInSession(Result):
    """What a run in a session came to."""


class MatchPlay(Door):
    """A match with somebody to play."""

    desk: MatchDesk


class MatchResult(Door):
    """A match with nothing left to play."""

    desk: MatchDesk


class MatchSetup(Door):
    """Who plays a drill together, and how."""

    drill: Drill


class BetweenBays(Door):
    """A match between bays that waits for others. number: of the gathering."""

    number: int


class WaitForOthers(Door):
    """A match between bays that is opened for others to join. setup: how it is played."""

    drill: Drill
    setup: Setup


class JoinOthers(Door):
    """A match between bays that another one opened. code: its four digits."""

    code: str


class MatchFair(Door):
    """A fair fight, to be agreed on."""

    seats: Sequence[Seat]
    setup: Setup


# ---- sessions ----


class Session(Door):
    """The session that goes on."""


class Find(Door):
    """The search of the block in hand."""


class SessionSetup(Door):
    """A plan and its limits, to be chosen. wanted: what was asked for already."""

    wanted: Wanted | None = None


class Cautions(Door):
    """What to mind before a session starts."""

    plan: Plan
    limits: Limits


class Summary(Door):
    """What a session came to."""

    session: str


# ---- looking back ----


class History(Door):
    """The runs of a drill, or of all of them. fingerprint: the setting that is shown first."""

    drill: str | None
    title: str
    fingerprint: str | None = None
    player: str | None = None
    day: date | None = None


class WhichRuns(Door):
    """Which runs are looked at. shown: those of now. narrow: takes other ones."""

    shown: Shown
    narrow: Callable[[Shown], object]


class Run(Door):
    """The entries of one run."""

    run: StoredRun


class Compare(Door):
    """One run beside another."""

    one: StoredRun
    others: Sequence[StoredRun]


class SettingsBeside(Door):
    """The settings that a drill was played at."""

    drill: str
    title: str


class Goals(Door):
    """What the player of now wants by a day, and works on. drill: one to set a score on, by id."""

    drill: str | None = None


class WhereLost(Door):
    """What each kind of shot costs a round, and what practice is worth."""


class ThenAndNow(Door):
    """The older balls beside the newer ones."""


class Calendar(Door):
    """Balls by day and week."""


class Leaders(Door):
    """The best scores on a drill as it is set, of those who agreed. since: the first day."""

    drill: Drill
    since: date | None = None


class Standings(Door):
    """Matches won."""


# ---- odds, clubs and targets ----


class Holes(Door):
    """Which club and which line on the holes of a course."""


class Pattern(Door):
    """Where shots with one club and swing finish."""

    club: str
    swing: str = "full"


class Green(Door):
    """How likely each length is holed from a lie."""

    lie: NearLie


def pattern_of(asked: Drill | Ask) -> Pattern | Green:
    """Where what is asked is looked at: a pattern, or the green for a ball to the hole."""
    if asked.aim.lie is not None:
        return Green(asked.aim.lie)
    return Pattern(asked.club, asked.swing)


def pattern_of_run(run: StoredRun) -> Pattern | Green:
    """The same for a run that was played."""
    # It takes long to import, and the first screen opens no door.
    from drillrunner.rules.station import HOLING

    if run.asks in HOLING:
        stations = run.setting.get("stations") or [run.setting]
        return Green(stations[0].get("aim", {}).get("lie") or "green")
    return Pattern(run.club, run.swing)


class MakeDrill(Door):
    """A drill of one's own from another; an own one is changed. drill: in the player's unit."""

    drill: Drill


class MakeRange(Door):
    """One's range, described: a new one unless given."""

    profile: RangeProfile | None = None


class Tuning(Door):
    """Where the dial of a drill fits."""

    drill: Drill


class Stock(Door):
    """The stock carries."""


class Width(Door):
    """How wide a target is. wanted, distance: as of a drill."""

    wanted: Decimal | None = None
    distance: Decimal | None = None


# ---- rounds ----


class Rounds(Door):
    """The rounds of the player of now."""


class RoundSetup(Door):
    """A round, before its first hole. course, tee, day: what was asked for already."""

    course: str | None = None
    tee: str | None = None
    day: date | None = None


class RoundPlay(Door):
    """A round, hole by hole. hole: the one to be corrected."""

    round: str
    hole: int | None = None


class RoundCard(Door):
    """The card of a round."""

    round: str


class Courses(Door):
    """The courses there are."""


class CourseForm(Door):
    """A course as its card has it. course: the one that is changed; else a new one."""

    course: Course | None = None


class Index(Door):
    """The handicap index, and what brings it to the goal."""


class Association(Door):
    """What the association chose of what the Rules of Handicapping leave to it."""


# ---- people and the app ----


class NewPlayer(Door):
    """A player, to be added. first: nobody plays yet."""

    first: bool


class AboutPlayer(Door):
    """What is kept about the player of now."""


class Clubs(Door):
    """The clubs of the player of now."""


class Notices(Door):
    """Files that can't be used."""


class Help(Door):
    """What a screen shows, and its keys."""

    about: Screen[object]
