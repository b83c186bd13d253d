"""A hole as a player types it: the inverse of what the number block makes of the keys."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from drillrunner.rules.card import Form, HolePlayed
from drillrunner.rules.card_keys import LIE_SIGNS, RESULT_KEYS, TEE_KEYS
from drillrunner.rules.units import text

WITH_ENTER = {"approach", "left", "putt", "score"}
MOST_SIGNS = 2
"""How many strokes earlier or later than usual the one meant for the green can be typed."""


def answers_of(hole: HolePlayed, par: int, form: Form = "full") -> Iterator[tuple[str, str]]:
    """What is asked of a hole and what somebody answers, Enter alone left out.

    The score is typed only where it does not follow.
    """
    if form == "full":
        yield from _before_the_green(hole, par)
    if form != "score":
        yield "putt", _length(hole.putt)
        if not (hole.putts == 0 and hole.putt is None and hole.off):
            yield "putts", str(hole.putts)
    follows = form == "full" and hole.likely_score(par) == hole.score
    yield "score", "" if follows else str(hole.score)


def _before_the_green(hole: HolePlayed, par: int) -> Iterator[tuple[str, str]]:
    usual = replace(hole, number=None).strokes_before(par) + 1
    by = (hole.number or usual) - usual
    later = hole.all_penalties
    if par > 3:
        later -= hole.tee_penalties
        tees = {means: key for key, means in TEE_KEYS.items()} | {"penalty": "01", "lost": "02"}
        yield "tee", tees[hole.tee] if hole.tee else ""
        sign = "+" * by if by > 0 else "-" * -by
        yield "approach", "" if hole.approach is None else f"{sign}{text(hole.approach)}"
    results = {means: key for key, means in RESULT_KEYS.items()}
    again = by if par == 3 else 0
    for penalty in ("02",) * again + ("01",) * (later - again):
        yield "penalty", penalty
    yield "result", results[hole.result] if hole.result else ""
    if hole.off:
        signs = {lie: sign for sign, lie in LIE_SIGNS.items()}
        yield "left", f"{signs[hole.lie or 'rough']}{_length(hole.left)}"


def _length(length: Decimal | None) -> str:
    return "" if length is None else text(length)


def keys_of(hole: HolePlayed, par: int) -> str:
    """The keys with which somebody types a whole hole; `!` is Enter."""
    return "".join(
        f"{answer}!" if asked in WITH_ENTER or not answer else answer
        for asked, answer in answers_of(hole, par)
    )


def typeable(hole: HolePlayed, par: int) -> bool:
    """Whether few enough signs say which stroke was meant for the green."""
    usual = replace(hole, number=None).strokes_before(par) + 1
    return abs((hole.number or usual) - usual) <= MOST_SIGNS
