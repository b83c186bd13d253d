"""The odds of a match, worked out in a thread: everyone's chance to win, and dials that fit.

numpy and all of `drillrunner.odds` are imported only inside a question, as in `odds_worker`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from drillrunner.app.odds_worker import Follower, backdrop, patterns_of, what_it_rests_on
from drillrunner.practice.matches.match import BoardLine, Turn
from drillrunner.rules import Run

if TYPE_CHECKING:
    from drillrunner.odds.desk import Behind
    from drillrunner.odds.fair import Fair, Finals
    from drillrunner.services.match_desk import MatchDesk, Seat
    from drillrunner.store.journal import Playing
    from drillrunner.store.store import Store


@dataclass(frozen=True)
class MatchMoment:
    """A match at one moment, for a question.

    runs: everyone's own; of who is not here, the whole of it. playings: of those who are here.
    """

    lines: tuple[BoardLine, ...]
    runs: Mapping[str, Run]
    playings: Mapping[str, Playing]
    up: str
    span: Decimal

    @classmethod
    def of(cls, desk: MatchDesk, span: Decimal) -> MatchMoment:
        """How a match stands now. span: half the width of the target's picture."""
        runs, playings = {}, {}
        for entrant in desk.match.entrants:
            if entrant.balls is None:
                runs[entrant.id] = desk.match.runs[entrant.id][0]
                playings[entrant.id] = desk.playing(Turn(entrant.id))
            else:
                runs[entrant.id] = Run.fold(entrant.game, entrant.balls, tally=True)
        return cls(desk.board, runs, playings, desk.up.player, span)


@dataclass(frozen=True)
class MatchTold:
    """What the odds say. chances: to win, by player. exact: none of them is an estimate.

    density: see `target.draw`. guess, shots: what the figure of the player to play rests on.
    """

    chances: Mapping[str, float]
    exact: bool
    density: tuple[float, ...] | None
    guess: bool
    shots: int


class MatchFollower:
    """Everyone's picture, followed ball by ball. One thread at a time."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._followers: dict[str, Follower] = {}
        self._known: dict[str, tuple[Any, Finals]] = {}

    def tell(self, at: MatchMoment) -> MatchTold:
        """What the odds say of a match that stands so. Raises StoreError."""
        from drillrunner.odds import desk
        from drillrunner.odds.fair import shares

        everyone = [self._finals(line, at) for line in at.lines]
        chances = dict(zip((line.entrant.id for line in at.lines), shares(everyone), strict=True))
        run = at.runs[at.up]
        bag = self._follower(at.playings[at.up]).bag(run)
        return MatchTold(
            chances,
            all(one.exact for one in everyone),
            backdrop(bag, run.ask, at.span),
            *desk.rests_on(run.game, bag),
        )

    def _follower(self, playing: Playing) -> Follower:
        if playing.player.id not in self._followers:
            self._followers[playing.player.id] = Follower(self._store, playing)
        return self._followers[playing.player.id]

    def _finals(self, line: BoardLine, at: MatchMoment) -> Finals:
        from drillrunner.odds.fair import finals, settled

        player, game = line.entrant.id, line.entrant.game
        run = at.runs[player]
        if run.over or not line.present:
            # A total that was not finished is no score; of a high score what there is stands.
            stands = run.finished or game.better == "higher"
            return settled(run.score if stands else None, game.better)
        key = (run.state, run.shots)
        known = self._known.get(player)
        if known is None or known[0] != key:
            bag = self._follower(at.playings[player]).bag(run)
            known = key, finals(game, bag, run.state)
            self._known[player] = known
        return known[1]


@dataclass(frozen=True)
class Fitted:
    """A fair fight for these players. behind: what the figure of each rests on."""

    fair: Fair
    behind: tuple[Behind, ...]


def fit_all(store: Store, seats: Sequence[Seat]) -> Fitted:
    """The dials at which everyone has the same chance. Raises ValueError, StoreError."""
    from drillrunner.odds.fair import FairSide, level_fight

    sides = [FairSide(seat.drill, patterns_of(store, seat.player)) for seat in seats]
    behind = tuple(what_it_rests_on(store, seat.player, seat.drill) for seat in seats)
    return Fitted(level_fight(sides), behind)
