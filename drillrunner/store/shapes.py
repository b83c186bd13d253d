"""What the store hands out: frozen, free of the database, with exact decimals and real times.

Named tuples, because the first screen waits for this module and a history makes thousands.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from drillrunner.store.stored import decimal, exact, moment

if TYPE_CHECKING:
    from drillrunner.rules.card import Form
    from drillrunner.rules.outcome import Asks
    from drillrunner.rules.run import Kind
    from drillrunner.rules.score import Better
    from drillrunner.rules.scorecard import Scorecard
    from drillrunner.rules.shot import Aim, Direction, Seen, Shot
    from drillrunner.rules.units import Unit


@dataclass(frozen=True, slots=True)
class PlayerInfo:
    """A person. hand: `left` or `right`. column: of the accuracy table, `men` or `women`.

    index: the handicap index in force; pace: seconds that a routine takes, 0 for no nudge. All
    four are `None` until given.
    """

    id: str
    name: str
    unit: Unit
    hand: str | None
    column: str | None
    hidden: bool
    index: Decimal | None
    pace: int | None


class ClubInfo(NamedTuple):
    """A player's club. usual_carry: in `unit`, as it was typed; `None` where none is known."""

    id: str
    label: str
    order: int
    usual_carry: Decimal | None
    unit: Unit
    retired: bool


class StoredRun(NamedTuple):
    """A run as it is stored, without its entries.

    score: the running one while `ended` is `None`. broken: where and why the game raised, if it
    did. decider: played to part equal scores of a match, never a record. better: `higher` or
    `lower`. as_set: the whole drill as canonical JSON. setting: what the fingerprint covers.
    """

    run: str
    player: str
    player_id: str
    started: datetime
    ended_at: datetime | None
    finished: bool
    ended: str | None
    score: Decimal | None
    counted: int
    voided: int
    undone: int
    tally: bool
    broken: str | None
    decider: bool
    session_id: str | None
    block: str | None
    match_id: str | None
    visit_id: str | None
    drill: str
    title: str
    better: Better
    fingerprint: str
    club: str
    swing: str
    unit: Unit
    as_set: str
    game: str
    game_hash: str
    asks: Asks
    direction: Direction
    setting: Mapping[str, Any]

    @property
    def stands(self) -> str:
        """How it ended, or that it is open; a decider's score counts nowhere, so it is named."""
        return ("decider: " if self.decider else "") + (self.ended or "open")

    @property
    def swings(self) -> tuple[tuple[str, str], ...]:
        """The clubs and swings of its stations, each once."""
        drill: Mapping[str, Any] = json.loads(self.as_set)
        top = drill.get("club", self.club), drill.get("swing", self.swing)
        stations: Sequence[Mapping[str, str]] = drill.get("stations") or ({},)
        return tuple(
            dict.fromkeys((s.get("club", top[0]), s.get("swing", top[1])) for s in stations)
        )


class Best(NamedTuple):
    """The best finished run of one player on one drill as it was set."""

    run: str
    player: str
    player_id: str
    drill: str
    title: str
    fingerprint: str
    better: Better
    unit: Unit
    score: Decimal
    at: datetime
    setting: Mapping[str, Any]


class StoredEntry(NamedTuple):
    """One entry of a run. live, counts, void: how it stands after all the others.

    club, swing, aim: in force for a shot; `None` for other kinds (a ball in between has its club).
    match_order: its number among all entries of a match.
    """

    seq: int
    at: datetime
    kind: Kind
    text: str
    shot: Shot | None
    live: bool
    counts: bool
    void: bool
    club: str | None
    swing: str | None
    aim: Aim | None
    match_order: int | None


class StoredShot(NamedTuple):
    """One ball that counts, with all that is needed to read it. Distances are in `unit`.

    number: grows with every entry ever stored. lost_counts: the drill's cap for a lost ball.
    """

    number: int
    run: str
    seq: int
    at: datetime
    club: str
    swing: str
    unit: Unit
    asks: Asks
    direction: Direction
    lost_counts: Decimal | None
    aim: Aim
    shot: Shot


class DayOfRuns(NamedTuple):
    """What was played on one local day (ISO date): balls that count or are void, and runs."""

    day: str
    balls: int
    runs: int


class VisitInfo(NamedTuple):
    """One day at the range. Everything but the day is `None` until someone notes it."""

    id: str
    player_id: str
    day: str
    place: str | None
    surface: str | None
    ball: str | None
    wind: str | None
    note: str | None
    bay: str | None = None


