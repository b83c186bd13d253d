"""The suite that every game must pass, driven by seeded random play.

It needs no test library, so that an author can run it on a game of their own with
`drillrunner check`.
"""

from __future__ import annotations

import copy
import dataclasses
import random
from collections.abc import Iterator, Sequence
from functools import lru_cache

from drillrunner.rules.game import AnyGame
from drillrunner.rules.keypad import ZONES, read
from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.rules.score import Score
from drillrunner.rules.shot import Shot
from drillrunner.rules.soundness import (
    Unsound,
    contained,
    file_of,
    hear,
    is_number,
    place,
    unsound,
)
from drillrunner.rules.station import Ask

LONGEST = 1000
"""Balls after which a game that says it ends is held not to."""

PROBED = 2000
"""How many balls beside the one that is played are tried in a play, state by state."""

UNDONE = 50
"""How many balls are taken back, one by one, at the end of a play."""

UNENDING = f"over: not reached in {LONGEST} balls, and endless is False"
REACHED_BEFORE = "after: a counted ball leads to a state that was reached before"
FALLS = "score: falls after a ball, or is None before the end"
ALIKE = "goes_by: two shots alike in it lead to different states"
MOVES = "station: changes without a ball"

TYPED = (*ZONES, "0", "+15", "-7", "-2.5", "12", "0.25", "64", "64:61", "60:72.5", "+", "-", "lost")
"""What a player may type beside the outcomes; what a game does not ask for is left out."""


def faults(game: AnyGame, seed: int = 1, plays: int = 20) -> list[str]:
    """Every way found in which a game breaks the contract, in words; empty if none.

    An exception raised by the game is a fault too, named with its type, message and line.
    """
    found: dict[str, None] = {}
    try:
        with contained():
            for fault in _all(game, seed, plays):
                found[fault] = None
    except Exception as error:
        line = place(error, file_of(type(game)))
        where = "" if line is None else f" (line {line})"
        found[f"raised {type(error).__name__}: {error}{where}"] = None
    return list(found)


def _all(game: AnyGame, seed: int, plays: int) -> Iterator[str]:
    yield from _settings(game)
    same = _Same(game)
    for play in range(plays):
        for fault in _play(game, random.Random(f"{seed}-{play}"), same):
            yield fault
            if fault == UNENDING:
                # More plays as long as this one would tell no more.
                return


@lru_cache(256)
def _shots(ask: Ask) -> tuple[Shot, ...]:
    """Every ball that can be played where this is asked."""
    return (*(outcome.shot for outcome in ask.outcomes()), *_typed(ask))


def _typed(ask: Ask) -> Iterator[Shot]:
    """Balls that the keypad takes and that no outcome stands for: side not seen, lost, between."""
    for text in TYPED:
        try:
            shot = read(text, ask).shot
        except Refused:
            continue
        if shot is not None:
            yield shot


def _settings(game: AnyGame) -> Iterator[str]:
    kind = type(game.settings)
    if not isinstance(game.settings, type(game).Settings):
        yield "settings: not of the class that the game names in Settings"
    if kind.model_validate_json(game.settings.model_dump_json()) != game.settings:
        yield "settings: do not survive a round trip through JSON"


class _Same:
    """Whether states that compare equal are the same to the game, however they were reached.

    The odds walk equal states as one: a field that does not compare, or something kept beside the
    state, would make them wrong.
    """

    def __init__(self, game: AnyGame) -> None:
        self.game = game
        self._facts: dict[object, object] = {}
        self._asks: dict[object, object] = {}
        self._next: dict[object, object] = {}

    def state(self, state: object) -> Iterator[str]:
        """Compare what the game says of this state with what it said of an equal one."""
        over = self.game.over(state)
        facts = self.game.score(state), over, self.game.ended(state)
        if self._facts.setdefault(state, facts) != facts:
            yield "state: two that are equal differ in score or end"
        if not over:
            ask = self.game.asked(state)
            if self._asks.setdefault(state, ask) != ask:
                yield "station: no function of the state: two that are equal differ in it"

    def ball(self, state: object, shot: Shot, after: object) -> Iterator[str]:
        """Compare where this ball leads with where it led from an equal state."""
        if self._next.setdefault((state, shot), after) != after:
            yield "state: two that are equal lead on to different ones"


