"""What the store hands out: frozen, free of the database, with exact decimals and real times."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from drillrunner.rules.game import Better
from drillrunner.rules.outcome import Asks
from drillrunner.rules.run import Kind
from drillrunner.rules.shot import Aim, Direction, Seen, Shot
from drillrunner.rules.units import Unit
from drillrunner.store.stored import decimal, moment


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


@dataclass(frozen=True, slots=True)
class ClubInfo:
    """A player's club. usual_carry: in `unit`, as it was typed; `None` where none is known."""

    id: str
    label: str
    order: int
    usual_carry: Decimal | None
    unit: Unit
    retired: bool


@dataclass(frozen=True, slots=True)
class StoredRun:
    """A run as it is stored, without its entries.

    score: the running one while `ended` is `None`. better: `higher` or `lower`. setting: what the
    fingerprint covers. as_set: the whole drill as canonical JSON. broken: where and why the game
    raised, if it did. decider: played to part equal scores of a match, never a record.
    """

    run: str
    drill: str
    title: str
    player: str
    player_id: str
    started: datetime
    ended_at: datetime | None
    finished: bool
    ended: str | None
    score: Decimal | None
    better: Better
    counted: int
    voided: int
    undone: int
    setting: Mapping[str, Any]
    fingerprint: str
    club: str
    swing: str
    unit: Unit
    as_set: str
    game: str
    game_hash: str
    asks: Asks
    direction: Direction
    tally: bool
    broken: str | None
    decider: bool
    session_id: str | None
    block: str | None
    match_id: str | None
    visit_id: str | None


@dataclass(frozen=True, slots=True)
class Best:
    """The best finished run of one player on one drill as it was set."""

    run: str
    player: str
    player_id: str
    drill: str
    title: str
    setting: Mapping[str, Any]
    fingerprint: str
    score: Decimal
    better: Better
    unit: Unit
    at: datetime

    @classmethod
    def of(cls, run: StoredRun) -> Best:
        """The record that a finished run with a score holds."""
        if run.score is None or run.ended_at is None:
            raise ValueError("only a finished run with a score can be a best")
        return cls(
            run.run,
            run.player,
            run.player_id,
            run.drill,
            run.title,
            run.setting,
            run.fingerprint,
            run.score,
            run.better,
            run.unit,
            run.ended_at,
        )


@dataclass(frozen=True, slots=True)
class StoredEntry:
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


@dataclass(frozen=True, slots=True)
class StoredShot:
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


@dataclass(frozen=True, slots=True)
class DayOfRuns:
    """What was played on one local day (ISO date): balls that count or are void, and runs."""

    day: str
    balls: int
    runs: int


@dataclass(frozen=True, slots=True)
class VisitInfo:
    """One day at the range. Everything but the day is `None` until someone notes it."""

    id: str
    player_id: str
    day: str
    place: str | None
    surface: str | None
    ball: str | None
    wind: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class SessionEvent:
    """One thing that happened in a session. data: what `practice` put there."""

    seq: int
    at: datetime
    kind: str
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SessionInfo:
    """A timed visit as stored. plan: what `practice` put there. ended_at: `None` while open."""

    id: str
    player_id: str
    player: str
    started: datetime
    ended_at: datetime | None
    visit_id: str | None
    plan: Mapping[str, Any]
    events: tuple[SessionEvent, ...]


@dataclass(frozen=True, slots=True)
class OpenSession:
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


@dataclass(frozen=True, slots=True)
class StockCarry:
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


@dataclass(frozen=True, slots=True)
class MatchPlayer:
    """One player's place in a match, from 1. data: what `practice` put there."""

    player_id: str
    player: str
    place: int
    data: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class MatchInfo:
    """Several players' runs of one drill, tied together. ended_at: `None` while open."""

    id: str
    drill: str
    started: datetime
    ended_at: datetime | None
    data: Mapping[str, Any]
    players: tuple[MatchPlayer, ...]


RUN_COLUMNS: tuple[tuple[str, str], ...] = (
    ("run", "id"),
    ("drill_as_set", "drill"),
    ("drill_as_set", "title"),
    ("player", "name"),
    ("player", "id"),
    ("run", "started"),
    ("run", "started_offset"),
    ("run", "ended_at"),
    ("run", "ended_offset"),
    ("run", "finished"),
    ("run", "ended"),
    ("run", "score"),
    ("drill_as_set", "better"),
    ("run", "counted"),
    ("run", "voided"),
    ("run", "undone"),
    ("drill_as_set", "setting"),
    ("drill_as_set", "fingerprint"),
    ("drill_as_set", "club"),
    ("drill_as_set", "swing"),
    ("drill_as_set", "unit"),
    ("drill_as_set", "as_set"),
    ("drill_as_set", "game"),
    ("drill_as_set", "game_hash"),
    ("drill_as_set", "asks"),
    ("drill_as_set", "direction"),
    ("run", "tally"),
    ("run", "broken"),
    ("run", "decider"),
    ("run", "session_id"),
    ("run", "block"),
    ("run", "match_id"),
    ("run", "visit_id"),
)
"""Table and column of what `stored_run` reads, in its order."""

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
)
AIM_COLUMNS = ("aim_carry", "aim_width", "aim_depth")

Row = Sequence[Any]


@lru_cache(maxsize=512)
def parsed(text: str) -> Mapping[str, Any]:
    """Stored JSON; the same text gives the same object, which nobody changes."""
    found: Mapping[str, Any] = json.loads(text)
    return found


def player_info(row: Row) -> PlayerInfo:
    """From `PLAYER_COLUMNS` and the index in hundredths."""
    id, name, unit, hand, column, hidden, pace, index = row
    return PlayerInfo(id, name, unit, hand, column, bool(hidden), decimal(index), pace)


def stored_run(row: Row) -> StoredRun:
    """From `RUN_COLUMNS`."""
    (id, drill, title, player, player_id, started, started_offset, ended_at, ended_offset) = row[:9]
    (finished, ended, score, better, counted, voided, undone, setting) = row[9:17]
    (fingerprint, club, swing, unit, as_set, game, game_hash, asks, direction) = row[17:26]
    (tally, broken, decider, session_id, block, match_id, visit_id) = row[26:]
    return StoredRun(
        id,
        drill,
        title,
        player,
        player_id,
        moment(started, started_offset),
        None if ended_at is None else moment(ended_at, ended_offset),
        bool(finished),
        ended,
        decimal(score),
        better,
        counted,
        voided,
        undone,
        parsed(setting),
        fingerprint,
        club,
        swing,
        unit,
        sys.intern(as_set),
        game,
        game_hash,
        asks,
        direction,
        bool(tally),
        broken,
        bool(decider),
        session_id,
        block,
        match_id,
        visit_id,
    )


@lru_cache(maxsize=1024)
def aim(carry: int | None, width: int | None, depth: int | None) -> Aim:
    """From `AIM_COLUMNS`."""
    return Aim(carry=decimal(carry), width=decimal(width), depth=decimal(depth))


@lru_cache(maxsize=4096)
def shot(*row: Any) -> Shot:
    """From `SHOT_COLUMNS`."""
    return Shot(seen(*row[:4]), seen(*row[4:8]), decimal(row[8]), decimal(row[9]), bool(row[10]))


def seen(side: Any, size: int | None, grid: int | None, lost: Any) -> Seen | None:
    """One direction of a shot; nothing was seen of it where `lost` is null."""
    return None if lost is None else Seen(side, decimal(size), decimal(grid), bool(lost))
