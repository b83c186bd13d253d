"""How hard a drill may be in a plan, and where its dial fits. Pure: the chances are handed in.

A drill fits as written if it reaches its end with a score at least `HOPELESS` of the time, and the
chance to beat what there is to beat is no less and at most `SURE`. Else its dial is turned to
where that chance is nearest to the wanted one, by halving, as chances fall along a dial; that is
another setting, with records of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from drillrunner.practice.sessions.claims import DrillFact
from drillrunner.rules.score import Score
from drillrunner.rules.units import text

HOPELESS, SURE = 0.10, 0.85
"""The ends of what is neither out of reach nor sure; the upper one as for the offers of a dial."""
STAKE = (0.30, 0.70)
"""The chances between which something is at stake."""
EVEN = 0.5
"""The chance that a dial is turned to unless another is wanted: a setting, no published optimum."""
HALVINGS, NEAR = 6, 0.04
"""Steps of a dial tried between its ends, and how near the wanted chance is near enough."""


class Odds(NamedTuple):
    """The chances of one drill as set. ends: to end with a score.

    beats: to beat `beat`, the player's best, or before there is one (not `own`) what half of the
    rating model's players reach; `None` where nothing can be told.
    """

    ends: float
    beats: float | None
    beat: Score
    own: bool


Chances = Callable[[str, tuple[str, ...]], Odds | None]
"""The chances of the drill of an id with such settings; `None` where it can't be so set."""


@dataclass(frozen=True)
class DrillFit:
    """A drill as it goes into a plan. set: settings that differ from the file, as `--set` takes.

    good: neither hopeless nor sure; what nothing is known of is taken to be.
    """

    odds: Odds | None
    set: tuple[str, ...] = ()
    good: bool = True

    @property
    def stake(self) -> bool:
        """Whether something is at stake that can be won today."""
        beats = None if self.odds is None else self.odds.beats
        return beats is not None and STAKE[0] <= beats <= STAKE[1]


class Fitting:
    """Where drills fit one player, each worked out once."""

    def __init__(self, chances: Chances | None, wanted: float = EVEN) -> None:
        self._chances = chances
        self.wanted = wanted
        self._known: dict[tuple[str, tuple[str, ...]], Odds | None] = {}
        self._fits: dict[tuple[str, bool], DrillFit] = {}

    def of(self, drill: DrillFact, stake: bool = False) -> DrillFit:
        """How a drill fits. stake: it is to have a chance with something at stake."""
        key = drill.id, stake
        if key not in self._fits:
            self._fits[key] = self._fit(drill, STAKE if stake else (HOPELESS, SURE))
        return self._fits[key]

    def as_written(self, drill: DrillFact) -> DrillFit:
        """A drill as its file has it, whether it fits or not."""
        return DrillFit(self._odds(drill, ()))

    def _odds(self, drill: DrillFact, set: tuple[str, ...]) -> Odds | None:
        if self._chances is None:
            return None
        key = drill.id, set
        if key not in self._known:
            self._known[key] = self._chances(*key)
        return self._known[key]

    def _fit(self, drill: DrillFact, within: tuple[float, float]) -> DrillFit:
        odds = self._odds(drill, ())
        if odds is None or _in(odds, within):
            return DrillFit(odds)
        turned = self._turned(drill, within) if drill.dial is not None else None
        if turned is not None:
            return turned
        easy = odds.beats is None or odds.beats > SURE
        return DrillFit(odds, good=odds.ends >= HOPELESS and easy)

    def _turned(self, drill: DrillFact, within: tuple[float, float]) -> DrillFit | None:
        dial = drill.dial
        assert dial is not None
        wanted = min(max(self.wanted, within[0]), within[1])
        tried: dict[int, DrillFit] = {}

        def at(step: int) -> float | None:
            if step not in tried:
                set = (f"{dial.field}={text(dial.low + step * dial.step)}",)
                tried[step] = DrillFit(self._odds(drill, set), set)
            odds = tried[step].odds
            return None if odds is None else odds.beats

        low, high = 0, int((dial.high - dial.low) / dial.step)
        first, last = at(low), at(high)
        for _ in range(HALVINGS):
            if high - low < 2 or first is None or last is None:
                break
            middle = (low + high) // 2
            now = at(middle)
            if now is None or abs(now - wanted) < NEAR:
                break
            if (now < wanted) == (first < wanted):
                low, first = middle, now
            else:
                high, last = middle, now
        good = [fit for fit in tried.values() if fit.odds is not None and _in(fit.odds, within)]

        def off(fit: DrillFit) -> tuple[float, tuple[str, ...]]:
            assert fit.odds is not None
            assert fit.odds.beats is not None
            return abs(fit.odds.beats - wanted), fit.set

        return min(good, key=off, default=None)


def _in(odds: Odds, within: tuple[float, float]) -> bool:
    if odds.ends < HOPELESS:
        return False
    return odds.beats is not None and within[0] <= odds.beats <= within[1]
