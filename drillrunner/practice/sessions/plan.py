"""What a plan needs to be played: its limits, its drills as set, and what history says of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from drillrunner.catalogue.drill import Drill, NeedsStock
from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.plans import Block, Plan
from drillrunner.practice.carries.stock import STALE_DAYS, Stocks
from drillrunner.practice.sessions.compose import DrillFact, Facts
from drillrunner.practice.sessions.session import BlockState, Limits
from drillrunner.rules.reach import can_beat
from drillrunner.rules.units import Unit
from drillrunner.store.shapes import Best, StoredRun

USUAL = Limits(30, 50)
"""Half an hour and one bucket, when neither a plan nor the player says."""


@dataclass(frozen=True)
class Wanted:
    """A session as it was asked for. plan: its id; `None` to have one put together."""

    limits: Limits
    plan: str | None = None


def limits_for(plan: Plan | None, minutes: int | None, balls: int | None) -> Limits:
    """The limits: what is said, else what the plan takes, else half an hour and 50 balls.

    Raises ValueError for limits that can't be.
    """
    usual = USUAL if plan is None else Limits(plan.minutes, max(plan.balls, 1))
    return Limits(
        usual.minutes if minutes is None else minutes, usual.balls if balls is None else balls
    )


def as_played(drill: Drill, unit: Unit, stocks: Stocks) -> Drill:
    """A drill in the player's unit and, if it aims at a stock carry, at theirs.

    Raises NeedsStock if there is none, and BadDrill if the drill can't be set to it.
    """
    drill = drill.in_unit(unit)
    for wanted in drill.wants:
        if (stock := stocks.get(wanted)) is not None:
            drill = drill.with_stock(stock.carry, stock.unit, wanted)
    if drill.stock:
        drill.game()  # raises NeedsStock, in the words of every other place
        raise NeedsStock(drill.id)
    return drill


def drill_of(block: Block, catalogue: Catalogue, unit: Unit, stocks: Stocks) -> Drill:
    """The drill of a block as it is played. Raises KeyError, BadDrill or NeedsStock."""
    return as_played(catalogue.drill(block.drill or "").with_set(block.set), unit, stocks)


def facts_of(
    catalogue: Catalogue,
    unit: Unit,
    stocks: Stocks,
    runs: Iterable[StoredRun],
    best: Callable[[str], Best | None],
    now: datetime,
    stale_days: int = STALE_DAYS,
) -> Facts:
    """What `compose` needs. runs: this player's, newest first. best: by fingerprint."""
    newest: dict[str, StoredRun] = {}
    finished: dict[str, StoredRun] = {}
    for run in runs:
        newest.setdefault(run.drill, run)
        if run.finished and not run.decider:
            finished.setdefault(run.fingerprint, run)
    drills = []
    for written in catalogue.drills:
        needs = None
        played = written
        try:
            played = as_played(written, unit, stocks)
            record = best(played.fingerprint)
        except NeedsStock:
            needs, record = (written.club, written.swing), None
        last, ended = newest.get(written.id), finished.get(played.fingerprint)
        drills.append(
            DrillFact(
                id=written.id,
                title=written.title,
                balls=written.balls,
                minutes=written.minutes,
                last_played=None if last is None else last.started,
                best=None if record is None else record.score,
                last=None if ended is None else ended.score,
                finished=ended is not None,
                just_set=record is not None and ended is not None and record.run == ended.run,
                beatable=record is None or can_beat(played.game(), record.score),
                needs=needs,
            )
        )
    stale = sorted(
        (stock for stock in stocks.values() if now - stock.at > timedelta(days=stale_days)),
        key=lambda stock: (stock.at, stock.club, stock.swing),
    )
    return Facts(tuple(drills), now, tuple((stock.club, stock.swing) for stock in stale))


def reason(state: BlockState, played: Collection[str]) -> str:
    """Why a block is in the plan, as true as it is now: what it was for may have been done since.

    played: the ids of the drills that were played in this session.
    """
    if state.block.why and state.revealed:
        return "found in this session"
    if state.block.why and state.block.drill in played:
        return "played in this session"
    return state.block.why
