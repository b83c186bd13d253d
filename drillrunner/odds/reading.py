"""What a player can do with a pattern: check it by counting, aim off, know when it is useful."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from drillrunner.odds.families import families
from drillrunner.odds.observe import Observation
from drillrunner.odds.pattern import Band, Pattern
from drillrunner.rules import Direction

FARTHEST = 40
"""Yards to either side that are tried as a place to aim at."""

WORTH = 0.03
"""An aim beside the target is told where it holds so much more, 8 in 10 sure."""

USEFUL = 0.10
"""A chance is useful when its 80 % interval reaches no further than this to either side."""

PLAIN = 0.8
"""A kind of shape is told in words when it is at least so plausible."""

GUESS_WEIGHS = 2.0
"""Shots that the starting guess is about as weighty as."""

_Z95 = 1.959963984540054


class Counted(NamedTuple):
    """Raw counts at a width. inside, of: balls that were surely in, and all that can be told.

    off: whether the pattern's interval and the counted share's can't both be right.
    """

    inside: int
    of: int
    off: bool


def counted(balls: Iterable[Observation], width: float, stated: Band) -> Counted:
    """How many of these balls finished inside a width, in yards, as each one was read.

    A number is in where its reading is, the middle of what it says; a zone where all of it is in.
    Flagged `off`: even with all balls counted as in (or out) that may have been, Wilson's 95 %
    interval lies apart from the pattern's 80 % one. E. B. Wilson 1927, J. Am. Stat. Assoc. 22.
    """
    edge, inside, of, least, most = width / 2.0 + 1e-9, 0, 0, 0, 0
    for ball in balls:
        if ball.share < 1.0:
            continue
        ends = [end for span in ball.spans for end in span]
        within = max(map(abs, ends)) <= edge
        beyond = all(low >= edge - 2e-9 or high <= 2e-9 - edge for low, high in ball.spans)
        if not within and not beyond:
            if ball.edge is not None:
                continue
            most += 1
            of += 1
            inside += all(abs(low + high) / 2.0 <= edge for low, high in ball.spans)
            continue
        of, inside, least, most = of + 1, inside + within, least + within, most + within
    off = bool(of) and (wilson(most, of)[1] < stated.low or wilson(least, of)[0] > stated.high)
    return Counted(inside, of, off)


def wilson(inside: int, of: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share."""
    share, z2 = inside / of, _Z95 * _Z95
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = _Z95 * math.sqrt(share * (1 - share) / of + z2 / (4 * of * of)) / (1 + z2 / of)
    return middle - half, middle + half


class AimOff(NamedTuple):
    """Where to aim. off: yards, left and short negative. holds, straight: there, and dead on."""

    off: int
    holds: float
    straight: float


def where_to_aim(pattern: Pattern, width: float, step: float = 1.0) -> AimOff | None:
    """The place beside the target that holds most of a width; `None` where none is worth it.

    width, step: yards; `off` counts steps. It must hold three points more, and more than dead on
    under 8 in 10 of the laws, or it would follow the luck of a few balls. The chances are means:
    how likely the next ball is to hold.
    """
    if pattern.guess:
        return None
    laws = pattern.laws
    places = range(-FARTHEST, FARTHEST + 1)
    # Aiming 5 left moves every ball 5 left: the target lies 5 further right for the pattern.
    spans = [(-p * step - width / 2.0, -p * step + width / 2.0) for p in places]
    chances = laws.chances(spans)
    held = chances @ laws.weight
    best = int(np.argmax(held))
    gains = chances[best] > chances[FARTHEST]
    straight = float(held[FARTHEST])
    if float(held[best]) - straight < WORTH or float(gains @ laws.weight) < PLAIN:
        return None
    return AimOff(places[best], float(held[best]), straight)


def more_balls(pattern: Pattern, width: float) -> int | None:
    """How many more balls until `inside` a width is useful: 0 is now, `None` is never at this rate.

    An interval narrows as one over the square root of the balls behind it; old balls fade.
    """
    stated = pattern.inside(width)
    reach = (stated.high - stated.low) / 2.0
    have = sum(pattern.groups.values())
    if reach <= USEFUL:
        return 0
    need = (reach / USEFUL) ** 2 * (have + GUESS_WEIGHS) - GUESS_WEIGHS
    if pattern.half_life is None:
        return math.ceil(need - have)
    fade = 0.5 ** (1.0 / pattern.half_life)
    most = 1.0 / (1.0 - fade)
    if need >= 0.98 * most:
        return None
    return math.ceil(math.log((most - need) / (most - have)) / math.log(fade))


def shape_words(pattern: Pattern, direction: Direction) -> str | None:
    """What is told of a shape that is not even; `None` for an even one and for a guess."""
    if pattern.guess:
        return None
    low, high = ("left", "right") if direction == "lateral" else ("short", "long")
    kinds = pattern.kinds
    if kinds["two-way"] >= PLAIN:
        return f"two misses: {low} and {high}, little between"
    if kinds["leaning"] >= PLAIN:
        to_low = sum(
            weight
            for name, weight in pattern.shapes.items()
            if families()[name].kind == "leaning"
            and families()[name].bells[0].left > families()[name].bells[0].right
        )
        return f"the bad ones go {low if 2.0 * to_low > kinds['leaning'] else high}"
    return None
