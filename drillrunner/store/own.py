"""One player's view of a database: what somebody else typed is not in it, whoever asks and how.

On a connection for reading every table that holds something of players is covered by a temporary
view of the same name, which shows the rows that are this player's, and the matches that they are
in with what belongs to these. So no question has to think of it.
"""

from __future__ import annotations

from sqlalchemy import Connection, text

from drillrunner.store.errors import StoreError
from drillrunner.store.stored import same_name

MATCHES = (
    "(SELECT ms.match FROM {real}match_player AS ms WHERE ms.player = {me}"
    " UNION SELECT mg.match FROM {real}gathered AS md"
    " JOIN {real}gathering AS mg ON mg.number = md.gathering"
    " WHERE md.player = {me} AND mg.match IS NOT NULL)"
)
"""The matches that a player is in, or has joined just now."""
MATCH_IDS = f'(SELECT mm.id FROM {{real}}"match" AS mm WHERE mm.number IN {MATCHES})'
GATHERINGS = "(SELECT gg.gathering FROM {real}gathered AS gg WHERE gg.player = {me})"
OWN = "player = {me}"
VIEWS = {
    "player": "number = {me}"
    f" OR number IN (SELECT o.player FROM {{real}}match_player AS o WHERE o.match IN {MATCHES})"
    f" OR number IN (SELECT o.player FROM {{real}}gathered AS o WHERE o.gathering IN {GATHERINGS})",
    "run": f"{OWN} OR match_id IN {MATCH_IDS}",
    "entry": f"{OWN} OR run IN"
    f" (SELECT r.number FROM {{real}}run AS r WHERE r.match_id IN {MATCH_IDS})",
    "match": f"number IN {MATCHES}",
    "match_player": f"match IN {MATCHES}",
    "handicap": f"{OWN} OR player IN"
    f" (SELECT o.player FROM {{real}}match_player AS o WHERE o.match IN {MATCHES})",
    "session_event": "session IN (SELECT s.number FROM {real}session AS s WHERE s.player = {me})",
    "round_event": "round IN (SELECT r.number FROM {real}round AS r WHERE r.player = {me})",
    "given": "giver = {me} OR taker = {me}",
    "gathering": f"number IN {GATHERINGS}",
    "gathered": f"gathering IN {GATHERINGS}",
    **dict.fromkeys(
        (
            "club",
            "visit",
            "session",
            "stock_carry",
            "owner",
            "round",
            "goal",
            "thought",
            "sharing",
            "pin",
            "phone",
        ),
        OWN,
    ),
}
"""Each table of players, and which of its rows are seen."""

OPEN_TO_ALL = ("drill_as_set",)
"""Tables that say nothing of anybody."""

WITH = """SELECT 1 FROM gathered AS mine JOIN gathered AS other ON other.gathering = mine.gathering
 JOIN gathering ON gathering.number = mine.gathering
 LEFT JOIN "match" ON "match".number = gathering.match
 JOIN player ON player.number = other.player
 WHERE mine.player = (SELECT number FROM player WHERE key = :own) AND player.id = :player
 AND "match".ended_at IS NULL"""
"""Whether a player is in an open match between bays with the one whose view it is."""


def cover(connection: Connection, own: str) -> None:
    """Show this connection only what is the player's of that name. Raises StoreError."""
    found = connection.execute(
        text("SELECT number FROM player WHERE key = :key"), {"key": same_name(own)}
    ).scalar()
    if found is None:
        raise StoreError(f"no player {own}: sign in anew")
    sqlite = connection.dialect.name == "sqlite"
    real = "main." if sqlite else f"{_schema(connection)}."
    for table, ways in VIEWS.items():
        where = ways.format(me=int(found), real=real)
        connection.exec_driver_sql(
            f'CREATE TEMP VIEW "{table}" AS SELECT * FROM {real}"{table}" WHERE {where}'
        )


def _schema(connection: Connection) -> str:
    return '"' + str(connection.exec_driver_sql("SELECT current_schema()").scalar()) + '"'


def plays_with(connection: Connection, own: str, player: str) -> bool:
    """Whether a player (by id) is in an open match between bays with the one of that name."""
    values = {"own": same_name(own), "player": player}
    return connection.execute(text(WITH), values).first() is not None
