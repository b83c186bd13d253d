"""A fair fight: everyone's chance to win a match, and the dials at which it is the same for all.

Players are independent, so the exact distributions of their final scores say who wins; equal
scores are shared. Under each player's plausible patterns apart they say how sure that is.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from drillrunner.catalogue.drill import BadDrill, Drill
from drillrunner.odds.chance import LONGEST, final_scores
from drillrunner.odds.graph import graph_of
from drillrunner.odds.green.curves import far_of
from drillrunner.odds.pattern import Band, quantiles
from drillrunner.odds.shape import Floats, Plausible
from drillrunner.odds.tune import TRIED, dial_stands
from drillrunner.odds.weigh import POINTS, Patterns, PatternsAt, Rolling, Table, asks_of, needed
from drillrunner.rules import AnyGame, Ask, Better, Score
from drillrunner.rules.station import HOLING

CLOSE = 0.04
"""A match is fair if nobody's chance is further than this from an even share."""

DRAWS = 400
"""Pattern for each player, drawn by weight, from which the interval of a chance is read."""

LEFT_OUT = 1e-6
"""A walk that leaves more than this in play is not exact."""

ASIDE = LEFT_OUT / 2
"""How much of the chance the walk may leave out with what is hardly ever reached."""

STATES = 2_000
"""An endless game is walked so far; what goes on is worth more than all of that, or less."""

RUNS_ROLLED = 2_000

SOON = 4
"""Steps of a dial after which the line through two should have led to it; then it is halved too."""


class Finals(NamedTuple):
    """How a player's run may end. values: worst first, each once; `-inf` is no score.

    chances: of each value under each plausible pattern (values x K). weight: of the patterns.
    exact: walked to the end; else near it, or estimated by rollouts over all patterns (K is 1).
    """

    values: tuple[float, ...]
    chances: Floats
    weight: Floats
    exact: bool = True

    @property
    def whole(self) -> Floats:
        """The chance of each value, over all patterns."""
        whole: Floats = self.chances @ self.weight
        return whole


def worth(score: Score, better: Better) -> float:
    """A score as a number of which more is better; no score is worth less than any."""
    if score is None:
        return -math.inf
    return float(score) if better == "higher" else -float(score)


def settled(score: Score, better: Better) -> Finals:
    """How a run ends that has ended."""
    return Finals((worth(score, better),), np.ones((1, 1)), np.ones(1))


def finals(game: AnyGame, patterns: PatternsAt, state: Any = None, seed: int = 1) -> Finals:
    """How a run ends from a state, or from the start. Raises ValueError for a missing pattern."""
    found, weight, drawn = final_scores(
        game, patterns, state, states=STATES if game.endless else None, aside=ASIDE
    )
    rows = {worth(score, game.better): chances for score, chances in found.items()}
    left = 1.0 - sum(rows.values(), np.zeros(len(weight)))
    walked = float(left @ weight) < LEFT_OUT
    if not walked:
        if not game.endless:
            return rolled(game, patterns, state, seed)
        beyond = math.inf if game.better == "higher" else -math.inf
        rows[beyond] = rows.get(beyond, 0.0) + left
    values = sorted(rows)
    return Finals(
        tuple(values), np.array([rows[value] for value in values]), weight, walked and not drawn
    )


def rolled(game: AnyGame, patterns: PatternsAt, state: Any = None, seed: int = 1) -> Finals:
    """How a run ends, by playing it out, patterns drawn by weight."""
    graph = graph_of(game)
    table = Table(game, tuple(dict.fromkeys((*asks_of(game), *graph.asks))), patterns, POINTS[1])
    rolling = Rolling(table, lambda score, over: worth(score, game.better) if over else None)
    rng = random.Random(seed)
    drawn = rng.choices(range(len(table.weight)), table.weight.tolist(), k=RUNS_ROLLED)
    counts: dict[float, float] = {}
    start = rolling.stop(game.start() if state is None else state)
    for pattern in drawn:
        now = start
        for _ in range(LONGEST):
            if now.result is not None:
                break
            now = rolling.ball(now, bisect_right(now.reached[pattern], rng.random()))
        value = worth(now.score, game.better)
        counts[value] = counts.get(value, 0.0) + 1.0 / RUNS_ROLLED
    values = sorted(counts)
    return Finals(tuple(values), np.array([[counts[v]] for v in values]), np.ones(1), False)


def shares(everyone: Sequence[Finals]) -> tuple[float, ...]:
    """Each player's chance to win; equal scores, none at all too, are shared."""
    tables = [one.whole[None, :] for one in everyone]
    return tuple(float(share[0]) for share in _shares([one.values for one in everyone], tables))


