"""What the first screen shows, read by plain `sqlite3` before anything heavy is imported."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from contextlib import closing, suppress
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple, TypeVar

from drillrunner.store import sql
from drillrunner.store.errors import DAMAGES
from drillrunner.store.migrations import VERSIONS
from drillrunner.store.shapes import (
    Best,
    DriverRow,
    LeftMatch,
    LeftRound,
    OpenSession,
    PlayerInfo,
    StoredRun,
    best_of,
    parsed,
    player_info,
    stored_drill,
    stored_run,
)
from drillrunner.store.stored import decimal, moment, same_name

PATIENCE = 0.2
"""Seconds that the first screen waits for a locked database before it goes on without."""

LAST = 5
"""How many of the last scores are read for each drill as set."""

Key = tuple[str, str]
"""A player's id and the fingerprint of a drill as set."""


class HomeFacts(NamedTuple):
    """What the home screen shows of one player: however many there are, only of that one.

    player: who plays; `None` if there is nobody, or nobody of that name. owner: the id of whose
    records these are, `None` while there is nobody. bests, last_scores: by player and fingerprint;
    scores are those of finished runs, newest first, `None` for a run that ended without one.
    open_runs, open_sessions: newest first.

    What the first screen would else learn only once the records are open, and then move its rows
    for: matches and rounds left open, newest first; clubs that are retired; whether there is a
    goal.
    """

    player: PlayerInfo | None
    owner: str | None
    bests: Mapping[Key, Best]
    last_scores: Mapping[Key, tuple[Decimal | None, ...]]
    open_runs: tuple[StoredRun, ...]
    open_sessions: tuple[OpenSession, ...] = ()
    left_matches: tuple[LeftMatch, ...] = ()
    left_rounds: tuple[LeftRound, ...] = ()
    retired: frozenset[str] = frozenset()
    has_goal: bool = False


def _open(path: str | Path, wait: float) -> sqlite3.Connection:
    uri = Path(path).absolute().as_uri() + "?mode=rw"
    return sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)


def version(path: str | Path, wait: float = PATIENCE) -> str | None:
    """The version that a database file says it has; empty for a file with no tables yet.

    `None` when it has tables but no version: it is no database of ours. Raises sqlite3.Error when
    it can't be read.
    """
    with closing(_open(path, wait)) as connection:
        names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        if "alembic_version" not in names:
            return None if names else ""
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        return None if row is None else str(row[0])


def home(path: str | Path, name: str | None = None) -> HomeFacts | None:
    """What the first screen shows, of the player of that name or of the owner.

    `None` when there is no database that can be read as it is.
    """
    try:
        if version(path) != VERSIONS[-1]:
            return None
        with closing(_open(path, PATIENCE)) as connection:
            connection.execute("BEGIN")
            return _left_open(connection.execute, home_facts(connection.execute, name))
    except (sqlite3.Error, OSError, *DAMAGES):
        return None  # the store, once it is open, names what is damaged


T = TypeVar("T")
Ask = Callable[[str, Mapping[str, object]], Iterable[DriverRow]]
"""Asks a database one of the questions of `sql`; the rows."""


def home_facts(ask: Ask, name: str | None = None) -> HomeFacts:
    """What the first screen shows of the player of that name; of the owner if none is named."""
    key = {} if name is None else {"key": same_name(name)}
    who = ask(sql.PLAYER_NAMED if key else sql.WHO_PLAYS, key)
    player = next(iter(_sound(who, player_info)), None)
    owner = next((id for (id,) in ask(sql.OWNER, {})), None)
    if player is None:
        return HomeFacts(None, owner, {}, {}, ())
    whose = player.id
    mine = {"player": whose}
    bests = _sound(ask(sql.bests(frozenset(mine)), mine), best_of)
    last_scores = {}
    for (setting,) in list(ask(sql.SETTINGS, {})):
        scores = ask(sql.LAST_SCORES, {**mine, "fingerprint": setting, "limit": LAST})
        if last := tuple(_sound(scores, lambda row: decimal(row[0]))):
            last_scores[whose, setting] = last
    opened = list(ask(sql.runs(frozenset({"player", "open"}), False), mine))
    drills = {
        number: drill
        for number in {row[0] for row in opened}
        for drill in _sound(ask(sql.DRILL, {"number": number}), stored_drill)
    }
    runs = _sound(opened, lambda row: stored_run(row[1:], drills[row[0]]))
    sessions = _sound(
        ask(sql.OPEN_SESSIONS, mine),
        lambda row: OpenSession.of(row[0], row[1], parsed(row[2]), moment(row[3], row[4])),
    )
    return HomeFacts(
        player,
        owner,
        {(found.player_id, found.fingerprint): found for found in bests},
        last_scores,
        tuple(runs),
        tuple(sessions),
    )


def _left_open(ask: Ask, facts: HomeFacts) -> HomeFacts:
    """The facts with what only SQLite is asked for before the records are open."""
    mine = {"player": None if facts.player is None else facts.player.id}

    def rows(text: str) -> list[DriverRow]:
        # SQLite looks into what is kept as JSON, and may find it damaged.
        with suppress(sqlite3.Error):
            return list(ask(text, mine))
        return []

    matches = _sound(
        rows(sql.LEFT_MATCHES),
        lambda row: LeftMatch(row[0], row[1], moment(row[2], row[3]), row[4]),
    )
    return facts._replace(
        left_matches=tuple(matches),
        left_rounds=tuple(LeftRound(*row) for row in rows(sql.LEFT_ROUNDS)),
        retired=frozenset(club for (club,) in rows(sql.RETIRED)),
        has_goal=any(count for (count,) in rows(sql.GOALS)),
    )


def _sound(rows: Iterable[DriverRow], make: Callable[[DriverRow], T]) -> list[T]:
    """What `make` makes of each row, without the damaged ones: the store names those."""
    made = []
    for row in rows:
        with suppress(*DAMAGES):
            made.append(make(row))
    return made
