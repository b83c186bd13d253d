"""What a history of runs says: the best as it moved on, the typical score, the running score."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import zip_longest
from typing import Any, NamedTuple

from drillrunner.rules.game import AnyGame
from drillrunner.rules.score import Better, Score, beats
from drillrunner.rules.shot import Shot
from drillrunner.store.shapes import DayOfRuns, PlayerInfo, StoredEntry, StoredRun

BALL_EVENTS = ("ball", "carry", "correct")
"""Events of a session that hit or take back a ball outside a run."""

EVERYONE = "everyone"


@dataclass(frozen=True)
class Shown:
    """Which runs are looked at. player: an id, `EVERYONE`, or `None` for the player of now.

    title: the drill in words. first, last: days, both of them in.
    """

    drill: str | None = None
    title: str = ""
    club: str | None = None
    player: str | None = None
    first: date | None = None
    last: date | None = None

    def whose(self, me: PlayerInfo | None) -> str | None:
        """The id of the player whose they are; `None` for everyone's."""
        if self.player is None:
            return None if me is None else me.id
        return None if self.player == EVERYONE else self.player


class Point(NamedTuple):
    """A finished run and the best so far; record: it was the best when it was made."""

    run: StoredRun
    best: Score
    record: bool


def points(runs: Sequence[StoredRun]) -> tuple[Point, ...]:
    """The finished runs of one drill as set, oldest first. A tie takes nothing.

    runs: newest first; the open ones, those given up and deciders are left out.
    """
    found, best = [], None
    for run in reversed(runs):
        if not run.finished or run.decider:
            continue
        record = beats(run.better, run.score, best)
        best = run.score if record else best
        found.append(Point(run, best, record))
    return tuple(found)


def typical(scores: Iterable[Score], better: Better) -> Score:
    """The middle score: half of the runs reach it. A run without a score is behind every other."""
    known = list(scores)
    scored = sorted((s for s in known if s is not None), reverse=better == "higher")
    at = (len(known) - 1) // 2
    return scored[at] if known and at < len(scored) else None


def trend_line(scores: Sequence[Score], slope: float) -> tuple[tuple[int, float], ...]:
    """The two ends of the trend, as run from 1 and score: it goes through the middle of all."""
    known = [(at, float(score)) for at, score in enumerate(scores, 1) if score is not None]
    if not known:
        return ()
    x = sum(at for at, _ in known) / len(known)
    y = sum(score for _, score in known) / len(known)
    return tuple((at, y + slope * (at - x)) for at in (1, len(scores)))


# ---- run against run ----


class ScoredBall(NamedTuple):
    """A ball that counts, and the running score after it; `None` without the game."""

    entry: StoredEntry
    score: Score


def balls(entries: Iterable[StoredEntry], game: AnyGame | None) -> tuple[ScoredBall, ...]:
    """The balls of a run that count. A game that raises is the caller's to deal with."""
    counting = [entry for entry in entries if entry.counts and entry.shot is not None]
    scores = [None] * len(counting) if game is None else running(game, _shots(counting))
    return tuple(map(ScoredBall, counting, scores))


def _shots(entries: Iterable[StoredEntry]) -> list[Shot]:
    return [entry.shot for entry in entries if entry.shot is not None]


def running(game: AnyGame, shots: Iterable[Shot]) -> list[Score]:
    """The running score after each ball."""
    state, scores = game.start(), []
    for shot in shots:
        state = game.after(state, shot)
        scores.append(game.score(state))
    return scores


def side_by_side(
    one: Sequence[ScoredBall], other: Sequence[ScoredBall]
) -> tuple[tuple[ScoredBall | None, ScoredBall | None], ...]:
    """Two runs ball by ball; `None` where one has ended."""
    return tuple(zip_longest(one, other))


def parted(one: Sequence[ScoredBall], other: Sequence[ScoredBall]) -> int | None:
    """The first ball, from 1, after which the two stand differently; `None` if they never do."""
    for number, pair in enumerate(zip(one, other, strict=False), 1):
        if pair[0].score != pair[1].score:
            return number
    return None


# ---- the calendar of practice ----


class Week(NamedTuple):
    """Monday, and the balls of each day from Monday to Sunday."""

    monday: date
    balls: tuple[int, ...]

    @property
    def total(self) -> int:
        """Balls of the week."""
        return sum(self.balls)

    @property
    def days(self) -> int:
        """Days with practice."""
        return sum(count > 0 for count in self.balls)


def balls_of_days(
    days: Iterable[DayOfRuns], events: Iterable[tuple[str, str, Mapping[str, Any]]]
) -> dict[date, int]:
    """Balls by local day: those of runs, and those of sessions outside runs."""
    found: dict[date, int] = {}
    for played in days:
        found[date.fromisoformat(played.day)] = played.balls
    for day, kind, data in events:
        at = date.fromisoformat(day)
        found[at] = found.get(at, 0) + _hit(kind, data)
    return {day: count for day, count in found.items() if count > 0}


def _hit(kind: str, data: Mapping[str, Any]) -> int:
    if kind == "correct":
        # A carry that is taken out was no ball; one that is corrected stays one.
        return -1 if data.get("carry") is None else 0
    return int(data.get("count", 1))


def weeks(by_day: Mapping[date, int], today: date) -> tuple[Week, ...]:
    """Weeks from this one back to the first with practice, newest first, the empty ones too."""
    if not by_day:
        return ()
    first = min(by_day)
    monday = max(today, max(by_day)) - timedelta(days=max(today, max(by_day)).weekday())
    found = []
    while monday + timedelta(days=6) >= first:
        week = tuple(by_day.get(monday + timedelta(days=day), 0) for day in range(7))
        found.append(Week(monday, week))
        monday -= timedelta(days=7)
    return tuple(found)


# ---- settings side by side ----


@dataclass(frozen=True)
class SettingFacts:
    """One drill as set, as its runs tell: newest is the latest of them.

    best, typical: of the finished runs, `None` without a score. scores: oldest first.
    """

    newest: StoredRun
    runs: int
    best: Score
    typical: Score
    scores: tuple[Score, ...]
    last_played: datetime


def setting_facts(runs: Sequence[StoredRun]) -> SettingFacts:
    """What the runs of one drill as set tell, newest first, at least one."""
    newest, found = runs[0], points(runs)
    scores = tuple(point.run.score for point in found)
    return SettingFacts(
        newest,
        len(runs),
        found[-1].best if found else None,
        typical(scores, newest.better),
        scores,
        newest.started,
    )
