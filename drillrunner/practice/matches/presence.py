"""Who is there in a match between bays: a screen that is there counts up, one that has gone does
not. Clocks of different machines are never compared."""

from __future__ import annotations

from collections.abc import Callable, Iterable

GONE = 15.0
"""Seconds without a beat after which somebody counts as away."""


class Presence:
    """clock: seconds that only go forward, of this machine."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._heard: dict[str, tuple[int, float]] = {}

    def away(self, beats: Iterable[tuple[str, int | None]]) -> frozenset[str]:
        """Who is away, by what each has counted up to by now; `None` is who said that they go."""
        now, gone = self._clock(), set()
        for player, count in beats:
            before = self._heard.get(player)
            if count is None:
                self._heard.pop(player, None)
                gone.add(player)
            elif before is None or before[0] != count:
                self._heard[player] = count, now
            elif now - before[1] > GONE:
                gone.add(player)
        return frozenset(gone)
