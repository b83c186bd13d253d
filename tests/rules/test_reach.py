"""Whether a score can be bettered, against what each game allows by its own arithmetic."""

from __future__ import annotations

from decimal import Decimal

import pytest

from drillrunner.rules import Aim
from drillrunner.rules.reach import can_beat
from tests.rules.bundled import make


@pytest.mark.parametrize(
    ("stem", "settings", "end"),
    [
        ("in_a_row", {"length": 3, "limit": 20}, 3),
        ("in_a_row", {"length": 5, "limit": 60}, 5),
        ("miss_total", {"balls": 10, "cap": Decimal(60)}, 0),
        ("lives", {"lives": 3, "balls": 10}, 10),
    ],
)
def test_the_best_that_there_is_can_not_be_beaten(
    stem: str, settings: dict[str, object], end: int
) -> None:
    game = make(stem, **settings)
    worse = end - 1 if game.better == "higher" else end + 1
    assert not can_beat(game, Decimal(end))
    assert can_beat(game, Decimal(worse))
    assert can_beat(game, None)


def test_a_game_without_an_end_can_always_be_beaten() -> None:
    assert can_beat(make("lives", Aim(width=Decimal(30))), Decimal(1000))