def bands(everyone: Sequence[Finals], seed: int = 1) -> tuple[Band, ...]:
    """Each player's chance to win and its 80 % interval, from what is not known of the patterns.

    The first figure of each is the chance itself, as `shares` has it.
    """
    rng = np.random.default_rng(seed)
    tables = [
        one.chances[:, rng.choice(len(one.weight), DRAWS, p=one.weight / one.weight.sum())].T
        for one in everyone
    ]
    spread = _shares([one.values for one in everyone], tables)
    even = np.full(DRAWS, 1.0 / DRAWS)
    ends = [quantiles(share, even) for share in spread]
    return tuple(
        Band(share, min(end.low, share), max(end.high, share))
        for share, end in zip(shares(everyone), ends, strict=True)
    )


def _shares(values: Sequence[tuple[float, ...]], tables: Sequence[Floats]) -> list[Floats]:
    """Chances to win. tables: of each player, draws x values; the result has draws for each."""
    axis = sorted(set().union(*values))
    place = {value: at for at, value in enumerate(axis)}
    exactly = []
    for own, table in zip(values, tables, strict=True):
        spread = np.zeros((table.shape[0], len(axis)))
        spread[:, [place[value] for value in own]] = table
        exactly.append(spread)
    below = [np.cumsum(spread, axis=1) - spread for spread in exactly]
    won = []
    for at, mine in enumerate(exactly):
        # Coefficient k: the chance that k of the others are level and none is better.
        level = [np.ones_like(mine)]
        for other in range(len(exactly)):
            if other == at:
                continue
            worse, equal = below[other], exactly[other]
            grown = [part * worse for part in level] + [np.zeros_like(mine)]
            for count, part in enumerate(level):
                grown[count + 1] = grown[count + 1] + part * equal
            level = grown
        shared = sum(part / (count + 1) for count, part in enumerate(level))
        won.append((mine * shared).sum(axis=1))
    return won


# ------------------------------------------------------------------ dials that fit


@dataclass(frozen=True)
class FairSide:
    """One player of a fight: the drill as it would be played, and their patterns for any drill."""

    drill: Drill
    patterns: Callable[[Drill], PatternsAt]


@dataclass(frozen=True)
class Fair:
    """A fight made as fair as the dial allows.

    drills: for each player, the drill as set. values: where its dial stands, `None` without one.
    widest: who keeps the drill as written. chances: to win, with their 80 % intervals. exact: by
    the walk, not by rollouts. why: the reason, if it is not fair within four points; else `None`.
    """

    drills: tuple[Drill, ...]
    values: tuple[Decimal | None, ...]
    widest: int
    chances: tuple[Band, ...]
    exact: bool
    why: str | None


def level_fight(sides: Sequence[FairSide]) -> Fair:
    """Fit the dials. Raises ValueError where a pattern is missing."""
    widest = max(range(len(sides)), key=lambda at: _width(sides[at]))
    dials = [_Dial(side) for side in sides]
    why = None
    if sides[widest].drill.dial is None:
        why = "the drill names no dial that could make it even"
    else:
        for at, dial in enumerate(dials):
            if at != widest:
                dial.meet(dials[widest].now)
        if len(dials) > 2:
            _settle(dials, widest)
    found = [dial.now for dial in dials]
    chances = bands(found)
    off = max(abs(band.median - 1.0 / len(sides)) for band in chances)
    if why is None and off > CLOSE:
        why = f"no setting of it comes nearer than {off * 100:.0f} points to even"
    elif why is not None and off <= CLOSE:
        why = None
    return Fair(
        tuple(dial.drill for dial in dials),
        tuple(dial.value for dial in dials),
        widest,
        chances,
        all(one.exact for one in found),
        why,
    )


def _width(side: FairSide) -> float:
    """How wide a player's pattern is: in the one direction that matters, or the area of two.

    The mean over the stations, where there are several.
    """
    patterns = side.patterns(side.drill)
    widths = [_wide(patterns.at(ask), ask) for ask in asks_of(side.drill.game())]
    return sum(widths) / len(widths)


def _wide(patterns: Patterns, ask: Ask) -> float:
    """Of one station: where a ball is holed out, the strokes that it takes beyond one."""
    if ask.asks in HOLING:
        return patterns.holing().expected(far_of(ask.aim, ask.unit)).median - 1.0
    return math.prod(_half(patterns.of(direction)) for direction in needed(ask))


def _half(pattern: Plausible) -> float:
    """Yards either side of the player's own centre that hold two shots in three, on average."""
    return float(pattern.half @ pattern.weight / pattern.weight.sum())


