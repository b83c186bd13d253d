"""Difficulty that fits: where on a drill's dial a chance is nearest to a wanted one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from drillrunner.catalogue.drill import BadDrill, Dial, Drill
from drillrunner.odds.chance import ROLLOUTS, STATES, Chance, chance
from drillrunner.odds.weigh import PatternsAt
from drillrunner.odds.words import share
from drillrunner.rules import Score
from drillrunner.rules.units import text

TRIED = 200
"""A dial of up to so many steps is tried on every one of them."""

HARD, EASY = 0.02, 0.85
"""Below and above these chances to beat the best a drill is plainly too hard or too easy."""

EVEN = 0.5
"""The chance that an offer aims at: a setting, no published optimum for golf."""


class NoDial(ValueError):
    """The drill names no dial, or none of its values makes a drill that can be played."""


@dataclass(frozen=True)
class Tuned:
    """The best step of a dial. drill: the drill turned to it."""

    dial: str
    value: Decimal
    chance: Chance
    drill: Drill


def tune(
    drill: Drill,
    patterns: Callable[[Drill], PatternsAt],
    beat: Score,
    wanted: float,
    *,
    states: int = STATES,
    rollouts: int = ROLLOUTS,
    known: dict[int, Tuned] | None = None,
) -> Tuned:
    """The step of the dial at which the chance to beat `beat` from the start is nearest `wanted`.

    patterns: the player's for a drill (they can follow its carry). A dial of more than 200 steps
    is tried on an even choice of them first, and then on all between two that lie either side of
    `wanted` and next to the nearest: exact unless the chance swings inside one such gap. Values
    that the game refuses are passed over. Of equals, the one nearest to the drill as it is wins,
    then the lower. known: what each step was found to make of this drill, these patterns and this
    score; it is added to, so that another `wanted` costs nothing. Raises NoDial; ValueError where a
    pattern is missing.
    """
    dial = drill.dial
    if dial is None:
        raise NoDial(f"{drill.id} names no dial, or is set beyond it: nothing to tune")
    steps = int((dial.high - dial.low) / dial.step)
    found = {} if known is None else known

    def at(step: int) -> None:
        if step in found or not 0 <= step <= steps:
            return
        value = dial.low + step * dial.step
        try:
            turned = drill.with_value(dial.field, value)
            game = turned.game()
        except BadDrill:
            return
        odds = chance(game, game.start(), patterns(turned), beat, states=states, rollouts=rollouts)
        found[step] = Tuned(dial.field, value, odds, turned)

    stride = max(-(-steps // TRIED), 1)
    for step in (*range(0, steps, stride), steps):
        at(step)
    if not found:
        raise NoDial(f"{drill.id}: no value of {dial.field} makes a drill that can be played")

    def off(step: int) -> tuple[float, Decimal, int]:
        tuned = found[step]
        return abs(tuned.chance.chance - wanted), abs(tuned.value - dial_stands(drill, dial)), step

    if stride > 1:
        tried = sorted(found)
        best = min(tried, key=off)
        for low, high in pairwise(tried):
            below = [found[step].chance.chance < wanted for step in (low, high)]
            if below[0] != below[1] or best in (low, high):
                for step in range(low, high):
                    at(step)
    return found[min(found, key=off)]


def dial_stands(drill: Drill, dial: Dial) -> Decimal:
    """Where the dial stands; its low end where the drill leaves that field open."""
    group, _, name = dial.field.rpartition(".")
    value = getattr(drill.aim if group == "aim" else drill.settings, name, None)
    return dial.low if value is None else Decimal(str(value))


def misfit(odds: Chance, guess: bool) -> str | None:
    """`too hard` or `too easy` for this player, or `None`.

    odds: the chance to beat the best from the start. guess: the starting guess still outweighs
    the shots, so that nothing is plain yet. An estimate must be two of its errors clear.
    """
    if guess:
        return None
    if odds.chance + 2.0 * odds.error < HARD:
        return "too hard"
    if odds.chance - 2.0 * odds.error > EASY:
        return "too easy"
    return None


def advice(
    drill: Drill,
    patterns: Callable[[Drill], PatternsAt],
    beat: Score,
    guess: bool,
    *,
    wanted: float = EVEN,
    states: int = STATES,
) -> tuple[str, Tuned] | None:
    """One line that offers another setting, and that setting; `None` where the drill fits.

    A drill fits from a 2 % to an 85 % chance to beat the best, and while the pattern is a guess.
    It is only an offer: another setting is another record.
    """
    if beat is None or drill.dial is None:
        return None
    game = drill.game()
    now = chance(game, game.start(), patterns(drill), beat, states=states)
    what = misfit(now, guess)
    if what is None:
        return None
    tuned = tune(drill, patterns, beat, wanted, states=states)
    if abs(tuned.chance.chance - wanted) >= abs(now.chance - wanted):
        return None
    name = drill.dial.field.rpartition(".")[2]
    line = (
        f"plainly {what}: {share(now.chance)} to beat {text(beat)}; "
        f"at {name} {text(tuned.value)} it is {share(tuned.chance.chance)}"
    )
    return line, tuned
