"""What a stored player's strokes from a lie tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillrunner.odds.green.curves import HolingPrior, StrokesTold, told
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.green.portrait import GreenSide, green_side
from drillrunner.rules.shot import NearLie

if TYPE_CHECKING:
    from datetime import date

    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

RECORDS = 1000
"""Stored balls that are looked at."""


def prior_of(player: PlayerInfo | None, lie: NearLie) -> HolingPrior:
    """The starting guess for a player; of someone not known, of none with an index."""
    if player is None:
        return HolingPrior(lie)
    index = None if player.index is None else float(player.index)
    return HolingPrior(lie, index, "women" if player.column == "women" else "men")


def green_of(store: Store | None, player: PlayerInfo | None, lie: NearLie) -> GreenSide:
    """A stored player's picture of a lie, beside the player of their goal. Raises StoreError."""
    goal = None
    if store is not None and player is not None:
        goals = store.intents.goals(player.id)
        goal = next((float(g.value) for g in goals if g.kind == "index"), None)
    unit = "yd" if player is None else player.unit
    return green_side(holing_of(store, player, lie), unit, goal)


def holing_of(
    store: Store | None, player: PlayerInfo | None, lie: NearLie, but: str | None = None
) -> Holing:
    """What a player's balls from a lie tell, those of the run `but` left out. Raises StoreError."""
    prior = prior_of(player, lie)
    if store is None or player is None:
        return Holing(prior)
    found: list[tuple[StrokesTold, date | None]] = []
    for record in store.recent_strokes(player.id, lie, RECORDS):
        said = None if record.run == but else told(record)
        if said is not None:
            found.append((said, record.at.date()))
    return Holing.of(found, prior)
