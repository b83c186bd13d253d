"""A session under test: an app whose clocks stand until the test moves them."""

from __future__ import annotations

from collections.abc import Callable

from textual.pilot import Pilot

from drillrunner.app.app import DrillrunnerApp
from drillrunner.app.session_desk import Desk
from drillrunner.catalogue.plans import Plan
from drillrunner.practice.sessions.session import Limits
from tests.app.conftest import ready
from tests.practice.worlds import Clock, block, plan

MakeApp = Callable[..., DrillrunnerApp]

SHORT = plan(
    block("warm-up", 2, 4, title="Warm-up", note="Easy does it."),
    block("technique", 2, 5, title="Technique", thought="Turn, do not slide."),
    block("drill", 4, 10, title="Corridor", drill="hold-the-corridor", set=("lives=2",)),
    block("free", 2, 5, title="Free"),
)
FINDING = plan(
    block("find", 4, 6, title="Find", club="sand-wedge", swing="half", shots=6),
    block("free", 1, 2, title="Free"),
)


def desk(app: DrillrunnerApp) -> Desk:
    """The session that goes on."""
    assert app.sessions.desk is not None
    return app.sessions.desk


async def begun(
    make_app: MakeApp, pilot: Pilot[None], of: Plan, minutes: int = 0, balls: int = 0
) -> None:
    """Start a session on a plan, as Enter on the cautions does."""
    await ready(pilot)
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    app.sessions.begin(of, Limits(minutes or of.minutes, balls or of.balls))
    await settled(pilot)


async def settled(pilot: Pilot[None]) -> None:
    """Wait until what was asked for is on the screen."""
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


async def pass_time(pilot: Pilot[None], clock: Clock, seconds: float, step: float = 5.0) -> None:
    """Let time pass, looking at the clock as the app does."""
    app = pilot.app
    assert isinstance(app, DrillrunnerApp)
    for _ in range(round(seconds / step)):
        clock.run(step)
        if app.sessions.desk is not None:
            app.sessions.desk.tick()
    await pilot.pause()


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Press keys, and wait until they have been answered."""
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