class SessionEvent(NamedTuple):
    """One thing that happened in a session. data: what `practice` put there."""

    seq: int
    at: datetime
    kind: str
    data: Mapping[str, Any]


class SessionInfo(NamedTuple):
    """A timed visit as stored. plan: what `practice` put there. ended_at: `None` while open."""

    id: str
    player_id: str
    player: str
    started: datetime
    ended_at: datetime | None
    visit_id: str | None
    plan: Mapping[str, Any]
    events: tuple[SessionEvent, ...]


class OpenSession(NamedTuple):
    """A session that got under way and has not ended. at: when it was last seen."""

    id: str
    player_id: str
    title: str
    at: datetime

    @classmethod
    def of(cls, id: str, player_id: str, plan: Mapping[str, Any], at: datetime) -> OpenSession:
        """From the plan as stored."""
        inner = plan.get("plan")
        title = inner.get("title") if isinstance(inner, Mapping) else None
        return cls(id, player_id, str(title or "Session"), at)


class StockCarry(NamedTuple):
    """What one swing of one club repeats. Distances are in `unit`, low to high is the interval.

    data: the shots and the rule behind it, as `practice` put them there.
    """

    player_id: str
    club: str
    swing: str
    carry: Decimal
    low: Decimal
    high: Decimal
    spread: Decimal
    unit: Unit
    at: datetime
    session_id: str | None
    data: Mapping[str, Any]


class MatchPlayer(NamedTuple):
    """One player's place in a match, from 1. data: what `practice` put there."""

    player_id: str
    player: str
    place: int
    data: Mapping[str, Any]


class MatchInfo(NamedTuple):
    """Several players' runs of one drill, tied together. ended_at: `None` while open."""

    id: str
    drill: str
    started: datetime
    ended_at: datetime | None
    data: Mapping[str, Any]
    players: tuple[MatchPlayer, ...]


class LeftMatch(NamedTuple):
    """What is told at once of a match that was left open. names: who plays it, in a line."""

    id: str
    title: str
    started: datetime
    names: str


class LeftRound(NamedTuple):
    """What is told at once of a round of which not all is told. told, of: holes."""

    id: str
    day: str
    where: str
    tee: str
    told: int
    of: int


RUN_COLUMNS = (
    "run.id",
    "player.name",
    "player.id",
    "run.started",
    "run.started_offset",
    "run.ended_at",
    "run.ended_offset",
    "run.finished",
    "run.ended",
    "run.score",
    "run.counted",
    "run.voided",
    "run.undone",
    "run.tally",
    "run.broken",
    "run.decider",
    "run.session_id",
    "run.block",
    "run.match_id",
    "run.visit_id",
)
"""What `stored_run` reads of a run and its player, in its order."""

DRILL_COLUMNS = (
    "drill_as_set.drill",
    "drill_as_set.title",
    "drill_as_set.better",
    "drill_as_set.fingerprint",
    "drill_as_set.club",
    "drill_as_set.swing",
    "drill_as_set.unit",
    "drill_as_set.as_set",
    "drill_as_set.game",
    "drill_as_set.game_hash",
    "drill_as_set.asks",
    "drill_as_set.direction",
    "drill_as_set.setting",
)
"""What `stored_drill` reads."""

BEST_COLUMNS = (
    "run.id",
    "player.name",
    "player.id",
    "drill_as_set.drill",
    "drill_as_set.title",
    "drill_as_set.fingerprint",
    "drill_as_set.better",
    "drill_as_set.unit",
    "run.score",
    "run.ended_at",
    "run.ended_offset",
    "drill_as_set.setting",
)
"""What `best` reads."""

PLAYER_COLUMNS = ("id", "name", "unit", "hand", "column", "hidden", "pace")
"""Columns of the player's table that `player_info` reads, before the index."""

SHOT_COLUMNS = (
    "lateral_side",
    "lateral_size",
    "lateral_grid",
    "lateral_lost",
    "depth_side",
    "depth_size",
    "depth_grid",
    "depth_lost",
    "carry",
    "carry_grid",
    "out",
    "strokes",
    "leave",
    "leave_grid",
    "call",
    "call_grid",
)
AIM_COLUMNS = ("aim_carry", "aim_width", "aim_depth", "aim_length", "aim_lie")


