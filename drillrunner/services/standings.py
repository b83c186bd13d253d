"""The matches in the store that count for standings."""

from __future__ import annotations

from collections.abc import Iterator

from drillrunner.practice.matches.record import MatchRecord
from drillrunner.practice.matches.standings import DecidedMatch
from drillrunner.store.store import Store


def decided(store: Store) -> Iterator[DecidedMatch]:
    """The matches that count, as they lie in the store. One that can't be read is left out."""
    for info in store.matches():
        try:
            record = MatchRecord.of(info.data)
        except ValueError:
            continue
        seats = {seat.place: seat.player for seat in info.players}
        played = DecidedMatch.of(info.drill, info.started, seats, record)
        if played is not None:
            yield played
