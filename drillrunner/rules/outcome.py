"""Every shot that a drill can be answered with, each with the region it stands for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Literal, get_args

from drillrunner.rules.shot import Aim, Direction, Interval, Seen, Shot, Side

Asks = Literal["verdict", "miss", "carry", "strokes", "leave", "call"]
ASKS: tuple[Asks, ...] = get_args(Asks)

GRIDS: Mapping[Asks, Decimal] = {
    "verdict": Decimal(5),
    "miss": Decimal(5),
    "carry": Decimal(1),
    "strokes": Decimal(1),
    "leave": Decimal(1),
    "call": Decimal(1),
}
"""The step on which numbers are read, where nothing else is said."""

CALL_LIMIT = Decimal(60)
"""How far off its call a carry is told apart from one that is further off still."""
NOMINAL = Decimal(100)
"""The carry called where nothing is aimed at: how far off a call is does not hang on it."""

MISS_LIMIT = Decimal(150)
CARRY_LIMIT = Decimal(400)
"""The furthest miss and carry that are taken without asking once more."""

MOST_STROKES = 9
LEAVE_LIMIT = Decimal(99)
"""The most strokes, and the furthest left, that can be typed; the last stands for all beyond."""

EVERYWHERE: Interval = (None, None)
SIDES: tuple[Side, Side, Side] = (-1, 0, 1)


@dataclass(frozen=True, slots=True)
class Outcome:
    """A shot, and the lateral and the depth interval (of the miss) that it stands for."""

    shot: Shot
    lateral: Interval = EVERYWHERE
    depth: Interval = EVERYWHERE


def outcomes(
    asks: Asks, aim: Aim, grid: Decimal, direction: Direction = "lateral"
) -> tuple[Outcome, ...]:
    """List the shots of a drill; their regions are disjoint and cover everything.

    verdict: the zones, cut at the aim's own edges. miss, carry: one shot per grid step, halves
    away from zero, the last step on each side with its whole tail. `direction` is the one that a
    miss is measured in. strokes, leave: each number that can be typed; they have no region. call:
    the same call each time, and a carry for each step about it; the depth is that off the call.
    Raises ValueError for a verdict without edges or a carry without an aim.
    """
    return _LISTED[asks](aim, grid, direction)


def _misses(aim: Aim, grid: Decimal, direction: Direction) -> tuple[Outcome, ...]:
    most = int((MISS_LIMIT / grid).to_integral_value(ROUND_FLOOR))
    return tuple(
        Outcome(Shot(lateral=seen), lateral=span)
        if direction == "lateral"
        else Outcome(Shot(depth=seen), depth=span)
        for seen, span in (
            (Seen.number(k * grid, grid), _step(k, -most, most, grid))
            for k in range(-most, most + 1)
        )
    )


def _carries(aim: Aim, grid: Decimal, direction: Direction) -> tuple[Outcome, ...]:
    if aim.carry is None:
        raise ValueError("a carry is judged against the aim's carry, and this aim has none")
    least = int((-aim.carry / grid).to_integral_value(ROUND_CEILING))
    most = max(int(((CARRY_LIMIT - aim.carry) / grid).to_integral_value(ROUND_FLOOR)), 0)
    return tuple(
        Outcome(
            Shot(carry=aim.carry + k * grid, carry_grid=grid), depth=_step(k, least, most, grid)
        )
        for k in range(least, most + 1)
    )


def _strokes(aim: Aim, grid: Decimal, direction: Direction) -> tuple[Outcome, ...]:
    return tuple(Outcome(Shot(strokes=count)) for count in range(1, MOST_STROKES + 1))


def _leaves(aim: Aim, grid: Decimal, direction: Direction) -> tuple[Outcome, ...]:
    most = int((LEAVE_LIMIT / grid).to_integral_value(ROUND_FLOOR))
    return tuple(Outcome(Shot(leave=k * grid, leave_grid=grid)) for k in range(most + 1))


def _calls(aim: Aim, grid: Decimal, direction: Direction) -> tuple[Outcome, ...]:
    most = int((CALL_LIMIT / grid).to_integral_value(ROUND_FLOOR))
    # What is aimed at may be nearer than that: then a longer call stands for the same.
    call = max(aim.carry or NOMINAL, most * grid)
    return tuple(
        Outcome(
            Shot(carry=call + k * grid, carry_grid=grid, call=call, call_grid=grid),
            depth=_step(k, -most, most, grid),
        )
        for k in range(-most, most + 1)
    )


def _step(k: int, least: int, most: int, grid: Decimal) -> Interval:
    low = None if k == least else (k - Decimal("0.5")) * grid
    high = None if k == most else (k + Decimal("0.5")) * grid
    return low, high


def _zones(
    aim: Aim, grid: Decimal = Decimal(1), direction: Direction = "lateral"
) -> tuple[Outcome, ...]:
    if not aim.judged:
        raise ValueError("a verdict needs an aim with a width, a depth or both")
    if aim.judged == ("lateral",) and any(aim.fars):
        return _corridor(aim)
    across, along = _sides(aim.edge("lateral")), _sides(aim.edge("depth"))
    return tuple(
        Outcome(Shot(lateral=lateral, depth=depth), span, reach)
        for depth, reach in along
        for lateral, span in across
    )


def _corridor(aim: Aim) -> tuple[Outcome, ...]:
    """A corridor with a second trouble beyond it, on one side or both."""
    edge = aim.edge("lateral")
    assert edge is not None
    left, right = aim.fars
    near = Seen(0)
    found = [
        Outcome(Shot(lateral=Seen(-1), depth=near), (None if left is None else -left, -edge)),
        Outcome(Shot(lateral=Seen(0), depth=near), (-edge, edge)),
        Outcome(Shot(lateral=Seen(1), depth=near), (edge, right)),
    ]
    if left is not None:
        found.insert(0, Outcome(Shot(lateral=Seen(-1), depth=Seen(1)), (None, -left)))
    if right is not None:
        found.append(Outcome(Shot(lateral=Seen(1), depth=Seen(1)), (right, None)))
    return tuple(found)


def _sides(edge: Decimal | None) -> list[tuple[Seen | None, Interval]]:
    if edge is None:
        return [(None, EVERYWHERE)]
    spans: tuple[Interval, ...] = ((None, -edge), (-edge, edge), (edge, None))
    return [(Seen(side), span) for side, span in zip(SIDES, spans, strict=True)]


_LISTED: Mapping[Asks, Callable[[Aim, Decimal, Direction], tuple[Outcome, ...]]] = {
    "verdict": _zones,
    "call": _calls,
    "miss": _misses,
    "carry": _carries,
    "strokes": _strokes,
    "leave": _leaves,
}
"""For each thing to ask, how its answers are listed."""
