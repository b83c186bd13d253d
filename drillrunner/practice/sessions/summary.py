"""What a session came to: planned and done, scores and records, pace, and what to do next time.

Pure: the session is folded, and its runs are handed in with what they were up against.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Any

from drillrunner.catalogue.clubs import swing_title
from drillrunner.practice.carries.stock import FEWEST, Found
from drillrunner.practice.sessions.refit import balls as ball_words
from drillrunner.practice.sessions.session import ROUTINE, BlockState, Event, Session
from drillrunner.rules.run import Kind
from drillrunner.rules.score import beats
from drillrunner.rules.shot import Direction
from drillrunner.rules.units import Unit, text
from drillrunner.store.shapes import StoredEntry, StoredRun, StoredShot

if TYPE_CHECKING:
    from drillrunner.odds.desk import Picture
    from drillrunner.odds.pattern import Band

LONG_AWAY = 120.0
"""Seconds between two balls beyond which nobody was at it, so that they say nothing of the pace."""

NEAR = Decimal("0.1")
"""A score within a tenth of the record was close."""

MOST_ADVICE = 3

SHARES = (
    (0.1, "a tenth"),
    (0.25, "a quarter"),
    (1 / 3, "a third"),
    (0.5, "half"),
    (2 / 3, "two thirds"),
)
"""Changes of a spread that may be seen or not."""

ACROSS: Mapping[Direction, str] = {"lateral": "left and right", "depth": "short and long"}


@dataclass(frozen=True)
class RunOfBlock:
    """A run of the session. before: the record that stood when it began. times: of its balls."""

    run: StoredRun
    before: Decimal | None
    times: tuple[datetime, ...] = ()

    @property
    def is_best(self) -> bool:
        """Whether it set the record."""
        run = self.run
        return run.finished and not run.decider and beats(run.better, run.score, self.before)

    @property
    def said(self) -> str:
        """The run in a line: its score, why it ended, and the record."""
        run = self.run
        score = "no score" if run.score is None else text(run.score)
        line = f"{run.title}: {score}, {run.ended or 'left open'}"
        if self.is_best:
            return f"{line}: " + (
                "your first score" if self.before is None else f"a best, {text(self.before)} before"
            )
        return line if self.before is None else f"{line}; your best is {text(self.before)}"


@dataclass(frozen=True)
class BlockSummary:
    """One block: planned as in the plan, done as it was. minutes: of practice, not rounded."""

    kind: str
    title: str
    standing: str
    planned_minutes: int
    minutes: float
    planned_balls: int
    balls: int
    why: str
    runs: tuple[str, ...]
    played: tuple[RunOfBlock, ...]
    found: Found | None


@dataclass(frozen=True)
class PatternChange:
    """The picture of one club and swing in one direction before a session, and in it alone.

    before, today: half the width that holds two shots in three, in yards, with its 80 % interval.
    shots: of this session.
    """

    club: str
    swing: str
    direction: Direction
    before: Band
    today: Band
    shots: int

    @property
    def said(self) -> str:
        """The change in a line; it never claims more than the intervals allow, and where they meet
        it says what so many balls could have shown at all."""
        name = swing_title(self.club, self.swing)
        said = (
            f"{name}, {ACROSS[self.direction]}: two in three within "
            f"{self.before.median:.0f} yd before, {self.today.median:.0f} today"
        )
        apart = self.today.high < self.before.low or self.today.low > self.before.high
        if apart:
            return said
        return f"{said}: too early to tell them apart; {self.could_show}"

    @property
    def least(self) -> float:
        """The smallest narrowing, as a share of the spread, that would part the two intervals."""
        reach = sum(
            (math.log(max(band.high, 0.1)) - math.log(max(band.low, 0.1))) / 2
            for band in (self.before, self.today)
        )
        return 1 - math.exp(-reach)

    @property
    def could_show(self) -> str:
        """What so many balls can show at all, in words."""
        shown = [words for share, words in SHARES if share >= self.least]
        hidden = [words for share, words in SHARES if share < self.least]
        balls = ball_words(self.shots)
        show = "shows" if self.shots == 1 else "show"
        if not shown:
            return f"{balls} {show} no change of less than {hidden[-1]}"
        not_of = f", not of {hidden[-1]}" if hidden else ""
        return f"{balls} {show} a change of {shown[0]}{not_of}"


@dataclass(frozen=True)
class Summary:
    """A whole session; carries are in `unit`. ended_at: `None` while it is open.

    pace: seconds a ball, `None` if too few. away: seconds of pauses, asked for or not.
    next_time: what to do and why, a line each.
    """

    session: str
    unit: Unit
    started: datetime
    ended_at: datetime | None
    ended: str | None
    planned_minutes: int
    minutes: float
    planned_balls: int
    balls: int
    blocks: tuple[BlockSummary, ...]
    pace: float | None
    away: float
    changes: tuple[PatternChange, ...]
    next_time: tuple[str, ...]

    @property
    def games(self) -> tuple[str, ...]:
        """What each game and each search came to, a line each."""
        runs = (run.said for block in self.blocks for run in block.played)
        return (*runs, *(line for block in self.blocks for line in self._found(block)))

    def _found(self, block: BlockSummary) -> Iterable[str]:
        found = block.found
        if found is not None:
            out = ", ".join(text(carry) for carry in found.left_out)
            yield (
                f"{block.title}: {found.carry:.0f} {self.unit} "
                f"({found.low:.0f} to {found.high:.0f}), {found.why}"
                + (f"; left out: {out}" if out else "")
            )

    def document(self) -> dict[str, Any]:
        """The summary for JSON; `runs` are the ids that `history --run` takes."""
        return {
            "session": self.session,
            "started": self.started,
            "ended_at": self.ended_at,
            "minutes": self.minutes,
            "balls": self.balls,
            "blocks": [
                {
                    "kind": block.kind,
                    "title": block.title,
                    "planned_minutes": block.planned_minutes,
                    "minutes": block.minutes,
                    "planned_balls": block.planned_balls,
                    "balls": block.balls,
                    "runs": list(block.runs),
                }
                for block in self.blocks
            ],
        }


def summarise(
    id: str,
    session: Session,
    events: Sequence[Event],
    played: Mapping[str, RunOfBlock],
    unit: Unit = "yd",
    routine: float | None = ROUTINE,
    changes: Sequence[PatternChange] = (),
) -> Summary:
    """The summary of a session.

    session: folded, with the run in play as its entries stand. played: by run id; a run that is
    not in it never got an entry. routine: seconds, `None` for no word about the pace.
    """
    blocks = tuple(
        BlockSummary(
            kind=state.block.kind,
            title=state.block.title,
            standing=_standing(session, state),
            planned_minutes=state.block.minutes,
            minutes=state.spent / 60,
            planned_balls=state.block.balls,
            balls=session.block_balls if place == session.current else state.used,
            why=state.block.why,
            runs=tuple(run for run in state.runs if run in played),
            played=tuple(played[run] for run in state.runs if run in played),
            found=state.found(unit),
        )
        for place, state in enumerate(session.blocks)
    )
    times = [run.times for run in played.values()] + [_ball_times(events)]
    pace = seconds_a_ball(times)
    return Summary(
        session=id,
        unit=unit,
        started=session.started,
        ended_at=session.at if session.over else None,
        ended=session.over,
        planned_minutes=session.limits.minutes,
        minutes=session.spent / 60,
        planned_balls=session.limits.balls,
        balls=session.balls_used,
        blocks=blocks,
        pace=pace,
        away=sum(pause.seconds for pause in session.pauses),
        changes=tuple(changes),
        next_time=tuple(_next_time(session, played, pace, routine, unit))[:MOST_ADVICE],
    )


def _standing(session: Session, state: BlockState) -> str:
    """How a block stands, in words; once all is over, what was still to come was not reached."""
    if session.over is None:
        return state.standing
    return {"to come": "not reached", "now": "begun"}.get(state.standing, state.standing)


def seconds_a_ball(series: Iterable[Sequence[datetime]]) -> float | None:
    """The median time between one ball and the next within each series; `None` below three.

    Steps over two minutes and steps back (a clock was set) are left out.
    """
    steps = [(b - a).total_seconds() for times in series for a, b in pairwise(times)]
    steps = [step for step in steps if 0 < step <= LONG_AWAY]
    return median(steps) if len(steps) >= 3 else None


def ball_times(entries: Iterable[StoredEntry]) -> tuple[datetime, ...]:
    """When the balls of a run were typed."""
    return tuple(e.at for e in entries if e.live and e.kind in (Kind.SHOT, Kind.BETWEEN))


def record_before(run: StoredRun, history: Iterable[StoredRun]) -> Decimal | None:
    """The record that stood when a run was played. history: newest first, the run itself in it."""
    best: Decimal | None = None
    seen = False
    for other in history:
        if seen and other.finished and not other.decider and other.fingerprint == run.fingerprint:
            best = other.score if beats(run.better, other.score, best) else best
        seen = seen or other.run == run.run
    return best


def pattern_change(
    club: str,
    swing: str,
    direction: Direction,
    picture: Picture,
    records: Sequence[StoredShot],
    runs: Iterable[str],
) -> PatternChange | None:
    """The pattern of a club before these runs and in them; `None` if they hold no ball that tells.

    picture: the player's, from all their `records` with the club and swing.
    """
    ids = frozenset(runs)
    earlier = replace(picture, records=[record for record in records if record.run not in ids])
    of_today = [record for record in records if record.run in ids]
    # A session is of one day: there is no form of another to forget.
    own = replace(picture, records=of_today, half_life=None)
    before, today = earlier.of(direction), own.of(direction)
    if today.shots <= 0:
        return None
    return PatternChange(club, swing, direction, before.half_width, today.half_width, today.shots)


def _ball_times(events: Iterable[Event]) -> tuple[datetime, ...]:
    hit = (event for event in events if event.kind in ("ball", "carry"))
    return tuple(event.at for event in hit if event.data.get("count", 1) == 1)


def _next_time(
    session: Session,
    played: Mapping[str, RunOfBlock],
    pace: float | None,
    routine: float | None,
    unit: Unit,
) -> Iterable[str]:
    """What to do next time and why, what matters most first."""
    runs = list(played.values())
    for run in runs:
        if run.run.ended is None:
            yield f"go on with {run.run.title}: it was left open"
    for state in session.blocks:
        if state.standing == "dropped":
            yield f"begin with {state.block.title}: there was no room for it today"
    for run in runs:
        off = _off(run)
        if not run.is_best and off is not None and off <= NEAR:
            score, best = text(run.run.score or Decimal(0)), text(run.before or Decimal(0))
            yield f"play {run.run.title} again: {score} was close to your best, {best}"
    if pace is not None and routine and pace < routine:
        yield f"take more time: {pace:.0f} s a ball, and a routine takes {routine:.0f}"
    for state in session.blocks:
        yield from _find_advice(state, unit)
    for run in runs:
        if run.is_best:
            yield f"play {run.run.title} again: one best may be luck, a second tells more"
    used = session.limits.balls - session.balls_left
    if session.over == "time is up" and used and session.balls_left > session.limits.balls // 4:
        yield f"take a smaller bucket: {ball_words(used)} filled the time"


def _off(run: RunOfBlock) -> Decimal | None:
    if not run.run.finished or run.run.score is None or run.before is None:
        return None
    return abs(run.run.score - run.before) / max(abs(run.before), Decimal(1))


def _find_advice(state: BlockState, unit: Unit) -> Iterable[str]:
    if state.block.kind != "find" or state.standing not in ("done", "now", "skipped"):
        return
    named = swing_title(state.block.club or "", state.block.swing)
    found = state.found(unit)
    if found is not None and found.verdict == "too early to tell":
        yield f"find {named} again: {found.why}"
    elif found is None and 0 < len(state.typed) < FEWEST:
        yield f"find {named} again: {len(state.typed)} carries are too few"
