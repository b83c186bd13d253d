"""Records are found by fingerprint: those of drills with one station stay what they were."""

from __future__ import annotations

import json
from pathlib import Path

from drillrunner.catalogue.drill import build, from_stored
from drillrunner.rules import AnyGame
from tests.shipped import CATALOGUE

FROZEN = Path(__file__).parent / "frozen_fingerprints.jsonl"
"""A line a drill: its fingerprint, and the document that made it. Written once, never anew.

The first eight are the bundled drills of that day; the rest were drawn over every game, aim,
setting, unit and step, with clubs, swings and balls in between.
"""


def _game(id: str) -> tuple[type[AnyGame], str]:
    return CATALOGUE.games[id].cls, CATALOGUE.games[id].hash


def test_fingerprints_never_change() -> None:
    frozen = [json.loads(line) for line in FROZEN.read_text(encoding="utf-8").splitlines()]
    assert len(frozen) == 208
    for fingerprint, document in frozen:
        drill = build(document, _game, None, "frozen")
        assert drill.fingerprint == fingerprint, document
        assert from_stored(drill.as_set(), *_game(document["game"])).fingerprint == fingerprint


def test_the_bundled_drills_of_that_day_are_still_themselves() -> None:
    lines = FROZEN.read_text(encoding="utf-8").splitlines()[:8]
    for fingerprint, document in map(json.loads, lines):
        assert CATALOGUE.drill(document["id"]).fingerprint == fingerprint
