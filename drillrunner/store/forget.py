"""Take a person out of the database, with all that only they have."""

from __future__ import annotations

from sqlalchemy import delete, func, or_, select

from drillrunner.store import tables as t
from drillrunner.store.database import Database
from drillrunner.store.opened import player_number

KEPT_BY = {
    "entries": t.entry,
    "runs": t.run,
    "places in matches": t.seat,
    "stock carries": t.stock,
    "sessions": t.session,
    "days at the range": t.visit,
    "rounds": t.round,
    "goals": t.goal,
    "thoughts": t.thought,
    "clubs": t.club,
    "handicap indexes": t.handicap,
    "words on standing on boards": t.sharing,
    "places in matches between bays": t.gathered,
    "phones": t.phones,
    "PIN": t.pin,
}
"""What a player has, in words, in an order in which it can be taken away."""


def belongings(database: Database, player_id: str) -> dict[str, int]:
    """How much would go with a player, by what it is. Raises StoreError for no such player."""
    with database.reading() as connection:
        number = player_number(connection, player_id)
        return {
            name: connection.execute(
                select(func.count()).select_from(table).where(table.c.player == number)
            ).scalar_one()
            for name, table in KEPT_BY.items()
        }


def forget(database: Database, player_id: str) -> dict[str, int]:
    """Remove a player and what only they have; how much that was. Raises StoreError.

    A match stays for the others in it. What was removed is overwritten in the file as well; copies
    that were made before still have it.
    """
    with database.writing() as connection:
        if database.path is not None:
            connection.exec_driver_sql("PRAGMA secure_delete = ON")
        number = player_number(connection, player_id)
        mine = select(t.session.c.number).where(t.session.c.player == number)
        connection.execute(delete(t.event).where(t.event.c.session.in_(mine)))
        rounds = select(t.round.c.number).where(t.round.c.player == number)
        connection.execute(delete(t.round_event).where(t.round_event.c.round.in_(rounds)))
        mentioned = or_(t.given.c.giver == number, t.given.c.taker == number)
        connection.execute(delete(t.given).where(mentioned))
        connection.execute(delete(t.owner).where(t.owner.c.player == number))
        gone = {
            name: connection.execute(delete(table).where(table.c.player == number)).rowcount
            for name, table in KEPT_BY.items()
        }
        played = select(t.run.c.drill_as_set)
        connection.execute(delete(t.drill_as_set).where(t.drill_as_set.c.number.not_in(played)))
        seated = select(t.seat.c.match)
        g = t.gathering.c
        over = select(g.number).where(g.match.is_not(None), g.match.not_in(seated))
        connection.execute(delete(t.gathered).where(t.gathered.c.gathering.in_(over)))
        alone = g.number.not_in(select(t.gathered.c.gathering))
        connection.execute(delete(t.gathering).where(alone))
        connection.execute(delete(t.match).where(t.match.c.number.not_in(seated)))
        connection.execute(delete(t.player).where(t.player.c.number == number))
    return gone
