"""How hard a drill is for a player now, in a word and its chance; before there is a best too.

numpy and `drillrunner.odds` are imported only inside the question, so in its thread.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.rules.game import AnyGame
    from drillrunner.rules.score import Score
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

HARD, EASY = 0.1, 0.6
"""Under one chance in ten a drill is hard, over six in ten easy. Common practice, no source."""


class Hardness(NamedTuple):
    """The chance that the next run beats a score: the best, or what half of others reach.

    own: it is the player's best. exact: walked, not estimated. guess: the starting guess still
    outweighs the player's own shots. facts: all of the records that it follows from.
    """

    chance: float
    beat: Decimal
    own: bool
    exact: bool
    guess: bool
    facts: object = None

    @property
    def word(self) -> str:
        """Easy, fair or hard; perfect where nothing beats the best."""
        if self.own and self.exact and self.chance == 0:
            return "perfect"
        return "hard" if self.chance < HARD else "easy" if self.chance > EASY else "fair"

    @property
    def brief(self) -> str:
        """For a line of a list."""
        if self.word == "perfect":
            return self.word
        from drillrunner.odds.words import share

        return f"{self.word} {'' if self.exact else '~'}{share(self.chance)}"

    @property
    def said(self) -> str:
        """In a sentence, with what it rests on."""
        if self.word == "perfect":
            return f"perfect: nothing beats {text(self.beat)}"
        about = "" if self.exact else "~"
        what = "your best" if self.own else "what half of players with an index of 20 reach"
        rests = ", a guess so far" if self.guess else ""
        from drillrunner.odds.words import share

        return f"{self.word}: {about}{share(self.chance)} to beat {text(self.beat)}, {what}{rests}"


def hardness(
    store: Store, player: PlayerInfo, drill: Drill, best: Score, before: Hardness | None = None
) -> Hardness | None:
    """How hard a drill as set is for this player; `None` without its stock carry.

    Before there is a best the score to beat is the middle one of the rating model's bogey golfer.
    before: what was said for this player and this best; it stands while its facts do.
    Raises StoreError.
    """
    from drillrunner.app.odds_worker import IN_HASTE, patterns_of, states_of, what_it_rests_on
    from drillrunner.catalogue.errors import NeedsStock
    from drillrunner.odds.chance import chance
    from drillrunner.odds.usual import half_reach

    try:
        game = drill.game()
    except NeedsStock:
        return None
    facts = _facts(store, player, game)
    if before is not None and before.facts == facts:
        return before
    beat = best
    if beat is None:
        beat = half_reach(drill)
    patterns = patterns_of(store, player)(drill)
    found = chance(game, game.start(), patterns, beat, states=states_of(game), rollouts=IN_HASTE)
    guess, _ = what_it_rests_on(store, player, drill)
    return Hardness(found.chance, Decimal(beat), best is not None, found.exact, guess, facts)


def _facts(store: Store, player: PlayerInfo, game: AnyGame) -> object:
    """What of the records the patterns follow from that a game asks for."""
    from drillrunner.odds.desk import RECORDS
    from drillrunner.odds.weigh import asks_of
    from drillrunner.rules.station import HOLING

    balls = [
        store.recent_strokes(player.id, ask.aim.lie or "green", RECORDS)
        if ask.asks in HOLING
        else store.recent_shots(player.id, ask.club, ask.swing, RECORDS)
        for ask in asks_of(game)
    ]
    # An entry never changes, so that its number says all of it.
    numbers = [tuple(ball.number for ball in of_one) for of_one in balls]
    return numbers, store.stock_carries(player.id), store.clubs(player.id)
