"""The promise, on every bundled game: no ball lowers the score or leads back."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.rules import AnyGame, Shot, beats
from drillrunner.rules.conformance import faults
from tests.rules.bundled import IDS, name, variants
from tests.rules.test_run import possible

GAMES = variants()


def test_there_are_games() -> None:
    assert {"lives", "miss_total", "on_the_number"} <= set(IDS)
    assert len(IDS) >= 4


@cache
def balls(game: AnyGame) -> st.SearchStrategy[list[Shot]]:
    shots = [entry.shot for entry in possible(game) if entry.shot]
    shots += [outcome.shot for outcome in game.outcomes()]
    return st.lists(st.sampled_from(shots), min_size=1, max_size=60)


@pytest.mark.parametrize("game", GAMES, ids=name)
@settings(max_examples=40)
@given(data=st.data())
def test_the_promise(game: AnyGame, data: st.DataObject) -> None:
    state = game.start()
    reached = {state}
    assert not game.over(state)
    for shot in data.draw(balls(game)):
        if game.over(state):
            break
        score, after = game.score(state), game.after(state, shot)
        assert after not in reached
        reached.add(after)
        assert score is not None
        now = game.score(after)
        if now is None:
            assert game.better == "lower"
            assert game.over(after)
        else:
            assert now >= score
        assert (game.ended(after) is not None) == game.over(after)
        state = after


@pytest.mark.parametrize("game", GAMES, ids=name)
def test_every_bundled_game_passes_the_suite(game: AnyGame) -> None:
    assert faults(game) == []


def test_what_beats_what() -> None:
    assert beats("higher", 10, 9)
    assert not beats("higher", 9, 9)
    assert beats("lower", 8, 9)
    assert not beats("lower", 9, 9)
    assert not beats("lower", None, 9)
    assert beats("lower", 9, None)
    assert not beats("lower", None, None)
