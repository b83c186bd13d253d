"""Which club a tee shot is taken to be hit with, and the order in which the others follow."""

from __future__ import annotations

from decimal import Decimal

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.practice.rounds.bag import bag_from_tee
from drillrunner.store.shapes import ClubInfo

CLUBS_OF = [
    ClubInfo(one.id, one.label, one.order, None, "yd", one.id == "7-wood") for one in CLUBS.values()
]


def test_the_longest_stands_first_on_a_long_hole_and_no_putter_or_retired_club_follows() -> None:
    bag = bag_from_tee(CLUBS_OF, 4, 380.0)
    assert bag[:3] == ("driver", "3-wood", "5-wood")
    assert len(bag) == len(CLUBS) - 2


def test_on_a_short_hole_the_nearest_carry_stands_first_and_all_the_others_follow() -> None:
    bag = bag_from_tee(CLUBS_OF, 3, 126.0)
    assert (bag[0], bag[1], bag[-1]) == ("7-iron", "8-iron", "6-iron")
    # By the player's own carries, in the unit that they were typed in: 137 m are 150 yd.
    own = [one._replace(usual_carry=Decimal(137), unit="m") if one.id == "7-iron" else one
           for one in CLUBS_OF]  # fmt: skip
    assert bag_from_tee(own, 3, 150.0)[0] == "7-iron"


def test_nobody_without_clubs_is_asked_for_one() -> None:
    assert bag_from_tee([], 4, 380.0) == ()
