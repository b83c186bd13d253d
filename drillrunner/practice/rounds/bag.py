"""The clubs that a tee shot can be hit with, from the usual one on."""

from __future__ import annotations

from collections.abc import Sequence

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.card_keys import SHORT_HOLE
from drillrunner.rules.units import convert
from drillrunner.store.shapes import ClubInfo


def bag_from_tee(clubs: Sequence[ClubInfo], par: int, yards: float) -> tuple[str, ...]:
    """Ids of the clubs in the bag in their order, round and round from the usual one.

    That is the longest; on a short hole the one whose usual carry is nearest to its length.
    """
    bag = [club for club in clubs if not club.retired and club.id != "putter"]
    if not bag:
        return ()
    first = bag[0]
    if par == SHORT_HOLE:
        first = min(bag, key=lambda club: abs(_carry(club) - yards))
    at = bag.index(first)
    return tuple(club.id for club in (*bag[at:], *bag[:at]))


def _carry(club: ClubInfo) -> float:
    if club.usual_carry is not None:
        return float(convert(club.usual_carry, club.unit, "yd"))
    known = CLUBS.get(club.id)
    return float(known.usual_carry or 0) if known is not None else 0.0
