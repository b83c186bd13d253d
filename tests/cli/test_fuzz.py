"""Fuzzed entries and tallies: taken, or refused in a line without any change."""

from __future__ import annotations

import pytest

from drillrunner.catalogue.drill import Drill
from tests.cli.fuzzed import DRILLS, entries, tallies

EACH = 250
"""Of a drill; `python -m tests.cli.fuzzed` tries many more."""


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.id)
def test_an_entry_is_taken_or_refused_and_a_refused_one_changes_nothing(drill: Drill) -> None:
    taken, refused = entries(drill, EACH)
    assert taken + refused == EACH
    assert taken > EACH / 20
    assert refused > EACH / 20


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.id)
def test_a_fuzzed_tally_is_scored_or_refused_by_position(drill: Drill) -> None:
    tallies(drill, 50)
