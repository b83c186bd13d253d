"""How a chance is said, on every screen and page. Pure; numpy stays out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillrunner.odds.pattern import Band
    from drillrunner.odds.reading import AimOff, Counted
    from drillrunner.rules.shot import Direction


def share(chance: float) -> str:
    """A chance in whole per cent; only what is certain is 0 or 100 %."""
    return f"{chance * 100:.0f} %" if chance in (0.0, 1.0) else f"{uncertain(chance)} %"


def uncertain(chance: float) -> str:
    """Per cent, without the sign, of what follows from a pattern: it makes nothing certain."""
    if chance < 0.005:
        return "<1"
    return ">99" if chance >= 0.995 else f"{chance * 100:.0f}"


def surely(chance: float, sure: Band | None) -> str:
    """A chance, with its 80 % interval where there is one."""
    return share(chance) if sure is None else band(sure._replace(median=chance))


def band(found: Band) -> str:
    """A chance with its 80 % interval: `41 % (33 to 49)`."""
    median, low, high = map(uncertain, (found.median, found.low, found.high))
    return f"{median} % ({low} to {high})"


def no_change(percent: int) -> str:
    """That a larger change of the scores is ruled out."""
    return f"no change of more than {percent} %"


DENIED = "≠"
"""Marks a count that a chance does not agree with."""


def aim_beside(found: AimOff, direction: Direction) -> str:
    """Where to aim and what it brings: `aim 8 left: 64 % for 52 %`."""
    low, high = ("left", "right") if direction == "lateral" else ("short", "long")
    side = low if found.off < 0 else high
    return f"aim {abs(found.off)} {side}: {share(found.holds)} for {share(found.straight)}"


def count_of(found: Counted) -> str:
    """A raw count: `27 of 40`, marked where the pattern does not agree with it."""
    return f"{found.inside} of {found.of}" + (f" {DENIED}" if found.off else "")


def more_words(more: int | None) -> str | None:
    """How many more balls make a chance useful; `None` where it is already."""
    if more is None:
        return "it stays rough: you change too fast"
    if more == 0:
        return None
    return f"{more} more ball{'' if more == 1 else 's'}: sure to 10 points"
