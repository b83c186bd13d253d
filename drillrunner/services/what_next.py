"""What next for a stored player: the evidence gathered, for `practice.looking_back.what_next`."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import datetime

from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.looking_back.what_next import NextThing, what_next
from drillrunner.practice.sessions.claims import ClubSwing, Facts
from drillrunner.services.goals import GoalStanding, goal_standings, nearest
from drillrunner.services.planning import known, with_sides
from drillrunner.store.shapes import PlayerInfo, StoredRun
from drillrunner.store.store import Store

FEWEST = 40
"""Balls with a club before its older half is held against its newer one."""


def next_things(
    store: Store, player: PlayerInfo, catalogue: Catalogue, now: datetime
) -> tuple[NextThing, ...]:
    """What this player may do next, the strongest evidence first. Raises StoreError."""
    facts = with_sides(known(store, player, catalogue, now), store, player)
    return tuple(what_next(facts, _wider(facts, store, player), _fell(store, player)))


def first_thing(
    store: Store, player: PlayerInfo, catalogue: Catalogue, now: datetime
) -> NextThing | None:
    """The first of what is next; `None` for nothing. Raises StoreError."""
    return next(iter(next_things(store, player, catalogue, now)), None)


def first_and_goal(
    store: Store, player: PlayerInfo, catalogue: Catalogue, now: datetime
) -> tuple[NextThing | None, GoalStanding | None]:
    """The first of what is next, and the nearest goal. Raises StoreError."""
    goal = nearest(goal_standings(store, player, catalogue), now.date())
    return first_thing(store, player, catalogue, now), goal


def _wider(facts: Facts, store: Store, player: PlayerInfo) -> dict[ClubSwing, str]:
    """Clubs and swings whose newer balls spread more than their older ones, beyond doubt."""
    from drillrunner.odds.desk import picture_of

    found = {}
    for swing, balls in facts.balls.items():
        if balls < FEWEST:
            continue
        picture = picture_of(store, player, *swing, unit=player.unit)
        half = len(picture.records) // 2
        newer, older = (
            replace(picture, records=records, half_life=None).lateral
            for records in (picture.records[:half], picture.records[half:])
        )
        if newer.half_width.low > older.half_width.high:
            found[swing] = (
                f"two in three within {newer.half_width.median:.0f} yd now, "
                f"{older.half_width.median:.0f} before"
            )
    return found


def _fell(store: Store, player: PlayerInfo) -> dict[str, str]:
    """Drills whose scores got worse, luck excluded, by id."""
    from drillrunner.odds.luck import judged

    runs: dict[str, list[StoredRun]] = defaultdict(list)
    for run in store.history(player_id=player.id):
        if run.finished and not run.decider:
            runs[run.fingerprint].append(run)
    found = {}
    for of_one in runs.values():
        days = [run.started.date() for run in reversed(of_one)]
        if len(set(days)) < 10:
            continue
        luck = judged([run.score for run in reversed(of_one)], of_one[0].better, days=days)
        if luck.way == "worse":
            found[of_one[0].drill] = luck.line
    return found
