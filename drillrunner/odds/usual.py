"""What half of the rating model's bogey golfers reach on a drill: the same for everybody.

Of the bundled drills it lies beside this file, worked out by `python -m tests.odds.usual`: all of
them together take seconds, and every phone of a range would take them anew.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

from drillrunner.catalogue.drill import Drill
from drillrunner.odds.desk import bag_of, middle

FILE = Path(__file__).with_name("usual.json")

_found: dict[tuple[str, str], Decimal] = {}


def half_reach(drill: Drill) -> Decimal:
    """That score; worked out where it is not known. Raises as `Drill.game`."""
    key = (drill.fingerprint, drill.game_hash)
    if key not in _found:
        game, score = _kept().get(drill.fingerprint, ("", ""))
        known = game == drill.game_hash
        _found[key] = Decimal(score) if known else worked_out(drill)
    return _found[key]


def worked_out(drill: Drill) -> Decimal:
    """The same, from nothing."""
    return middle(drill.game(), bag_of(None, None))


@lru_cache(maxsize=1)
def _kept() -> Mapping[str, tuple[str, str]]:
    """The hash of the game and the score, by the fingerprint of a drill."""
    return {id: (game, score) for id, (game, score) in json.loads(FILE.read_text("utf-8")).items()}
