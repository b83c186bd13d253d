"""What the needs say, no surer than they are: words for screen, command and plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from drillrunner.odds.strokes.needs import BANDS, RANKED
from drillrunner.practice.sessions.claims import EARLY, KIND_WORDS, cost_words, rounds

if TYPE_CHECKING:
    from drillrunner.odds.strokes.needs import Need

TOGETHER = "shots from 60 and more"
MEN_ONLY = "putting, bad shots and what is usual from round to round are known for men only"


class Worst(NamedTuple):
    """What costs most: one kind, or the bands of length together. Strokes a round, 80 % bounds."""

    kinds: tuple[str, ...]
    name: str
    lost: float
    low: float
    high: float
    rounds: float

    @property
    def sure(self) -> bool:
        """Whether its whole interval is a loss."""
        return self.low > 0

    @property
    def said(self) -> str:
        """What it costs, in a sentence with its number."""
        return cost_words(self.name, self.lost, self.rounds)


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
        far = "" if worst.sure else ", so far"
        yield (
            f"{worst.name}: {worst.lost:.1f} a round ({worst.low:.1f} to {worst.high:.1f}), "
            f"{rounds(worst.rounds)}{far}"
        )
    if count < RANKED:
        yield "lengths stand in their order: under ten rounds none can be ranked"
    if column == "women":
        yield MEN_ONLY


def worst_of(needs: Sequence[Need]) -> Worst | None:
    """What costs most, once that can be said: from three rounds on, and only a loss.

    Before ten rounds the bands of length count together: none of them can be ranked.
    """
    telling = [need for need in needs if need.rounds >= EARLY]
    bands = [need for need in telling if need.kind in BANDS]
    found = [Worst((need.kind,), KIND_WORDS[need.kind], *_figures([need])) for need in telling]
    if len(bands) > 1 and min(need.rounds for need in bands) < RANKED:
        found = [one for one in found if one.kinds[0] not in BANDS]
        found.append(Worst(BANDS, TOGETHER, *_figures(bands)))
    worst = max(found, key=lambda one: one.lost, default=None)
    return None if worst is None or worst.lost <= 0 else worst


def _figures(needs: Sequence[Need]) -> tuple[float, float, float, float]:
    """Lost, its bounds and the rounds of kinds taken together, each known by itself."""
    lost = sum(need.lost for need in needs)
    below, above = (
        math.hypot(*(need.lost - end for need, end in zip(needs, ends, strict=True)))
        for ends in ([need.low for need in needs], [need.high for need in needs])
    )
    return lost, lost - below, lost + above, min(need.rounds for need in needs)
