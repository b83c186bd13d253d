"""A player's typical score on a drill as set."""

from __future__ import annotations

from drillrunner.practice.looking_back.progress import points, typical
from drillrunner.rules.score import Score
from drillrunner.store.store import Store

NEWEST = 1000
"""Of so many of the latest runs."""


def typical_score(store: Store, player_id: str, fingerprint: str) -> Score:
    """The score that half of the player's finished runs reach, if there is one."""
    runs = store.history(None, player_id, NEWEST, fingerprint=fingerprint)
    if not runs:
        return None
    return typical((point.run.score for point in points(runs)), runs[0].better)
