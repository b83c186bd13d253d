"""From stored shots to what each one says of one direction, in yards."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from itertools import islice
from typing import NamedTuple, Protocol, TypeVar

from drillrunner.odds.shape import Span
from drillrunner.rules import Aim, Direction, Shot, Unit
from drillrunner.rules.shot import Interval
from drillrunner.rules.units import convert

POOLED = 0.15
"""Misses in depth pool only within this share of the aim's carry."""


class Hit(Protocol):
    """A counted ball with what was in force when it was hit; a stored shot is one."""

    @property
    def shot(self) -> Shot: ...
    @property
    def aim(self) -> Aim: ...
    @property
    def unit(self) -> Unit: ...
    @property
    def lost_counts(self) -> Decimal | None: ...


class Observation(NamedTuple):
    """What one ball says of one direction.

    spans: where it can have finished, disjoint, in yards off the aim. edge: how far off the aim
    the edge lay that it was judged by; `None` where a distance was read. share: how surely it
    finished there; otherwise it says nothing. blur: the standard deviation in yards of where the
    edge really lay, for every ball judged by it alike (half of the width's own error).
    """

    spans: tuple[Span, ...]
    edge: float | None = None
    share: float = 1.0
    blur: float = 0.0


R = TypeVar("R", bound=Hit)

Held = Callable[[float], float]
"""The chance to finish inside a width in yards in the other direction."""


def yards(value: Decimal | None, unit: Unit, missing: float = math.inf) -> float:
    """A distance as a float of yards; `missing` where there is none."""
    return missing if value is None else float(convert(value, unit, "yd"))


def span_of(interval: Interval, unit: Unit) -> Span:
    """An interval of the rules as a span in yards."""
    low, high = interval
    return yards(low, unit, -math.inf), yards(high, unit)


def of_either(record: Hit) -> bool:
    """Whether a ball missed a window with the side not seen: in which direction, nobody knows."""
    return record.shot.out and len(record.aim.judged) == 2


def observation(record: Hit, direction: Direction, held: Held | None = None) -> Observation | None:
    """What a ball says of a direction; `None` if nothing.

    held: of the other direction. A ball that missed a window with the side not seen, left out,
    would let those that hit it speak for all; it was not in both directions, and if it was in the
    other one it was out in this one. Without `held` it says nothing.
    """
    shot, aim, unit = record.shot, record.aim, record.unit
    if of_either(record):
        across, along = (yards(aim.edge(d), unit) for d in aim.judged)
        here, there = (across, along) if direction == "lateral" else (along, across)
        # To a hundredth, so that such balls are of few kinds.
        share = 0.0 if held is None else round(held(2.0 * there), 2)
        outside = ((-math.inf, -here), (here, math.inf))
        return Observation(outside, here, share, _blur(record, direction)) if share else None
    regions = aim.regions(shot, direction, record.lost_counts)
    if not regions:
        return None
    seen = shot.seen(direction)
    number = shot.carry is not None or (seen is not None and seen.size is not None)
    edge = None if number else max(yards(abs(e), unit) for r in regions for e in r if e is not None)
    of_the_aim = edge is not None and edge == yards(aim.edge(direction), unit)
    blur = _blur(record, direction) if of_the_aim else 0.0
    return Observation(tuple(span_of(region, unit) for region in regions), edge, blur=blur)


def of_call(record: Hit) -> Observation | None:
    """How far the carry of a ball was off what was called; `None` where nothing was."""
    seen = record.shot.off_call
    if seen is None or seen.signed is None:
        return None
    half = (seen.grid or Decimal(1)) / 2
    return Observation((span_of((seen.signed - half, seen.signed + half), record.unit),))


def _blur(record: Hit, direction: Direction) -> float:
    """How far the edge may lie from where it was taken to be, in yards."""
    error = record.aim.width_error
    return 0.0 if error is None or direction == "depth" else yards(error, record.unit) / 2


def observations(
    records: Iterable[Hit],
    direction: Direction,
    carry: float | None = None,
    most: int | None = None,
    held: Held | None = None,
    calls: bool = False,
) -> list[Observation]:
    """What these balls say of a direction, in the order given, without those that say nothing.

    carry: yards of the aim that the pattern is for; in depth only shots at an aim within 15 % of
    it count. Where it is `None`, all do. most: how many are enough. held: as for `observation`.
    calls: what they say of how well the player calls a carry (the direction is depth).
    """
    return [said for _, said in islice(told_of(records, direction, carry, held, calls), most)]


def told_of(
    records: Iterable[R],
    direction: Direction,
    carry: float | None = None,
    held: Held | None = None,
    calls: bool = False,
) -> Iterator[tuple[R, Observation]]:
    """The same, each ball with what it says."""
    for record in records:
        if calls:
            off = of_call(record) if direction == "depth" else None
            if off is not None:
                yield record, off
            continue
        if direction == "depth" and carry is not None:
            flown = yards(record.aim.carry, record.unit)
            if not abs(flown - carry) <= POOLED * carry:
                continue
        said = observation(record, direction, held)
        if said is not None:
            yield record, said
