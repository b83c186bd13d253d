"""Questions in SQL, in the words that SQLite and PostgreSQL share: one text for each.

The first screen asks them through plain `sqlite3`, the store through `database.Prepared`.
Parameters stand as `:name`. Nothing is imported for it that the first screen would wait for.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from drillrunner.store.shapes import BEST_COLUMNS, DRILL_COLUMNS, PLAYER_COLUMNS, RUN_COLUMNS

JOINED = (
    " FROM run JOIN player ON player.number = run.player"
    " JOIN drill_as_set ON drill_as_set.number = run.drill_as_set"
)
THE_PLAYER = "(SELECT number FROM player WHERE id = :player)"
OPEN = "run.ended IS NULL AND NOT run.decider"
"""In the words of the index on open runs, or SQLite would not see that it serves."""

OF_CLUB = """(drill_as_set.club = :club
 OR drill_as_set.as_set LIKE '%"club":"' || :club || '"%')"""
"""A drill of several stations is one of each of their clubs; its canonical JSON names them."""

WAYS = {
    "run": "run.id = :run",
    "drill": "run.drill = :drill",
    "player": f"run.player = {THE_PLAYER}",
    "fingerprint": "run.fingerprint = :fingerprint",
    "session": "run.session_id = :session",
    "match": "run.match_id = :match",
    "club": OF_CLUB,
    "since": "run.started >= :since",
    "until": "run.started < :until",
    "open": OPEN,
}
"""What runs can be asked for by."""

RUN = f"SELECT run.drill_as_set, {', '.join(RUN_COLUMNS)}{JOINED}"
DRILL = f"SELECT {', '.join(DRILL_COLUMNS)} FROM drill_as_set WHERE number = :number"

_PLAYER = (
    "SELECT "
    + ", ".join(f'player."{column}"' for column in PLAYER_COLUMNS)
    + ", (SELECT value FROM handicap WHERE handicap.player = player.number"
    " ORDER BY handicap.number DESC LIMIT 1)"
    " FROM player WHERE player."
)
PLAYER_NAMED = _PLAYER + "key = :key"
_OWNER = (
    "coalesce((SELECT owner.player FROM owner ORDER BY owner.number DESC LIMIT 1),"
    " (SELECT min(number) FROM player))"
)
OWNER = f"SELECT id FROM player WHERE number = {_OWNER}"
WHO_PLAYS = (
    f"{_PLAYER}number = coalesce((SELECT number FROM player WHERE NOT hidden AND number = {_OWNER})"
    ", (SELECT number FROM player WHERE NOT hidden ORDER BY number LIMIT 1))"
)
"""The owner, or if hidden who was made next."""

LAST_SCORES = (
    f"SELECT score FROM run WHERE player = {THE_PLAYER}"
    " AND fingerprint = :fingerprint AND finished ORDER BY number DESC LIMIT :limit"
)
SETTINGS = "SELECT DISTINCT fingerprint FROM drill_as_set"
OPEN_SESSIONS = (
    "SELECT session.id, player.id, session.plan, session_event.at, session_event.at_offset"
    " FROM session JOIN player ON player.number = session.player"
    " JOIN session_event ON session_event.session = session.number"
    " WHERE session.ended_at IS NULL AND session.player = " + THE_PLAYER + " AND"
    " session_event.seq ="
    " (SELECT max(seq) FROM session_event AS e WHERE e.session = session.number)"
    " ORDER BY session.number DESC"
)

LEFT_MATCHES = (
    "SELECT match.id, coalesce(json_extract(match.data, '$.title'), match.drill),"
    " match.started, match.started_offset, (SELECT group_concat(name, ', ') FROM"
    " (SELECT player.name FROM match_player JOIN player ON player.number = match_player.player"
    " WHERE match_player.match = match.number ORDER BY match_player.place))"
    " FROM match WHERE match.ended_at IS NULL AND NOT EXISTS (SELECT 1 FROM gathering"
    " WHERE gathering.match = match.number AND NOT EXISTS (SELECT 1 FROM gathered"
    f" WHERE gathered.gathering = gathering.number AND gathered.player = {THE_PLAYER}))"
    " ORDER BY match.number DESC"
)
"""For SQLite alone, as the next one: of matches between bays only those that the player is in."""
LEFT_ROUNDS = (
    "SELECT round.id, round.day, json_extract(round.as_played, '$.title'), round.tee,"
    " (SELECT count(DISTINCT json_extract(told.data, '$.hole')) FROM round_event AS told"
    " WHERE told.round = round.number AND told.kind = 'hole'),"
    " coalesce(nullif(json_array_length(round.data, '$.holes'), 0),"
    " json_array_length(round.as_played, '$.holes'))"
    f" FROM round WHERE round.player = {THE_PLAYER} AND NOT EXISTS (SELECT 1 FROM round_event"
    " WHERE round_event.round = round.number AND round_event.kind = 'finished')"
    " AND coalesce((SELECT kind FROM round_event WHERE round_event.round = round.number"
    " AND kind IN ('taken out', 'put back') ORDER BY seq DESC LIMIT 1), '') <> 'taken out'"
    " ORDER BY round.number DESC"
)
RETIRED = f"SELECT id FROM club WHERE player = {THE_PLAYER} AND retired"
GOALS = (
    f"SELECT count(*) FROM goal WHERE player = {THE_PLAYER} AND value IS NOT NULL"
    " AND number IN (SELECT max(number) FROM goal GROUP BY player, kind, drill)"
)


def _where(ways: Iterable[str]) -> str:
    conditions = [WAYS[way] for way in sorted(ways)]
    return f" WHERE {' AND '.join(conditions)}" if conditions else ""


@lru_cache
def runs(ways: frozenset[str], limited: bool) -> str:
    """Runs, newest first."""
    # Open runs are few and have an index: the sum keeps SQLite from going through all in order.
    order = "run.number + 0" if "open" in ways else "run.number"
    limit = " LIMIT :limit" if limited else ""
    return f"{RUN}{_where(ways)} ORDER BY {order} DESC{limit}"


@lru_cache
def settings(ways: frozenset[str]) -> str:
    """The newest run of each drill as set: one step into an index for each of them."""
    of_drill = [OF_CLUB] * ("club" in ways) + ["drill = :drill"] * ("drill" in ways)
    where = f" WHERE {' AND '.join(of_drill)}" if of_drill else ""
    of_run = sorted({"player", "since", "until"} & ways)
    inner = "".join(f" AND {WAYS[way].replace('run.', 'r.')}" for way in of_run)
    return (
        f"{RUN} WHERE run.number IN (SELECT (SELECT max(r.number) FROM run AS r"
        f" WHERE r.fingerprint = s.fingerprint{inner})"
        f" FROM ({SETTINGS}{where}) AS s) ORDER BY run.number DESC"
    )


@lru_cache
def bests(ways: frozenset[str]) -> str:
    """The best of each player on each drill as set: one step into the index for each pair.

    ways: `player`, and `drill`, where only these are asked for.
    """
    drill = " WHERE drill = :drill" if "drill" in ways else ""
    player = " WHERE p.id = :player" if "player" in ways else ""
    return (
        f"SELECT {', '.join(BEST_COLUMNS)}{JOINED}"
        " WHERE run.number IN (SELECT (SELECT r.number FROM run AS r"
        " WHERE r.player = p.number AND r.fingerprint = s.fingerprint AND r.rank IS NOT NULL"
        " ORDER BY r.rank, r.ended_by LIMIT 1)"
        f" FROM player AS p CROSS JOIN ({SETTINGS}{drill}) AS s{player})"
        " ORDER BY run.drill, run.number"
    )


BEST = (
    f"SELECT {', '.join(BEST_COLUMNS)}{JOINED} WHERE {WAYS['player']} AND {WAYS['fingerprint']}"
    " AND run.rank IS NOT NULL AND run.id <> :but ORDER BY run.rank, run.ended_by LIMIT 1"
)


@lru_cache
def days(ways: frozenset[str]) -> str:
    """Local days, the balls that count or are void on each, and the runs, newest first."""
    return (
        "SELECT coalesce(visit.day, substr(run.started, 1, 10)) AS day,"
        " sum(run.counted + run.voided), count(*)"
        f" FROM run LEFT JOIN visit ON visit.id = run.visit_id{_where(ways)}"
        " GROUP BY 1 ORDER BY 1 DESC"
    )
