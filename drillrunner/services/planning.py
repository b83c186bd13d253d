"""A plan for a stored player: what history and odds say of each drill, brought together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.plans import Block, Plan
from drillrunner.practice.carries import stock
from drillrunner.practice.sessions.claims import MEASURED, ClubSwing, Facts, claim, shrinking
from drillrunner.practice.sessions.compose import FINISHING, NONE_FITS, TURNED, compose
from drillrunner.practice.sessions.fitting import EVEN, Odds
from drillrunner.practice.sessions.plan import as_played, average_carry, facts_of
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.score import Score
from drillrunner.rules.units import Unit
from drillrunner.services.needs import player_needs
from drillrunner.store.shapes import PlayerInfo, StoredRun
from drillrunner.store.store import Store

BALLS = 8_000
"""Balls tried in a walk for a plan: several drills are weighed while someone waits."""
FOR_A_PLAN = 300
SIDED = 0.9
FEWEST = 12
"""Balls with a club before it is looked at which way it misses."""


def known(store: Store, player: PlayerInfo, catalogue: Catalogue, now: datetime) -> Facts:
    """What this player's history says to `compose`, whatever the limits; nothing of the odds."""
    runs = store.history(player_id=player.id)
    bests = {best.fingerprint: best for best in store.bests(player.id)}
    clubs = store.clubs(player.id)
    retired = frozenset(club.id for club in clubs if club.retired)
    drills = tuple(
        drill
        for drill in catalogue.drills
        if not any(station.club in retired for station in drill.stations)
    )
    own = {
        club.id: float(club.usual_carry) * (1.0 if club.unit == "yd" else 1.0 / 0.9144)
        for club in clubs
        if club.usual_carry is not None
    }
    facts = facts_of(
        replace(catalogue, drills=drills),
        player.unit,
        stock.in_force(store.stock_carries(player.id)),
        runs,
        bests.get,
        now,
        usual=lambda club: own.get(club) or average_carry(club),
    )
    thought = store.intents.thought(player.id)
    found = player_needs(store, player)
    return replace(
        facts,
        needs=found.needs,
        wanted=found.wanted,
        thought=None if thought is None else thought.words,
        thought_since=None if thought is None else thought.at.date(),
        visits=_visits(store, player, runs),
        clubs={**facts.clubs, **{club.id: club.label for club in clubs}},
    )


def newcomer(catalogue: Catalogue, now: datetime, unit: Unit = "yd") -> Facts:
    """What is known of somebody who never played."""
    return replace(facts_of(catalogue, unit, {}, (), lambda _: None, now), visits=0)


def _visits(store: Store, player: PlayerInfo, runs: Iterable[StoredRun]) -> int:
    """Days on which something was practised."""
    days = {run.started.date() for run in runs}
    days |= {info.started.date() for info in store.sessions(player.id) if len(info.events) > 1}
    return len(days)


def with_sides(facts: Facts, store: Store, player: PlayerInfo) -> Facts:
    """The facts with which way the player misses with each club, where nine in ten are sure."""
    from drillrunner.odds.desk import picture_of, side

    sides: dict[ClubSwing, str] = {}
    for swing, balls in sorted(facts.balls.items()):
        if balls < FEWEST:
            continue
        pattern = picture_of(store, player, *swing, unit=player.unit).lateral
        if not pattern.guess and max(pattern.right, 1.0 - pattern.right) >= SIDED:
            sides[swing] = side(pattern, "lateral").replace(";", ",")
    return replace(facts, sides=sides)


def reason_now(
    store: Store, player: PlayerInfo, catalogue: Catalogue, block: Block, now: datetime
) -> str:
    """Why a drill has its block, by all that was typed up to now; as planned if that still holds.

    What is at stake in a finish is not worked out anew. Raises StoreError.
    """
    facts = known(store, player, catalogue, now)
    drill = next((drill for drill in facts.drills if drill.id == block.drill), None)
    if drill is None or block.why.startswith((FINISHING, NONE_FITS)):
        return block.why
    # Only the drill's own clubs are looked at: somebody waits.
    own = {swing: facts.balls.get(swing, 0) for swing in drill.swings}
    facts = with_sides(replace(facts, balls=own), store, player)
    weigh = shrinking if block.why.startswith(MEASURED) else claim
    why = weigh(drill, facts).why
    if why in block.why:
        return block.why
    return f"{why}{TURNED}" if block.set else why


class Weighed:
    """The chances of drills as set for one player, each worked out once; a `Chances`.

    store, player: `None` for somebody who is not known.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        store: Store | None = None,
        player: PlayerInfo | None = None,
    ) -> None:
        from drillrunner.odds.desk import bag_of

        self.catalogue, self.store, self.player = catalogue, store, player
        self.bag = bag_of(store, player)
        self._stocks = (
            {}
            if store is None or player is None
            else stock.in_force(store.stock_carries(player.id))
        )
        self._beat: dict[str, tuple[Score, bool]] = {}
        self._found: dict[tuple[str, tuple[str, ...]], Odds | None] = {}

    def __call__(self, id: str, set: tuple[str, ...]) -> Odds | None:
        """The chances of the drill of that id, so set; `None` where it can't be or tells nothing.

        What is to be beaten is that of the drill as written.
        """
        if (id, set) not in self._found:
            self._found[id, set] = self._odds(id, set)
        return self._found[id, set]

    def _odds(self, id: str, set: tuple[str, ...]) -> Odds | None:
        from drillrunner.odds.chance import chance
        from drillrunner.odds.desk import states_for

        try:
            drill = self._drill(id, set)
            beat, own = self._to_beat(id)
            game = drill.game()
            most = states_for(game, BALLS)
            ends, beats = (
                chance(game, game.start(), self.bag, score, states=most, rollouts=FOR_A_PLAN).chance
                for score in (None, beat)
            )
        except Exception:
            # A setting that can't be, a stock carry that is missing, a stranger's game that raises.
            return None
        return Odds(ends, beats, beat, own)

    def _drill(self, id: str, set: tuple[str, ...]) -> Drill:
        unit: Unit = "yd" if self.player is None else self.player.unit
        return as_played(self.catalogue.drill(id).with_set(set), unit, self._stocks)

    def _to_beat(self, id: str) -> tuple[Score, bool]:
        """The player's best on a drill as written, else what half of others reach."""
        if id not in self._beat:
            from drillrunner.odds.usual import half_reach

            drill = self._drill(id, ())
            best = None
            if self.store is not None and self.player is not None:
                best = self.store.best(self.player.id, drill.fingerprint)
            self._beat[id] = (half_reach(drill), False) if best is None else (best.score, True)
        return self._beat[id]


def planned(
    store: Store | None,
    player: PlayerInfo | None,
    catalogue: Catalogue,
    limits: Limits,
    now: datetime,
    wanted: float = EVEN,
) -> Plan:
    """The plan for a player, all of it worked out; of somebody not known that of a newcomer."""
    if store is None or player is None:
        facts = newcomer(catalogue, now)
    else:
        facts = with_sides(known(store, player, catalogue, now), store, player)
    return compose(facts, limits, Weighed(catalogue, store, player), wanted)
