"""How a chance is said, on every screen and page. Pure; numpy stays out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillrunner.odds.pattern import Band


def share(chance: float) -> str:
    """A chance in whole per cent; only what is certain is 0 or 100 %."""
    return f"{chance * 100:.0f} %" if chance in (0.0, 1.0) else f"{uncertain(chance)} %"


def uncertain(chance: float) -> str:
    """Per cent, without the sign, of what follows from a pattern: it makes nothing certain."""
    if chance < 0.005:
        return "<1"
    return ">99" if chance >= 0.995 else f"{chance * 100:.0f}"


def band(found: Band) -> str:
    """A chance with its 80 % interval: `41 % (33 to 49)`."""
    median, low, high = map(uncertain, (found.median, found.low, found.high))
    return f"{median} % ({low} to {high})"


def no_change(percent: int) -> str:
    """That a larger change of the scores is ruled out."""
    return f"no change of more than {percent} %"
