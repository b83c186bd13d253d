"""What the first screen shows, read by plain `sqlite3` before anything heavy is imported."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from drillrunner.store.migrations import VERSIONS
from drillrunner.store.shapes import (
    BEST_COLUMNS,
    DRILL_COLUMNS,
    PLAYER_COLUMNS,
    RUN_COLUMNS,
    Best,
    OpenSession,
    PlayerInfo,
    StoredRun,
    best,
    parsed,
    player_info,
    stored_drill,
    stored_run,
)
from drillrunner.store.stored import decimal, moment

PATIENCE = 0.2
"""Seconds that the first screen waits for a locked database before it goes on without."""

LAST = 5
"""How many of the last scores are read for each drill as set."""

Key = tuple[str, str]
"""A player's id and the fingerprint of a drill as set."""


@dataclass(frozen=True, slots=True)
class HomeFacts:
    """What the home screen shows.

    last_player: the id of who played last, `None` if nobody has. bests, last_scores: by player and
    fingerprint; scores are those of finished runs, newest first, `None` for a run that ended
    without one. open_runs, open_sessions: newest first.
    """

    players: tuple[PlayerInfo, ...]
    last_player: str | None
    bests: Mapping[Key, Best]
    last_scores: Mapping[Key, tuple[Decimal | None, ...]]
    open_runs: tuple[StoredRun, ...]
    open_sessions: tuple[OpenSession, ...] = ()


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


def home(path: str | Path) -> HomeFacts | None:
    """What the first screen shows; `None` when there is no database that can be read as it is."""
    try:
        if version(path) != VERSIONS[-1]:
            return None
        with closing(_open(path, PATIENCE)) as connection:
            connection.execute("BEGIN")
            return _facts(connection)
    except (sqlite3.Error, OSError, ValueError):
        return None


RUNS = (
    " FROM run JOIN player ON player.number = run.player"
    " JOIN drill_as_set ON drill_as_set.number = run.drill_as_set"
)
PLAYERS = (
    "SELECT "
    + ", ".join(f'player."{column}"' for column in PLAYER_COLUMNS)
    + ", (SELECT value FROM handicap WHERE handicap.player = player.number"
    " ORDER BY handicap.number DESC LIMIT 1)"
    " FROM player ORDER BY player.number"
)
BESTS = (
    f"SELECT {', '.join(BEST_COLUMNS)}{RUNS}"
    + " WHERE run.number IN (SELECT (SELECT r.number FROM run AS r"
    " WHERE r.player = p.number AND r.fingerprint = s.fingerprint AND r.rank IS NOT NULL"
    " ORDER BY r.rank, r.ended_by LIMIT 1)"
    " FROM player AS p, (SELECT DISTINCT fingerprint FROM drill_as_set) AS s)"
)
LAST_SCORES = (
    "SELECT score FROM run WHERE player = (SELECT number FROM player WHERE id = ?)"
    " AND fingerprint = ? AND finished ORDER BY number DESC LIMIT ?"
)
SETTINGS = "SELECT player.id, s.fingerprint FROM player, (SELECT DISTINCT fingerprint" + (
    " FROM drill_as_set) AS s"
)
OPEN = (
    f"SELECT {', '.join((*RUN_COLUMNS, *DRILL_COLUMNS))}{RUNS}"
    " WHERE run.ended IS NULL AND NOT run.decider ORDER BY run.number + 0 DESC"
)
"""By a sum, so that the few open runs are sorted and not all runs looked through in order."""

OPEN_SESSIONS = (
    "SELECT session.id, player.id, session.plan, session_event.at, session_event.at_offset"
    " FROM session JOIN player ON player.number = session.player"
    " JOIN session_event ON session_event.session = session.number"
    " WHERE session.ended_at IS NULL AND session_event.seq ="
    " (SELECT max(seq) FROM session_event AS e WHERE e.session = session.number)"
    " ORDER BY session.number DESC"
)
LAST_PLAYER = (
    "SELECT player.id FROM run JOIN player ON player.number = run.player"
    " WHERE NOT player.hidden ORDER BY run.number DESC LIMIT 1"
)


def _facts(connection: sqlite3.Connection) -> HomeFacts:
    bests = [best(row) for row in connection.execute(BESTS)]
    last_scores = {}
    for key in connection.execute(SETTINGS).fetchall():
        rows = connection.execute(LAST_SCORES, (*key, LAST)).fetchall()
        if rows:
            last_scores[key] = tuple(decimal(score) for (score,) in rows)
    last = connection.execute(LAST_PLAYER).fetchone()
    opened = connection.execute(OPEN)
    width = len(RUN_COLUMNS)
    return HomeFacts(
        tuple(player_info(row) for row in connection.execute(PLAYERS)),
        last and last[0],
        {(found.player_id, found.fingerprint): found for found in bests},
        last_scores,
        tuple(stored_run(row[:width], stored_drill(row[width:])) for row in opened),
        tuple(
            OpenSession.of(id, player, parsed(plan), moment(at, offset))
            for id, player, plan, at, offset in connection.execute(OPEN_SESSIONS)
        ),
    )
