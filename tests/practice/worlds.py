"""Simulated time, and small plans and players to run sessions with."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from drillrunner.catalogue.loader import Catalogue
from drillrunner.catalogue.plans import Block, Plan
from drillrunner.practice.sessions.keeper import Keeper, WatchReading, started
from drillrunner.practice.sessions.session import Event, Limits

NO_DRILLS = Catalogue((), {}, (), {})
"""For a page that is not about what is next."""

START = datetime(2024, 5, 1, 18, 0, tzinfo=UTC)


class Clock:
    """A wall clock and a steady count that a test moves by hand, each by itself if it wants."""

    def __init__(self) -> None:
        self.at = START
        self.steady = 1000.0

    def __call__(self) -> WatchReading:
        return WatchReading(self.at, self.steady)

    def run(self, seconds: float) -> None:
        """Both move on."""
        self.at += timedelta(seconds=seconds)
        self.steady += seconds

    def wall(self, seconds: float) -> None:
        """Only the wall clock moves: the computer slept, or someone set the clock."""
        self.at += timedelta(seconds=seconds)


def block(kind: str, minutes: int, balls: int, **fields: object) -> Block:
    """A block with what its kind needs."""
    needs: dict[str, object] = {
        "find": {"club": "sand-wedge", "swing": "half", "shots": min(max(balls, 5), 12)},
        "drill": {"drill": "hold-the-corridor"},
    }.get(kind, {})  # type: ignore[assignment]
    title = str(fields.pop("title", kind.capitalize()))
    return Block(kind, title, minutes, balls, **{**needs, **fields})  # type: ignore[arg-type]


def plan(*blocks: Block) -> Plan:
    """A plan of these blocks."""
    return Plan("test-plan", "Test plan", "", "", blocks)


HALF_AN_HOUR = plan(
    block("warm-up", 4, 6),
    block("technique", 7, 14),
    block("find", 5, 6),
    block("drill", 12, 18, title="Corridor"),
)


def start(of: Plan, minutes: int, balls: int) -> tuple[Keeper, Clock, list[Event]]:
    """A session that has just begun, with its clock and what it wrote."""
    clock = Clock()
    events = [started(of, Limits(minutes, balls), clock().at)]
    return Keeper(list(events), clock, events.append), clock, events


def gone_on(events: list[Event], clock: Clock, run: tuple[int, bool] | None = None) -> Keeper:
    """A session that was left, gone on with from what it wrote. run: as of `Keeper.go_on`."""
    keeper = Keeper(list(events), clock, events.append)
    keeper.go_on(run)
    return keeper


def run_for(keeper: Keeper, clock: Clock, seconds: float, step: float = 1.0) -> None:
    """Let time pass, ticking."""
    for _ in range(round(seconds / step)):
        clock.run(step)
        keeper.tick()
