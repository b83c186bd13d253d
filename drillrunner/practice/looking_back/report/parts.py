"""What the page for a coach holds. Distances in `unit`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from drillrunner.practice.carries import stock
from drillrunner.practice.looking_back.progress import Point, Week, typical
from drillrunner.practice.rounds.played import PlayedRound
from drillrunner.practice.sessions.summary import Summary
from drillrunner.rules.score import Better, Score
from drillrunner.rules.units import Unit
from drillrunner.store.shapes import PlayerInfo, SessionInfo, StoredRun

if TYPE_CHECKING:
    from drillrunner.odds.green.portrait import GreenSide
    from drillrunner.odds.luck import Luck
    from drillrunner.odds.portrait import PatternSide

MOST_NEXT = 6
"""Things to look at next: more would be none."""


class Covered(NamedTuple):
    """What the page covers. session: only this one. since: from this moment on, else all."""

    since: datetime | None = None
    session: SessionInfo | None = None

    def covers(self, run: StoredRun) -> bool:
        """Whether a run is in it."""
        if self.session is not None:
            return run.session_id == self.session.id
        return self.since is None or run.started >= self.since


class Day(NamedTuple):
    """A day at the range. about: place, surface, ball, wind and note, where they were noted."""

    day: date
    balls: int
    about: str


@dataclass(frozen=True)
class DrillPart:
    """One drill as set. points: all its finished runs, oldest first; fresh: those of the span.

    before: the best from before the span. notes: typed in runs of the span (the latest `NOTED`),
    each with its moment.
    """

    title: str
    setting: Mapping[str, Any]
    better: Better
    points: tuple[Point, ...]
    fresh: tuple[Point, ...]
    begun: int
    before: Score
    luck: Luck
    by_luck: tuple[Score, ...]
    trend: tuple[tuple[int, float], ...]
    notes: tuple[tuple[datetime, str], ...]

    @property
    def best(self) -> Score:
        """The best of all."""
        return self.points[-1].best if self.points else None

    @property
    def typical(self) -> Score:
        """The score that half of the runs of the span reach."""
        return typical((point.run.score for point in self.fresh), self.better)


class PatternPart(NamedTuple):
    """One club and swing in one direction."""

    club: str
    swing: str
    side: PatternSide


@dataclass(frozen=True)
class Report:
    """The whole page. clubs: id to label. weeks: newest first, of the span.

    rounds: those of the span that are in the record, oldest first. index: of now.
    """

    player: PlayerInfo
    made: datetime
    span: Covered
    clubs: Mapping[str, str]
    days: tuple[Day, ...]
    weeks: tuple[Week, ...]
    sessions: tuple[Summary, ...]
    drills: tuple[DrillPart, ...]
    patterns: tuple[PatternPart, ...]
    greens: tuple[GreenSide, ...]
    stocks: tuple[stock.CarryRow, ...]
    strategy: str
    look_at: tuple[str, ...]
    rounds: tuple[PlayedRound, ...] = ()
    index: Decimal | None = None

    @property
    def unit(self) -> Unit:
        """The unit of all distances."""
        return self.player.unit

    @property
    def empty(self) -> bool:
        """Whether nothing was done in the span."""
        return not (self.days or self.drills or self.sessions or self.rounds)


def club_named(club: str, swing: str, clubs: Mapping[str, str]) -> str:
    """A club and a swing as they are called."""
    return clubs.get(club, club) + ("" if swing == "full" else f", {swing}")
