"""What a plan needs to be played: its limits, its drills as set, and what history says of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.drill import BadDrill, Drill, NeedsStock
from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.plans import Block, Plan
from drillrunner.odds.strokes.needs import kind_at
from drillrunner.practice.carries.stock import STALE_DAYS, Stocks
from drillrunner.practice.sessions.claims import ClubSwing, DialEnds, DrillFact, Facts, part_of
from drillrunner.practice.sessions.fitting import EVEN
from drillrunner.practice.sessions.session import BlockState, Limits
from drillrunner.rules.reach import can_beat
from drillrunner.rules.station import HOLING, Station
from drillrunner.rules.units import Unit, convert
from drillrunner.store.shapes import Best, StoredRun

LATELY_DAYS = 180
"""Balls older than that say little of the form of today. Our choice."""

USUAL = Limits(30, 50)
"""Half an hour and one bucket, when neither a plan nor the player says."""


@dataclass(frozen=True)
class Wanted:
    """A session as it was asked for. plan: its id; `None` to have one put together.

    chance: the one that the dials of a plan put together are turned to.
    """

    limits: Limits
    plan: str | None = None
    chance: float = EVEN


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


def average_carry(club: str) -> float:
    """Yards that a club carries on average, for stations without a number."""
    known = CLUBS.get(club)
    return float(known.usual_carry or 90) if known else 90.0


def serves(drill: Drill, usual: Callable[[str], float]) -> tuple[tuple[str, float], ...]:
    """The kinds of shot that a drill serves, with the share of its stations that are such.

    usual: yards that a club carries, for stations without a number.
    """
    kinds = Counter(_kind(station, drill.unit, usual) for station in drill.stations)
    count = len(drill.stations)
    return tuple((kind, times / count) for kind, times in sorted(kinds.items()))


def _kind(station: Station, unit: Unit, usual: Callable[[str], float]) -> str:
    if station.club == "putter" or station.aim.lie == "green":
        return "putting"
    carry = station.aim.carry
    if carry is None and station.asks in HOLING:
        carry = station.aim.length
    if carry is None and part_of(CLUBS.get(station.club)) == "woods":
        return "driving"
    yards = usual(station.club) if carry is None else float(convert(carry, unit, "yd"))
    return kind_at(yards)


def _dial(drill: Drill) -> DialEnds | None:
    dial = drill.dial
    if dial is None:
        return None
    return DialEnds(dial.field, dial.low, dial.high, dial.step)


def facts_of(
    catalogue: Catalogue,
    unit: Unit,
    stocks: Stocks,
    runs: Iterable[StoredRun],
    best: Callable[[str], Best | None],
    now: datetime,
    stale_days: int = STALE_DAYS,
    usual: Callable[[str], float] = average_carry,
) -> Facts:
    """What `compose` needs of the drills. runs: this player's, newest first. best: by fingerprint.

    usual: yards that a club carries.
    """
    newest: dict[str, StoredRun] = {}
    finished: dict[str, StoredRun] = {}
    measured: Counter[ClubSwing] = Counter()
    lately = now - timedelta(days=LATELY_DAYS)
    for run in runs:
        newest.setdefault(run.drill, run)
        if run.finished and not run.decider:
            finished.setdefault(run.fingerprint, run)
        if run.started >= lately:
            measured[run.club, run.swing] += run.counted
    drills = []
    for written in catalogue.drills:
        needs = None
        played = written
        try:
            played = as_played(written, unit, stocks)
            record = best(played.fingerprint)
        except NeedsStock:
            needs, record = (written.club, written.swing), None
        except BadDrill:
            continue
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
                swings=tuple(dict.fromkeys((s.club, s.swing) for s in written.stations)),
                serves=serves(played, usual),
                carry=any(station.aim.carry is not None for station in played.stations),
                part=part_of(CLUBS.get(written.club)),
                dial=_dial(written),
                green=written.where == "green",
                between=written.between is not None,
            )
        )
    stale = sorted(
        (stock for stock in stocks.values() if now - stock.at > timedelta(days=stale_days)),
        key=lambda stock: (stock.at, stock.club, stock.swing),
    )
    return Facts(
        tuple(drills),
        now,
        stale=tuple((stock.club, stock.swing) for stock in stale),
        carries=frozenset((stock.club, stock.swing) for stock in stocks.values()),
        balls=measured,
        clubs={id: club.label for id, club in CLUBS.items()},
    )


def reason(state: BlockState, played: Collection[str], anew: str | None = None) -> str:
    """Why a block is in the plan, as true as it is now: what it was for may have been done since.

    played: the ids of the drills that were played in this session. anew: why, worked out since.
    """
    if state.block.why and state.revealed:
        return "found in this session"
    if state.block.why and state.block.drill in played:
        return "played in this session"
    return anew or state.block.why
