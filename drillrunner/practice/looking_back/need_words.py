"""What the needs say, no surer than they are: words for screen, command and plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from drillrunner.practice.sessions.claims import EARLY, KIND_WORDS, rounds

if TYPE_CHECKING:
    from drillrunner.odds.strokes.needs import Need

RANKED = 10.0
"""Rounds from which bands of length are ranked."""
MEN_ONLY = "putting, bad shots and what is usual from round to round are known for men only"


def lines(
    needs: Sequence[Need],
    wanted: float,
    goal: bool = True,
    known: bool = True,
    column: str | None = None,
) -> Iterator[str]:
    """What the needs come to, a line each. goal: `wanted` is the player's; known: so is the index.

    column: of the rating model.
    """
    count = max((need.rounds for need in needs), default=0.0)
    if not count:
        yield "no round that tells where strokes went yet: type one in full, or its putts"
        return
    yield f"against {'your goal, ' if goal else ''}an index of {wanted:g}; {rounds(count)}"
    if not known:
        yield "no index is known of you: the usual spread of an index of 20 is taken"
    if count < EARLY:
        yield "too early to tell: from three rounds on the largest need is named"
        return
    worst = worst_of(needs)
    if worst is None:
        yield "nothing costs you strokes against that level so far"
    else:
        name = KIND_WORDS[worst.kind]
        far = "" if worst.sure else ", so far"
        yield (
            f"{name}: {worst.lost:.1f} a round ({worst.low:.1f} to {worst.high:.1f}), "
            f"{rounds(worst.rounds)}{far}"
        )
    if count < RANKED:
        yield "lengths stand in their order: under ten rounds none can be ranked"
    if column == "women":
        yield MEN_ONLY


def worst_of(needs: Sequence[Need]) -> Need | None:
    """What costs most, once that can be said: from three rounds on, and only a loss."""
    found = [need for need in needs if need.rounds >= EARLY and need.lost > 0]
    return max(found, key=lambda need: need.lost, default=None)