class RoundInfo(NamedTuple):
    """A round as it is stored: how it was begun, and what was told of it since.

    course, as_played, tee: the course's id, the course as it was in JSON and the name of the tee;
    `None` for a score that came without a course. card: what is in force of all that was told.
    seq: of the last thing told.
    """

    id: str
    player_id: str
    player: str
    course: str | None
    as_played: str | None
    tee: str | None
    day: date
    form: Form
    data: Mapping[str, Any]
    started: datetime
    card: Scorecard
    seq: int


class GoalInfo(NamedTuple):
    """A goal in force. kind: `index` or `score`, of which `drill`. by: the day, if there is one."""

    kind: str
    drill: str | None
    value: Decimal
    by: date | None
    at: datetime


class ThoughtInfo(NamedTuple):
    """The one thing a player works on in their technique; `None` from when there was none."""

    words: str | None
    at: datetime


DriverRow = Sequence[Any]


@lru_cache(maxsize=512)
def parsed(text: str) -> Mapping[str, Any]:
    """Stored JSON; the same text gives the same object, which nobody changes.

    Raises ValueError for what is no object.
    """
    found = json.loads(text)
    if not isinstance(found, dict):
        raise ValueError(f"expected an object, not {text!r:.40}")
    return found


def _setting(text: str) -> Mapping[str, Any]:
    """A setting as the fingerprint covers it. Raises ValueError for what is none."""
    found = parsed(text)
    for name in ("aim", "settings"):
        if not isinstance(found.get(name, {}), dict):
            raise ValueError(f"{name}: expected an object in what a drill was set to")
    return found


def _whole(value: Any) -> Any:
    """A whole number or nothing. Raises ValueError for anything else that lies in its place."""
    if value is not None and not isinstance(value, int):
        raise ValueError(f"expected a whole number, not {value!r:.40}")
    return value


def player_info(row: DriverRow) -> PlayerInfo:
    """From `PLAYER_COLUMNS` and the index in hundredths."""
    id, name, unit, hand, column, hidden, pace, index = row
    return PlayerInfo(id, name, unit, hand, column, bool(hidden), decimal(index), pace)


def stored_drill(row: DriverRow) -> DriverRow:
    """From `DRILL_COLUMNS`: the last fields of every `StoredRun` of that drill as set."""
    *fields, setting = row
    parsed(row[DRILL_COLUMNS.index("drill_as_set.as_set")])
    return (*fields, _setting(setting))


def stored_run(row: DriverRow, drill: DriverRow) -> StoredRun:
    """From `RUN_COLUMNS`, and what `stored_drill` gave."""
    (id, player, player_id, started, started_offset, ended_at, ended_offset) = row[:7]
    (finished, ended, score, counted, voided, undone, tally, broken, decider) = row[7:16]
    return StoredRun(
        id,
        player,
        player_id,
        moment(started, started_offset),
        None if ended_at is None else moment(ended_at, ended_offset),
        bool(finished),
        ended,
        decimal(_whole(score)),
        _whole(counted),
        _whole(voided),
        _whole(undone),
        bool(tally),
        broken,
        bool(decider),
        *row[16:],
        *drill,
    )


def best_of(row: DriverRow) -> Best:
    """From `BEST_COLUMNS`."""
    *fields, score, at, offset, setting = row
    return Best._make((*fields, exact(_whole(score)), moment(at, offset), _setting(setting)))


@lru_cache(maxsize=1024)
def aim(*row: Any) -> Aim:
    """From `AIM_COLUMNS`."""
    from drillrunner.rules.shot import Aim

    carry, width, depth, length = map(decimal, row[:4])
    return Aim(carry=carry, width=width, depth=depth, length=length, lie=row[4])


@lru_cache(maxsize=4096)
def shot(*row: Any) -> Shot:
    """From `SHOT_COLUMNS`."""
    from drillrunner.rules.shot import Shot

    return Shot(
        seen(*row[:4]),
        seen(*row[4:8]),
        decimal(row[8]),
        decimal(row[9]),
        bool(row[10]),
        row[11],
        *map(decimal, row[12:]),
    )


def seen(side: Any, size: int | None, grid: int | None, lost: Any) -> Seen | None:
    """One direction of a shot; nothing was seen of it where `lost` is null."""
    from drillrunner.rules.shot import Seen

    return None if lost is None else Seen(side, decimal(size), decimal(grid), bool(lost))
