"""A game's number, and which of two is the better one."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

Better = Literal["higher", "lower"]
Score = Decimal | int | None
"""A game's number; `None` is a run that ended without one, which beats nothing."""


def beats(better: Better, score: Score, other: Score) -> bool:
    """Whether a finished score is strictly better than another; `None` beats nothing."""
    if score is None:
        return False
    if other is None:
        return True
    return score > other if better == "higher" else score < other
