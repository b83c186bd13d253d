"""What a stored player's rounds say of where the strokes go, against a wanted level."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillrunner.catalogue.strokes.rating import NO_INDEX
from drillrunner.services.rounds import cards, player_rounds, told_rounds
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

if TYPE_CHECKING:
    from drillrunner.catalogue.strokes.rating import Sex
    from drillrunner.odds.strokes.needs import Need

LATEST = 40
"""Rounds that are looked at: older ones say little of the game of today. Our choice."""


@dataclass(frozen=True)
class Needs:
    """Needs, worst first, of `rounds` rounds. wanted: the index that they are measured against,
    the player's goal where `goal`; own: the player's index, a guess where not `known`."""

    needs: tuple[Need, ...]
    rounds: float
    wanted: float
    own: float
    sex: Sex
    goal: bool = False
    known: bool = True


def player_needs(store: Store, player: PlayerInfo, wanted: float | None = None) -> Needs:
    """The needs of a player. wanted: the level, else the goal, else the own index.

    Raises StoreError.
    """
    from drillrunner.odds.strokes.needs import needs, round_gains
    from drillrunner.odds.strokes.table import level

    rounds = player_rounds(store, player)
    index = player.index if rounds.index is None else rounds.index
    own = NO_INDEX if index is None else float(index)
    goal = index_goal(store, player)
    against = wanted if wanted is not None else own if goal is None else goal
    sex = sex_of(player)
    strokes = level(against, sex)
    told = [round_gains(holes, strokes) for holes in cards(told_rounds(rounds, LATEST)) if holes]
    found = needs(told, against, own)
    count = max((need.rounds for need in found), default=0.0)
    return Needs(
        found, count, against, own, sex, wanted is None and goal is not None, index is not None
    )


def index_goal(store: Store, player: PlayerInfo) -> float | None:
    """The index that the player wants."""
    goals = store.intents.goals(player.id)
    return next((float(goal.value) for goal in goals if goal.kind == "index"), None)


def sex_of(player: PlayerInfo) -> Sex:
    """Of which rating model a player's strokes are worked out: the men's unless they chose."""
    return "women" if player.column == "women" else "men"