class _Dial:
    """One player's dial: where it stands, and how their run may end there."""

    def __init__(self, side: FairSide) -> None:
        self.side = side
        self.step: int | None = None
        self._found: dict[int | None, tuple[Drill, Finals] | None] = {}

    @property
    def now(self) -> Finals:
        return self._standing[1]

    @property
    def drill(self) -> Drill:
        return self._standing[0]

    @property
    def _standing(self) -> tuple[Drill, Finals]:
        found = self.at(self.step)
        assert found is not None
        return found

    @property
    def value(self) -> Decimal | None:
        """Where the dial stands now."""
        drill = self.drill
        return None if drill.dial is None else dial_stands(drill, drill.dial)

    @property
    def steps(self) -> int:
        dial = self.side.drill.dial
        assert dial is not None
        return int((dial.high - dial.low) / dial.step)

    def at(self, step: int | None) -> tuple[Drill, Finals] | None:
        """The drill at a step, and how it may end; `None` where it can't be played so.

        `None` as a step is the drill as it is written.
        """
        if step not in self._found:
            self._found[step] = self._make(step)
        return self._found[step]

    def _make(self, step: int | None) -> tuple[Drill, Finals] | None:
        drill = self.side.drill
        if step is not None:
            dial = drill.dial
            assert dial is not None
            if not 0 <= step <= self.steps:
                return None
            try:
                drill = drill.with_value(dial.field, dial.low + step * dial.step)
            except BadDrill:
                return None
        return drill, finals(drill.game(), self.side.patterns(drill))

    def meet(self, other: Finals) -> None:
        """Turn to the step that is nearest to even against another run."""

        def off_at(step: int) -> float | None:
            found = self.at(step)
            return None if found is None else shares([found[1], other])[0] - 0.5

        off = towards_even(off_at, self._written, self.steps)
        if not off or min(map(abs, off.values())) > CLOSE:
            # A dial makes a drill ever harder or ever easier, as a rule: see whether it does.
            for step in range(0, self.steps + 1, max(-(-self.steps // TRIED), 1)):
                if step not in off and (found := off_at(step)) is not None:
                    off[step] = found
        if off:
            self.step = min(off, key=lambda step: (abs(off[step]), step))

    @property
    def _written(self) -> int:
        """The step that is nearest to the drill as it is written."""
        dial = self.side.drill.dial
        assert dial is not None
        step = round((dial_stands(self.side.drill, dial) - dial.low) / dial.step)
        return min(max(step, 0), self.steps)


def towards_even(off_at: Callable[[int], float | None], first: int, steps: int) -> dict[int, float]:
    """Steps of a dial tried from the first of 0 to `steps` on, with how far off even each is.

    Where it only rises or only falls, the nearest of all steps is among them. off_at: what a step
    is off, `None` if it can't be played, which ends the search. Each costs a walk, and an easy
    drill a long one, so it follows the line through the nearest two.
    """
    off: dict[int, float] = {}
    step: int | None = first
    while step is not None and (found := off_at(step)) is not None:
        off[step] = found
        if len(off) > 1:
            step = _next(off, steps, halve=len(off) > SOON and len(off) % 2 == 0)
        else:
            step = first + 1 if first < steps else first - 1 if first else None
    return off


def _next(off: Mapping[int, float], steps: int, halve: bool) -> int | None:
    """The step to try next, towards where nothing is off; `None` when there is none left.

    off: of each step tried, at least two, how far it is from even. halve: between two that lie on
    either side of it take the middle, and not what the line through them says.
    """
    at = sorted(off)
    for low, high in pairwise(at):
        if off[low] * off[high] <= 0.0:
            if high - low == 1:
                return None
            line = low + round((high - low) * off[low] / ((off[low] - off[high]) or 1.0))
            return (low + high) // 2 if halve else min(max(line, low + 1), high - 1)
    up = abs(off[at[-1]]) < abs(off[at[0]])
    near, far = (at[-1], at[-2]) if up else (at[0], at[1])
    slope = (off[near] - off[far]) / (near - far)
    reach = -off[near] / slope if slope else math.inf
    if reach * (near - far) <= 0.0:
        reach = math.inf
    # A line through two that are close says little of what is far from both.
    furthest = max(2 * (at[-1] - at[0]), steps // 4, 1)
    step = near + max(round(min(abs(reach), furthest)), 1) * (1 if up else -1)
    step = min(max(step, 0), steps)
    return None if step in off else step


def _settle(dials: Sequence[_Dial], widest: int) -> None:
    """Turn dials by single steps for as long as that brings everyone nearer to an even share."""

    def off() -> float:
        return sum((share - 1.0 / len(dials)) ** 2 for share in shares([d.now for d in dials]))

    best = off()
    for _ in range(4 * len(dials)):
        before = best
        for at, dial in enumerate(dials):
            if at == widest or dial.step is None:
                continue
            here = dial.step
            for step in (here - 1, here + 1):
                if dial.at(step) is None:
                    continue
                dial.step = step
                if (now := off()) < best - 1e-9:
                    best, here = now, step
                dial.step = here
        if best == before:
            return
