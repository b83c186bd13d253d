"""Whether a score can still be bettered at all, by any play, however lucky. Pure."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import count
from typing import Any

from drillrunner.rules.game import AnyGame
from drillrunner.rules.score import Score, beats

MOST = 500
"""States looked at before it is taken that the score can be beaten."""


def can_beat(game: AnyGame, best: Score, most: int = MOST) -> bool:
    """Whether some play of a game ends with a better score than `best`.

    The promise that a score never falls cuts the search: where a low score is better, a state that
    has reached the best is given up; where a high one is, a state beyond it has done it. The most
    promising states come first. True where `most` states do not settle it.
    """
    low = game.better == "lower"
    places = count()
    waiting: list[tuple[float, int, Any]] = []
    seen = set()

    def note(state: Any) -> None:
        score = game.score(state)
        hopeless = low and not game.over(state) and score is not None and not _below(score, best)
        if state not in seen and not hopeless:
            seen.add(state)
            worth = 0.0 if score is None else float(score)
            # Of equally good ones the latest found: a run has to end.
            heappush(waiting, (worth if low else -worth, -next(places), state))

    note(game.start())
    while waiting:
        _, _, state = heappop(waiting)
        if (game.over(state) or not low) and beats(game.better, game.score(state), best):
            return True
        if len(seen) > most:
            return True
        if not game.over(state):
            for outcome in game.outcomes():
                note(game.after(state, outcome.shot))
    return False


def _below(score: Score, best: Score) -> bool:
    return best is None or (score is not None and score < best)
