"""Making what is still to come fit what is left: shortened first, then dropped.

The rule. The least needed goes first: free, technique, find, then drills, the later ones before
the earlier, but the last drill, the game to finish on, is kept to the end with the warm-up. A
block can be shortened to half its minutes (never under one), and to half its balls; a drill and a
find keep their balls, since a game is not cut short. If all of them at their shortest still do
not fit, the least needed is dropped and the rest is tried at full length again. The very last
one may be cut to a minute and a ball, so that a session ends with something to play.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drillrunner.catalogue.plans import Block
from drillrunner.rules.units import numbered

SHORTEST = 60
"""Seconds under which a block is not worth starting."""

LEAST_NEEDED = ("free", "technique", "find", "drill", "warm-up")


@dataclass(frozen=True)
class Share:
    """A block to come by its place in the plan, and the seconds and balls that it is to get."""

    place: int
    block: Block
    seconds: float
    balls: int


@dataclass(frozen=True)
class Refit:
    """What fits, in the order asked for, and what was shortened and dropped to make it."""

    shares: tuple[Share, ...]
    shortened: tuple[Share, ...] = ()
    dropped: tuple[Share, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """What was done, one line each; empty if everything fits."""
        return (
            *(
                f"{share.block.title} shortened to {clock(share.seconds)}, {balls(share.balls)}"
                for share in self.shortened
            ),
            *(f"{share.block.title} dropped: no room is left" for share in self.dropped),
        )


def fit(wanted: Sequence[Share], seconds: float, bucket: int) -> Refit:
    """Fit blocks into so many seconds and balls, by the rule at the head of this module.

    What is given never adds up to more than there is.
    """
    kept = list(wanted)
    needed = _least_needed_first(wanted)
    while kept:
        floors = {s.place: _floor(s, last=len(kept) == 1) for s in kept}
        if (
            sum(least for least, _ in floors.values()) <= seconds
            and sum(least for _, least in floors.values()) <= bucket
        ):
            break
        kept.remove(next(share for share in needed if share in kept))
    shares = {share.place: share for share in kept}
    over_seconds = sum(share.seconds for share in kept) - seconds
    over_balls = sum(share.balls for share in kept) - bucket
    for share in needed:
        if share.place not in shares:
            continue
        least_seconds, least_balls = floors[share.place]
        cut_seconds = min(max(over_seconds, 0), share.seconds - least_seconds)
        cut_balls = min(max(over_balls, 0), share.balls - least_balls)
        over_seconds -= cut_seconds
        over_balls -= cut_balls
        shares[share.place] = replace(
            share, seconds=share.seconds - cut_seconds, balls=share.balls - cut_balls
        )
    given = tuple(shares[share.place] for share in kept)
    return Refit(
        shares=given,
        shortened=tuple(s for s, full in zip(given, kept, strict=True) if s != full),
        dropped=tuple(share for share in wanted if share.place not in shares),
    )


def _least_needed_first(wanted: Sequence[Share]) -> list[Share]:
    drills = [share for share in wanted if share.block.kind == "drill"]

    def need(item: tuple[int, Share]) -> tuple[bool, int, int]:
        order, share = item
        finish = bool(drills) and share is drills[-1]
        return finish, LEAST_NEEDED.index(share.block.kind), -order

    return [share for _, share in sorted(enumerate(wanted), key=need)]


def _floor(share: Share, last: bool) -> tuple[float, int]:
    """The fewest seconds and balls with which a block is still worth starting."""
    if last:
        return min(share.seconds, SHORTEST), min(share.balls, 1)
    seconds = min(share.seconds, max(share.seconds / 2, SHORTEST))
    if share.block.kind in ("drill", "find"):
        return seconds, share.balls
    return seconds, math.ceil(share.balls / 2)


def clock(seconds: float) -> str:
    """Seconds as `mm:ss`, rounded up so that 00:00 is the end; more than an hour goes on in
    minutes. What is over shows with a plus."""
    whole = math.ceil(seconds - 1e-6)
    minutes, rest = divmod(abs(whole), 60)
    return f"{'+' if whole < 0 else ''}{minutes:02d}:{rest:02d}"


def minutes(count: int) -> str:
    """A number of minutes in words."""
    return f"{numbered(count, 'minute')}"


def balls(count: int) -> str:
    """A number of balls in words."""
    return f"{numbered(count, 'ball')}"
