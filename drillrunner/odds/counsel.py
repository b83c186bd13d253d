"""What stands beside a chance: a score within reach where the best is far, and where to aim."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from drillrunner.odds.desk import Answer, Pictures
from drillrunner.odds.observe import yards
from drillrunner.odds.pattern import Band
from drillrunner.odds.reading import AimOff, more_balls, where_to_aim
from drillrunner.rules import Ask, Better, Direction, Score, beats

RARE = 0.1
"""Below this chance to beat the best, the chance to beat the typical score stands beside it."""


class Within(NamedTuple):
    """The chance to beat a player's typical score."""

    score: Score
    answer: Answer


def within_reach(chance: float, best: Score, typical: Score, better: Better) -> bool:
    """Whether the typical score is worth a word: the best is far and the typical one is not it."""
    return chance < RARE and typical is not None and beats(better, best, typical)


class AtAim(NamedTuple):
    """What a pattern says of the aim that is asked.

    holds: the chance that a ball holds it. aim: where to aim, `off` in the unit of the ask, if that
    is not at it. more: balls until the chance is useful; 0 is now, `None` is never at this rate.
    """

    direction: Direction
    holds: Band
    aim: AimOff | None
    more: int | None


def at_aim(pictures: Pictures, ask: Ask) -> AtAim | None:
    """What is told of an aim that judges one direction and has a width; else `None`."""
    judged = ask.aim.judged
    if len(judged) != 1:
        return None
    edge = ask.aim.edge(judged[0])
    if not edge:
        return None
    pattern, width = pictures.picture(ask).of(judged[0]), yards(2 * edge, ask.unit)
    return AtAim(
        judged[0],
        pattern.inside(width),
        where_to_aim(pattern, width, yards(Decimal(1), ask.unit)),
        more_balls(pattern, width),
    )
