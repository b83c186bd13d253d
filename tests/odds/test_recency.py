"""The half-life against the two obvious ways of weighing, over players who stay, drift, jump."""

from __future__ import annotations

from drillrunner.odds.pattern import HALF_LIFE
from tests.odds.recency import table, ways


def test_the_half_life_beats_all_alike_and_the_last_fifty() -> None:
    used = f"half-life {HALF_LIFE:g}"
    assert HALF_LIFE >= 20
    found = table(players=120, seed=2, only=(used, "all alike", "last 50 only"))
    assert found.together(used) > found.together("all alike")
    assert found.together(used) > found.together("last 50 only")


def test_it_is_one_of_those_compared() -> None:
    assert f"half-life {HALF_LIFE:g}" in ways()
