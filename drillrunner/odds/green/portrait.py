"""How a player holes out from one lie, as a person looks at it, in the player's own unit."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from drillrunner.catalogue.strokes.rating import NO_INDEX
from drillrunner.odds.green.curves import StrokesTold, far_of, usual
from drillrunner.odds.green.holing import Holing
from drillrunner.odds.pattern import Band
from drillrunner.rules.outcome import MOST_STROKES
from drillrunner.rules.shot import Aim, NearLie
from drillrunner.rules.units import Measure, Unit, text

LENGTHS: dict[bool, dict[Unit, tuple[str, ...]]] = {
    True: {
        "yd": ("3", "5", "8", "10", "15", "20", "30", "40"),
        "m": ("1", "1.5", "2.5", "3", "4.5", "6", "9", "12"),
    },
    False: {"yd": ("5", "10", "20", "30", "40"), "m": ("5", "10", "20", "30", "40")},
}
"""Lengths that are told of: of putts, and from off the green."""

NEAR = 0.25
"""Balls within this share of a length are counted to it."""


class LengthRow(NamedTuple):
    """One length. holed: the chance within `GreenSide.within` strokes; other: that of the player
    beside. strokes, other_strokes: to hole out, on average. inside, of: balls from about there that
    were holed so, and all of them.
    """

    length: Decimal
    holed: Band
    other: float
    strokes: Band
    other_strokes: float
    inside: int
    of: int


class GreenSide(NamedTuple):
    """One lie. within: strokes that a row's chance is of. beside: the index of the player beside,
    and why that one.
    """

    lie: NearLie
    measure: Measure
    shots: int
    guess: bool
    within: int
    beside: str
    rows: tuple[LengthRow, ...]


def green_side(holing: Holing, unit: Unit, goal: float | None) -> GreenSide:
    """What is known of a lie. goal: the index aimed for; else one's own, or that of no index."""
    prior = holing.prior
    index = next((i for i in (goal, prior.handicap) if i is not None), NO_INDEX)
    why = "goal" if goal is not None else "own" if prior.handicap is not None else "no index known"
    within = 1 if prior.lie == "green" else 2
    told = [(said, weight) for said, weight in holing.counted.items() if said.strokes is not None]
    rows = []
    for written in LENGTHS[prior.lie == "green"][unit]:
        length = Decimal(written)
        aim = Aim(length=length, lie=prior.lie)
        far = far_of(aim, unit)
        shares = usual(prior._replace(handicap=index), far)
        rows.append(
            LengthRow(
                length,
                holing.within(far, within),
                sum(shares[:within]),
                holing.expected(far),
                sum((at + 1) * share for at, share in enumerate(shares)),
                *_counted(told, far, within),
            )
        )
    measure = Aim(lie=prior.lie).measure(unit)
    beside = f"index {text(round(index, 1))} ({why})"
    return GreenSide(prior.lie, measure, holing.shots, holing.guess, within, beside, tuple(rows))


def _counted(told: Sequence[tuple[StrokesTold, int]], far: float, within: int) -> tuple[int, int]:
    near = [(said, n) for said, n in told if abs(said.length - far) <= NEAR * far]
    good = sum(n for said, n in near if (said.strokes or MOST_STROKES) <= within)
    return good, sum(n for _, n in near)
