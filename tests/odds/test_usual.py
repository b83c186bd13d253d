"""What the model's golfers reach is kept for every bundled drill, and is what it would be now."""

from __future__ import annotations

import json

import pytest

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.odds import usual as kept
from tests.odds.usual import drills

QUICK = "on-the-number hold-the-narrow-corridor miss-total-five putts-in-a-row"
"""Drills of different games that are worked out in a moment; all of them take seconds."""


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load([bundled("games")])


def test_every_drill_is_there_as_it_is_now() -> None:
    there = json.loads(kept.FILE.read_text("utf-8"))
    now = {drill.fingerprint: drill.game_hash for drill in drills()}
    assert {id: game for id, (game, _) in there.items()} == now, "python -m tests.odds.usual"


def test_what_is_kept_is_what_comes_out(catalogue: Catalogue) -> None:
    for id in QUICK.split():
        drill = catalogue.drill(id)
        assert kept.half_reach(drill) == kept.worked_out(drill), f"{id}: python -m tests.odds.usual"


def test_a_drill_as_set_otherwise_or_of_another_game_is_worked_out(
    catalogue: Catalogue, monkeypatch
) -> None:
    asked = []
    monkeypatch.setattr(kept, "worked_out", lambda drill: asked.append(drill) or 7)
    monkeypatch.setattr(kept, "_found", {})
    drill = catalogue.drill("hold-the-corridor")
    wide = drill.with_set(["aim.width=60"])
    assert [kept.half_reach(wide), kept.half_reach(wide)] == [7, 7]
    assert asked == [wide]
    kept.half_reach(drill)
    assert asked == [wide]