def _probe(
    game: AnyGame, state: object, shots: Sequence[Shot], seen: set[object], same: _Same
) -> Iterator[str]:
    """The promise for every ball that could be played from a state."""
    before, ask = game.score(state), game.asked(state)
    alike: dict[object, object] = {}
    for shot in shots:
        after = game.after(state, shot)
        if alike.setdefault(game.goes_by(ask, shot), after) != after:
            yield ALIKE
        if after in seen:
            yield REACHED_BEFORE
        if not _kept(game, before, game.score(after), game.over(after)):
            yield FALLS
        yield from same.state(after)
        yield from same.ball(state, shot, after)


def _play(game: AnyGame, rng: random.Random, same: _Same) -> Iterator[str]:
    """One random run. Some plays favour few outcomes, so that rare ends are reached."""
    state = game.start()
    if state != game.start():
        yield "start: two calls give different states"
    yield from _state(game, state)
    if game.over(state):
        yield "over: before the first ball"
    states = [state]
    seen = {state}
    weights: dict[Ask, list[float]] = {}
    played: list[Shot] = []
    probes = PROBED
    while not game.over(state):
        if len(played) >= (200 if game.endless else LONGEST):
            if not game.endless:
                yield UNENDING
            break
        ask = game.asked(state)
        shots = _shots(ask)
        if ask not in weights:
            weights[ask] = [rng.random() ** rng.choice((1, 8, 30)) for _ in shots]
        shot = rng.choices(shots, weights[ask])[0]
        before, hash_before = copy.deepcopy(state), hash(state)
        after = game.after(state, shot)
        if state != before or hash(state) != hash_before:
            yield "after: changes the state that it was given"
        if after != game.after(state, shot):
            yield "after: the same state and shot give different states"
        if game.asked(state) != ask:
            yield MOVES
        tried = shots if probes >= len(shots) else (shot,)
        probes -= len(shots)
        yield from _probe(game, state, tried, seen, same)
        yield from _state(game, after)
        seen.add(after)
        states.append(after)
        played.append(shot)
        state = after
    yield from _replay(game, played, states)


def _state(game: AnyGame, state: object) -> Iterator[str]:
    if not dataclasses.is_dataclass(state) or isinstance(state, type):
        yield "state: not a dataclass"
        return
    hash(state)
    try:
        for field in dataclasses.fields(state):
            setattr(state, field.name, getattr(state, field.name))
            yield "state: its dataclass is not frozen"
            break
    except dataclasses.FrozenInstanceError:
        pass
    over = game.over(state)
    if over != game.over(state):
        yield "over: two calls differ"
    heard = hear(game, state)
    yield from unsound(game, heard)
    if not over and game.asked(state) != heard.ask:
        yield MOVES


def _kept(game: AnyGame, before: Score, after: Score, over: bool) -> bool:
    """Whether the promise holds over one ball; what is no number is told by `unsound`."""
    if after is None:
        return over and game.better == "lower"
    if before is None:
        return False
    return not (is_number(before) and is_number(after)) or after >= before


def _replay(game: AnyGame, played: Sequence[Shot], states: Sequence[object]) -> Iterator[str]:
    try:
        run = Run.fold(game, [Entry(Kind.SHOT, "", shot) for shot in played])
    except Unsound:
        # Told already, state by state.
        return
    if run.state != states[-1]:
        yield "fold: the same entries give another state"
    for state in reversed(states[-UNDONE - 1 : -1]):
        run = run.add(Entry(Kind.UNDO))
        if run.state != state:
            yield "fold: taking a ball back does not lead back to the state before it"
