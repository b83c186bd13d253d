"""A round in words, the same on the screens, on the command line and on the page."""

from __future__ import annotations

from decimal import Decimal

from drillrunner.practice.rounds.played import NINE, PlayedRound

NOT_THE_CLUBS = "Worked out here; the index that your club keeps is the one that counts."

WAITS = "nine holes wait for nine others: the two make one score"
NO_RATING = (
    "no differential: of these holes no rating is known, so type the one that the club shows"
)


def index_text(index: Decimal | None) -> str:
    """An index as it is written: `18.4`, `+1.2`; empty for none."""
    if index is None:
        return ""
    return f"+{-index}" if index < 0 else str(index)


def comes_to(one: PlayedRound) -> str:
    """Score and differential of a round, or why there is none."""
    return "; ".join(part for part in (_score(one), in_the_record(one)) if part)


def _score(one: PlayedRound) -> str:
    if one.gross is None:
        return "no score" if one.card.finished else f"{one.told} of {one.count} holes"
    if one.adjusted != one.gross:
        return f"{one.gross}, of which {one.adjusted} count (net double bogey)"
    return str(one.gross)


def in_the_record(one: PlayedRound) -> str:
    """Whether it counts for the index, and with what; empty where it is plain to see."""
    if one.card.out:
        return "taken out"
    if not one.card.finished:
        return "not finished"
    if one.waits:
        return WAITS
    if one.exact is None:
        return NO_RATING
    if one.half and one.differential is None:
        return "together with a later nine"
    shown = ", as the club shows it" if one.card.shown is not None else ""
    nine = ", of two nines" if one.half and one.count == NINE else ""
    return f"differential {one.differential}{shown}{nine}"
