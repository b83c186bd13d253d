"""A player's rounds as they lie in the store, folded: what needs, index and plan are read from."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.practice.rounds.handicap import USUAL, Options
from drillrunner.practice.rounds.played import PlayedRound, PlayerRounds, TypedIndexes, together
from drillrunner.rules.units import convert
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

if TYPE_CHECKING:
    from drillrunner.odds.strokes.needs import CardHole


def player_rounds(store: Store, player: PlayerInfo, options: Options = USUAL) -> PlayerRounds:
    """All rounds of a player in the order in which they were played, and their record.

    Raises StoreError. A round that can't be read is left out, and named among the damaged.
    """
    return together(store.rounds.of(player.id), typed_indexes(store, player), options)


def typed_indexes(store: Store, player: PlayerInfo) -> TypedIndexes:
    """The handicap indexes that were typed, by local day, oldest first."""
    return [(at.date(), index) for at, index in store.handicaps(player.id)]


def current_index(store: Store, player: PlayerInfo, options: Options = USUAL) -> Decimal | None:
    """The index worked out from the rounds, else the one typed; `None` without either."""
    return player_rounds(store, player, options).index


def told_rounds(rounds: PlayerRounds, latest: int | None = None) -> tuple[PlayedRound, ...]:
    """The rounds that tell where strokes went, oldest first: finished, and not the score alone."""
    telling = [
        one
        for one in rounds.rounds
        if one.card.finished and not one.card.out and one.form != "score"
    ]
    return tuple(telling if latest is None else telling[-latest:])


def card_holes(one: PlayedRound) -> tuple[CardHole, ...]:
    """The holes of a round as the split of the strokes takes them, lengths in yards."""
    from drillrunner.odds.strokes.needs import CardHole

    if one.course is None or one.tee is None:
        return ()
    yards = float(convert(Decimal(1), one.course.unit, "yd"))
    return tuple(
        CardHole(
            one.course.holes[number - 1].par,
            one.course.yards(number, one.tee),
            one.card.holes[number],
            yards,
        )
        for number in one.numbers
        if number in one.card.holes
    )


def cards(rounds: Iterable[PlayedRound]) -> tuple[tuple[CardHole, ...], ...]:
    """`card_holes` of each."""
    return tuple(map(card_holes, rounds))
