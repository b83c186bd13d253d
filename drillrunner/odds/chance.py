"""How likely a game, any game, ends with a score that beats another.

It walks the states that the game reaches through its own outcomes, under every plausible pattern
at once, and stops where the promise settles the matter: a running score never falls, so a high one
that beats is sure, and a low one that no longer does is lost. Nothing here knows a game.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from drillrunner.odds.graph import Graph, Layer, TooMany, asker, graph_of
from drillrunner.odds.pattern import Band, quantiles
from drillrunner.odds.shape import Floats
from drillrunner.odds.tails import Ints
from drillrunner.odds.weigh import POINTS, Grown, PatternsAt, Rolling, Table, asks_of
from drillrunner.odds.weigh import Patterns as Patterns
from drillrunner.odds.weigh import directions as directions
from drillrunner.odds.weigh import weigh as weigh
from drillrunner.rules import AnyGame, Ask, Direction, Outcome, Score, Shot, beats

STATES = 10_000
"""Above so many states, rollouts answer."""

TRIED = 3_000_000
"""So they do above so many balls tried, one for each state and outcome: fine grids have many."""

ROLLOUTS = 4_000
LONGEST = 2_000
"""Balls after which a rollout of an endless game is left open."""

ROLLED = 400_000
"""Balls rolled in all, so that long games take no longer: a second or two on a small machine."""

FINE_ENOUGH = 0.0025
"""Joint draws go on until their error is below this: twice that is half a point."""

LEFT_OUT_NOW = 0.1
"""What one ball of a walk takes of all that may be left out."""

REMAINDER = 1e-12
"""An endless game is walked until less than this of the chance is still in play."""

AT_ONCE = 100_000
"""Numbers that a walk back works on at once: of more the memory is asked for anew each time, which
takes four times as long as the work."""


HELD = 500_000
"""Numbers of one ball that a walk back holds: of more it goes back for some patterns at a time."""


@dataclass(frozen=True)
class Chance:
    """The chance to beat a score.

    exact: walked under every plausible pattern, not estimated. states: how many were walked. error:
    the standard error of an estimate (of joint draws of several patterns, or of rollouts with what
    they left open), 0 where exact. sure: how sure it is at 80 %, from what is not known of the
    patterns; `None` where no walk says so, or nothing is unknown.
    """

    chance: float
    exact: bool
    states: int
    error: float
    sure: Band | None = None


@dataclass(frozen=True)
class NextBall:
    """What one more ball does to the chance.

    if_in: the chance after a ball that helps, one that leaves it as it is or better; if_out: after
    any other. For a game that asks in or out those are just that. `None` where no ball does so.
    within: for numbers, the largest miss that still helps, in the drill's unit.
    """

    now: Chance
    if_in: float | None
    if_out: float | None
    within: Decimal | None


def chance(
    game: AnyGame,
    state: Any,
    patterns: PatternsAt,
    beat: Score,
    *,
    states: int = STATES,
    rollouts: int = ROLLOUTS,
    seed: int = 1,
) -> Chance:
    """The chance that a run in this state ends with a score strictly better than `beat`.

    beat: `None` asks for the chance to end with any score. Above `states` states, or where the
    walk would not end, seeded rollouts answer. Where a run involves several patterns, the walk is
    averaged over joint draws of them until the error is below half a point. Raises ValueError where
    a pattern is missing.
    """
    return next_ball(game, state, patterns, beat, states=states, rollouts=rollouts, seed=seed).now


def next_ball(
    game: AnyGame,
    state: Any,
    patterns: PatternsAt,
    beat: Score,
    *,
    states: int = STATES,
    rollouts: int = ROLLOUTS,
    seed: int = 1,
) -> NextBall:
    """The chance from here, and what the next ball does to it. Arguments as for `chance`."""
    graph = graph_of(game)
    with graph.lock:
        settled = _Settled(graph, beat)
        start = graph.number(state)
        done = settled(start)
        if done is not None:
            return NextBall(Chance(float(done), True, 1, 0.0), None, None, None)
        most = min(states, TRIED // len(graph.outcomes_of(graph.ask(start))))
        asks = dict.fromkeys(asks_of(game))
        for points in POINTS:
            try:
                table, walked = _walked(graph, start, settled, patterns, most, points, seed, asks)
            except TooMany:
                break
            groups = table.groups(graph)
            layers, sinks, seen = walked
            now, after = _backward(layers, sinks, groups)
            if table.error(now) < FINE_ENOUGH or points == POINTS[-1]:
                return _split(graph, table, now, after, layers[0], seen)
    met = dict.fromkeys((*asks, *graph.asks))
    table = Table(game, tuple(met), patterns, POINTS[1], seed)
    return _rolled(game, state, table, settled.score, rollouts, seed)


_Walked = tuple[list[Layer], dict[Any, int], int]


def _walked(
    graph: Graph,
    start: int,
    sink_of: Callable[[int], Any],
    patterns: PatternsAt,
    most: int,
    points: int,
    seed: int,
    asks: dict[Ask, None],
) -> tuple[Table, _Walked]:
    """The walk, and the patterns that it involves. asks: what is asked on it, which may grow."""
    while True:
        table = Table(graph.game, tuple(asks), patterns, points, seed)
        try:
            walked = _explore(graph, start, sink_of, table, most)
            table.groups(graph)
        except Grown:
            known = len(asks)
            asks.update(dict.fromkeys(graph.asks))
            if len(asks) == known:
                raise
        else:
            return table, walked


class _Settled:
    """Whether a state already beats the score (True), no longer can (False), or neither (None)."""

    def __init__(self, graph: Graph, beat: Score) -> None:
        self.graph, self.beat, self.better = graph, beat, graph.game.better

    def __call__(self, at: int) -> bool | None:
        return self.score(self.graph.scores[at], self.graph.over[at])

    def score(self, score: Score, over: bool) -> bool | None:
        if over:
            return beats(self.better, score, self.beat)
        if self.beat is None or score is None:
            return None
        if self.better == "higher":
            return True if score > self.beat else None
        return False if score >= self.beat else None


def _explore(
    graph: Graph,
    start: int,
    sink_of: Callable[[int], Any],
    table: Table,
    most: int,
) -> _Walked:
    """Every state in reach, ball by ball. Raises TooMany.

    Only an endless game needs the mass that is still in play, to know when to stop.
    """
    sinks: dict[Any, int] = {}
    layers: list[Layer] = []
    states, seen = [start], {start}
    mass = np.ones((1, len(table.weight)))
    groups = np.empty((0, 0))
    while states:
        layer, nexts = graph.layer(states, sink_of, sinks)
        layers.append(layer)
        seen.update(nexts)
        if len(seen) > most or len(layers) > most:
            raise TooMany
        if graph.game.endless:
            if int(layer.by.max()) >= len(groups):
                groups = table.groups(graph)
            mass = _flow(layer, mass, groups, len(nexts), 0)
            if float(mass.sum(axis=0) @ table.weight) < REMAINDER:
                break
        states = nexts
    return layers, sinks, len(seen)


def _flow(layer: Layer, mass: Floats, groups: Floats, nexts: int, sinks: int) -> Floats:
    """Where the mass (states x K) goes with one more ball: the next states, then the sinks.

    Sink j is row -(j + 1), as in `Layer`. With `sinks` 0, what is settled is left out.
    """
    sizes = np.diff(np.append(layer.starts, len(layer.to)))
    source = np.repeat(np.arange(len(layer.starts)), sizes)
    reached = np.zeros((nexts + sinks, mass.shape[1]))
    order = np.lexsort((layer.to, layer.by))
    if not sinks:
        order = order[layer.to[order] >= 0]
    if not len(order):
        return reached
    # Each row by its number from the front, sinks' too: it shows which lie side by side.
    to, by, source = layer.to[order] % len(reached), layer.by[order], source[order]
    starts = np.flatnonzero(np.append(True, by[1:] != by[:-1])).tolist()
    # Group by group, so that what is worked on stays in the processor's cache.
    for start, end in pairwise([*starts, len(by)]):
        here = to[start:end]
        moved = mass[source[start:end]]
        moved *= groups[by[start]]
        first = np.flatnonzero(np.append(True, here[1:] != here[:-1]))
        if len(first) < len(here):
            here, moved = here[first], np.add.reduceat(moved, first, axis=0)
        if here[-1] - here[0] == len(here) - 1:
            # Side by side, as mostly: numpy is several times as fast.
            reached[here[0] : here[-1] + 1] += moved
        else:
            reached[here] += moved
    return reached


def _backward(layers: list[Layer], sinks: dict[Any, int], groups: Floats) -> tuple[Floats, Floats]:
    """The value at the start (K) and after each edge of the first layer (edges x K).

    So many patterns at once as take little memory, of a walk that is wide.
    """
    most = max(len(layer.states) for layer in layers)
    at_once = max(HELD // most, 2)
    starts = range(0, groups.shape[1], at_once)
    parts = [_worked_back(layers, sinks, groups[:, at : at + at_once]) for at in starts]
    now, after = zip(*parts, strict=True)
    return np.concatenate(now), np.concatenate(after, axis=1)


def _worked_back(
    layers: list[Layer], sinks: dict[Any, int], groups: Floats
) -> tuple[Floats, Floats]:
    ends = np.zeros((len(sinks), groups.shape[1]))
    for label, place in sinks.items():
        ends[-1 - place] = float(bool(label))
    # Where an endless walk was broken off, what is still in play may end either way.
    last = int(layers[-1].to.max(initial=-1)) + 1
    values = np.concatenate([np.full((last, groups.shape[1]), 0.5), ends])
    for layer in reversed(layers):
        known = values
        values = _weighed(layer, known, ends, groups)
    return values[0], known[layers[0].to]


def _weighed(layer: Layer, known: Floats, sinks: Floats, groups: Floats) -> Floats:
    """The value of each state of a layer from those of what its edges lead to, then the sinks'.

    So many states at once as take little memory: an edge has a number under every law.
    """
    ends = np.append(layer.starts, len(layer.to))
    states = len(layer.starts)
    values = np.empty((states + len(sinks), known.shape[1]))
    values[states:] = sinks
    at_once = max(AT_ONCE // known.shape[1], 1)
    first = 0
    while first < states:
        last = max(int(np.searchsorted(ends, ends[first] + at_once, side="right")) - 1, first + 1)
        edges = slice(ends[first], ends[last])
        moved = known[layer.to[edges]]
        moved *= groups[layer.by[edges]]
        values[first:last] = _added(moved, ends[first : last + 1] - ends[first])
        first = last
    return values


def _added(rows: Floats, ends: Ints) -> Floats:
    """Rows added up from each end to the next."""
    counts = np.diff(ends)
    if len(counts) and (counts == counts[0]).all() and counts[0]:
        # Where all stretches are alike long, as mostly, numpy is several times as fast.
        found: Floats = rows.reshape(len(counts), counts[0], -1).sum(axis=1)
        return found
    return np.asarray(np.add.reduceat(rows, ends[:-1], axis=0))


def _split(
    graph: Graph, table: Table, now: Floats, after: Floats, first: Layer, seen: int
) -> NextBall:
    groups = table.groups(graph)[first.by]
    share = groups @ table.weight
    won = (groups * after) @ table.weight
    total = min(max(float(now @ table.weight), 0.0), 1.0)
    helps = won >= (total - 1e-12) * share
    shots = [outcome for group in first.by[helps].tolist() for outcome in graph.members(group)]
    return NextBall(
        Chance(total, not table.drawn, seen, table.error(now), _sure(total, now, table.weight)),
        _given(won, share, helps),
        _given(won, share, ~helps),
        _furthest(graph.ask(first.states[0]), shots),
    )


def _sure(total: float, now: Floats, weight: Floats) -> Band | None:
    """The interval of a chance from its value under each law; it holds the chance itself."""
    if len(now) == 1:
        return None
    _, low, high = quantiles(now, weight)
    return Band(total, max(min(low, total), 0.0), min(max(high, total), 1.0))


def _given(won: Floats, share: Floats, which: NDArray[np.bool_]) -> float | None:
    whole = float(share[which].sum())
    return min(float(won[which].sum()) / whole, 1.0) if whole > 0.0 else None


def _furthest(ask: Ask, helping: list[Outcome]) -> Decimal | None:
    if ask.asks == "verdict":
        return None
    carry = ask.aim.carry or Decimal(0)
    sizes = (_from(carry, o.shot, ask.direction) for o in helping)
    return max((size for size in sizes if size is not None), default=None)


def _from(carry: Decimal, shot: Shot, direction: Direction) -> Decimal | None:
    """How far a ball was off: its call, else the carry aimed at, else the aim."""
    if shot.off_call is not None:
        return shot.off_call.size
    return abs(shot.carry - carry) if shot.carry is not None else shot.miss(direction)


def _rolled(
    game: AnyGame,
    state: Any,
    table: Table,
    settled: Callable[[Score, bool], bool | None],
    rollouts: int,
    seed: int,
) -> NextBall:
    """Play the game out many times, patterns drawn evenly by weight.

    Which balls help is judged on every second rollout, and what they do to the chance is taken
    from the others, so that the choice does not flatter the figure. Numbers have too many first
    balls for that: there both are `None`.
    """
    rng = random.Random(seed)
    places = (np.arange(rollouts) + rng.random()) / rollouts
    drawn = np.searchsorted(np.cumsum(table.weight), places * table.weight.sum()).tolist()
    rng.shuffle(drawn)
    rolling = Rolling(table, settled)
    start = rolling.stop(state)
    firsts: list[int] = []
    results: list[float] = []
    balls = 0
    for pattern in drawn:
        if balls >= ROLLED:
            break
        pattern = min(pattern, len(table.weight) - 1)
        now = start
        for ball in range(LONGEST):
            place = bisect_right(now.reached[pattern], rng.random())
            if ball == 0:
                firsts.append(place)
            now = rolling.ball(now, place)
            balls += 1
            if now.result is not None:
                break
        results.append(0.5 if now.result is None else float(now.result))
    total = _estimate(results, len(rolling))
    if asker(game)(state).asks != "verdict":
        return NextBall(total, None, None, None)
    count, half = len(start.outcomes), slice(1, None, 2)
    tried = np.bincount(firsts[half], minlength=count).astype(float)
    held = np.bincount(firsts[half], results[half], minlength=count)
    helps = held * sum(tried) >= sum(results[half]) * tried
    half = slice(0, None, 2)
    share_of = np.bincount(firsts[half], minlength=count).astype(float)
    won_of = np.bincount(firsts[half], results[half], minlength=count).astype(float)
    return NextBall(total, _given(won_of, share_of, helps), _given(won_of, share_of, ~helps), None)


def _estimate(results: list[float], seen: int) -> Chance:
    """From rollouts, 1 for won, 0 for lost, 0.5 for one left open, which may be either.

    One more of each, so that "always" and "never" are not taken for certain.
    """
    count, left = len(results), results.count(0.5)
    share = (sum(results) + 1.0) / (count + 2.0)
    error = math.sqrt(share * (1.0 - share) / count) + left / 2.0 / count
    return Chance(share, False, seen, error)


def score_distribution(
    game: AnyGame, patterns: PatternsAt, state: Any = None, *, states: int | None = None
) -> dict[Score, float]:
    """The chance of every final score, from `state` or from the start, by the exact walk.

    A game is walked until less than 1e-12 is still in play, or until it has reached `states`
    states (unless given, 10,000 for an endless game and 100,000 for any other); what is still in
    play then is left out, so that much is missing from a sum of 1. In an endless game those runs
    go on beyond every score walked to. Raises ValueError where a pattern is missing.
    """
    found, weight, _ = final_scores(game, patterns, state, states=states)
    return {score: float(chances @ weight) for score, chances in found.items()}


class FinalScores(NamedTuple):
    """`score_distribution` under each of K plausible patterns apart, and their weights.

    drawn: the patterns are several and were drawn together, so that an average is an estimate.
    """

    found: dict[Score, Floats]
    weight: Floats
    drawn: bool


def final_scores(
    game: AnyGame,
    patterns: PatternsAt,
    state: Any = None,
    *,
    states: int | None = None,
    aside: float = 0.0,
) -> FinalScores:
    """`score_distribution` under each plausible pattern apart.

    aside: how much of the chance may be left out with the states that are hardly ever reached.
    """
    graph = graph_of(game)
    asks = dict.fromkeys(asks_of(game))
    with graph.lock:
        start = graph.number(game.start() if state is None else state)
        while True:
            table = Table(game, tuple(asks), patterns, POINTS[1])
            try:
                return FinalScores(
                    _ends(graph, start, table, states, aside), table.weight, table.drawn
                )
            except Grown:
                known = len(asks)
                asks.update(dict.fromkeys(graph.asks))
                if len(asks) == known:
                    raise


def _ends(
    graph: Graph, start: int, table: Table, states: int | None, aside: float
) -> dict[Score, Floats]:
    most = states or (STATES if graph.game.endless else 10 * STATES)
    found: dict[Score, Floats] = {}
    mass = np.ones((1, len(table.weight)))
    if graph.over[start]:
        return {graph.scores[start]: mass[0]}
    now, seen = [start], {start}
    while now and len(seen) <= most:
        if float(mass.sum(axis=0) @ table.weight) < REMAINDER:
            break
        sinks: dict[Any, int] = {}
        layer, now = graph.layer(
            now, lambda at: (graph.scores[at],) if graph.over[at] else None, sinks
        )
        seen.update(now)
        reached = _flow(layer, mass, table.groups(graph), len(now), len(sinks))
        for (score,), place in sinks.items():
            found[score] = found.get(score, 0.0) + reached[-1 - place]
        mass = reached[: len(now)]
        if aside > 0.0 and now:
            shares = mass @ table.weight
            order = np.argsort(shares)
            # Of what may be left out each ball takes a part, so that some remains for the last.
            fewest = int(np.searchsorted(np.cumsum(shares[order]), aside * LEFT_OUT_NOW))
            left = order[:fewest]
            aside -= float(shares[left].sum())
            kept = np.sort(order[fewest:])
            now, mass = [now[at] for at in kept], mass[kept]
    return found
