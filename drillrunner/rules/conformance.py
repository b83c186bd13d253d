"""The suite that every game must pass, driven by seeded random play.

It needs no test library, so that an author can run it on a game of their own with
`drillrunner check`.
"""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator
from decimal import Decimal

from drillrunner.rules.game import AnyGame, Score
from drillrunner.rules.run import Entry, Kind, Run
from drillrunner.rules.shot import Shot

LONGEST = 2000
"""Balls after which a game that says it ends is held not to."""


def faults(game: AnyGame, seed: int = 1, plays: int = 20) -> list[str]:
    """Every way found in which a game breaks the contract, in words; empty if none.

    An exception raised by the game is a fault too, named with its type and message.
    """
    found: dict[str, None] = {}
    try:
        found.update(dict.fromkeys(_settings(game)))
        shots = [outcome.shot for outcome in game.outcomes()]
        for play in range(plays):
            rng = random.Random(f"{seed}-{play}")
            found.update(dict.fromkeys(_play(game, shots, rng)))
    except Exception as error:
        found[f"raised {type(error).__name__}: {error}"] = None
    return list(found)


def _settings(game: AnyGame) -> Iterator[str]:
    kind = type(game.settings)
    if not isinstance(game.settings, type(game).Settings):
        yield "settings: not of the class that the game names in Settings"
    if kind.model_validate_json(game.settings.model_dump_json()) != game.settings:
        yield "settings: do not survive a round trip through JSON"


def _play(game: AnyGame, shots: list[Shot], rng: random.Random) -> Iterator[str]:
    """One random run. Some plays favour few outcomes, so that rare ends are reached."""
    state = game.start()
    if state != game.start():
        yield "start: two calls give different states"
    yield from _state(game, state)
    seen = {state}
    weights = [rng.random() ** rng.choice((1, 8, 30)) for _ in shots]
    played: list[Shot] = []
    while not game.over(state):
        if len(played) >= (200 if game.endless else LONGEST):
            if not game.endless:
                yield f"over: not reached in {LONGEST} balls, and endless is False"
            break
        shot = rng.choices(shots, weights)[0]
        before, hash_before = dataclasses.replace(state), hash(state)
        after = game.after(state, shot)
        if state != before or hash(state) != hash_before:
            yield "after: changes the state that it was given"
        if after != game.after(state, shot):
            yield "after: the same state and shot give different states"
        if after in seen:
            yield "after: a counted ball leads to a state that was reached before"
        if not _kept(game, game.score(state), game.score(after), game.over(after)):
            yield "score: falls after a ball, or is None before the end"
        yield from _state(game, after)
        seen.add(after)
        played.append(shot)
        state = after
    yield from _replay(game, played, state)


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
    readout = game.readout(state)
    if not readout or not all(isinstance(label, str) and label for label in readout):
        yield "readout: empty, or without labels"
    over = game.over(state)
    if over != game.over(state):
        yield "over: two calls differ"
    if (game.ended(state) is not None) != over:
        yield "ended: expected a reason exactly when the game is over"
    if over and game.score(state) is None and game.better == "higher":
        yield "score: None at the end, which only a lower-is-better game may have"


def _kept(game: AnyGame, before: Score, after: Score, over: bool) -> bool:
    """Whether the promise holds over one ball."""
    if after is None:
        return over and game.better == "lower"
    return before is not None and after >= before and Decimal(after).is_finite()


def _replay(game: AnyGame, played: list[Shot], state: object) -> Iterator[str]:
    entries = [Entry(Kind.SHOT, "", shot) for shot in played]
    run = Run.fold(game, entries)
    if run.state != state:
        yield "fold: the same entries give another state"
    for _ in played:
        run = run.add(Entry(Kind.UNDO))
    if run.state != game.start():
        yield "fold: undoing every ball does not lead back to the start"
