"""One direction of a pattern as a person looks at it, in the player's own unit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from drillrunner.odds.calls import change, sizes
from drillrunner.odds.desk import WIDTHS, Picture, side
from drillrunner.odds.observe import observations
from drillrunner.odds.pattern import Band
from drillrunner.odds.reading import (
    AimOff,
    Counted,
    counted,
    more_balls,
    shape_words,
    where_to_aim,
)
from drillrunner.rules.shot import Direction
from drillrunner.rules.units import Unit, convert

FINISHES = 60
"""Of so many of the latest balls it is told where each one finished."""


class Finish(NamedTuple):
    """Where one ball finished: stretches, `None` for no end. read: as a number."""

    spans: tuple[tuple[float | None, float | None], ...]
    read: bool


@dataclass(frozen=True)
class PatternSide:
    """One direction of a pattern; each band is at 80 %.

    inside: for each width the chance, and whether it is by shape, not seen. carry: the carry that
    depth speaks of. finishes: the latest balls, newest first. shape: in words, if it is not even.
    counted: for each width, how many of those latest balls were in. aims: for each width where to
    aim, `off` in the player's unit, if that is not at it. more: for each width how many more balls
    until its chance is useful; `None` is never at this rate. calls: it is not where balls finished
    beside the aim, but beside what was called. change: of the calls, in words.
    """

    direction: Direction
    shots: int
    guess: bool
    said: str
    bias: Band
    half_width: Band
    inside: tuple[tuple[int, Band, bool], ...]
    carry: float | None
    finishes: tuple[Finish, ...]
    shape: str | None
    counted: tuple[Counted, ...]
    aims: tuple[AimOff | None, ...]
    more: tuple[int | None, ...]
    calls: bool = False
    change: str | None = None


def side_of(picture: Picture, direction: Direction, unit: Unit) -> PatternSide:
    """What a picture says in one direction, distances in `unit`."""
    scale = float(convert(Decimal(1), "yd", unit))
    pattern, carry = picture.of(direction), picture.player.carry
    calls = picture.player.calls
    balls = observations(picture.records, direction, carry, FINISHES, calls=calls)

    def scaled(band: Band) -> Band:
        return Band(*(value * scale for value in band))

    def ends(span: tuple[float, float]) -> tuple[float | None, float | None]:
        low, high = (None if abs(end) == float("inf") else end * scale for end in span)
        return low, high

    return PatternSide(
        direction,
        pattern.shots,
        pattern.guess,
        side(pattern, direction, calls),
        scaled(pattern.bias),
        scaled(pattern.half_width),
        tuple((w, pattern.inside(w / scale), pattern.by_shape(w / scale)) for w in WIDTHS),
        carry * scale if carry is not None and direction == "depth" else None,
        tuple(Finish(tuple(map(ends, ball.spans)), ball.edge is None) for ball in balls),
        shape_words(pattern, direction),
        tuple(counted(balls, w / scale, pattern.inside(w / scale)) for w in WIDTHS),
        tuple(where_to_aim(pattern, w / scale, 1.0 / scale) for w in WIDTHS),
        tuple(more_balls(pattern, w / scale) for w in WIDTHS),
        calls,
        change(sizes(picture.records, unit), unit) if calls else None,
    )
