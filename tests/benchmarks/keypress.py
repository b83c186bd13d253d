"""From pressing a key to the ball on disk and its count on the screen.

What follows a ball (its chance, in a thread) is let pass, as it is between two balls; the row
below says what a key costs that comes in the midst of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from statistics import median

from tests.benchmarks.players import APP, BARE, environment, tally
from tests.benchmarks.ratio import Ratio
from tests.benchmarks.terminal import Terminal

PRESSES = 100
STARTED = 2.0
"""Seconds given to what goes on after a screen is painted."""
PLAN = """
id = "count"
title = "Counting"

[[blocks]]
kind = "technique"
title = "Technique"
minutes = 100
balls = 300
"""


def pressed(
    ours: Terminal, shown: str, bare: Terminal, pause: float, first: int = 1
) -> list[float]:
    """The medians of both sides, taken in turn. shown: what a count brings to our screen."""
    times: list[tuple[float, float]] = []
    for count in range(first, first + PRESSES):
        at = ours.send("5")
        one = ours.until(shown.format(count)) - at
        ours.settle(pause)
        at = bare.send("5")
        other = bare.until(rf"count {count}\b") - at
        bare.settle(0.05)
        times.append((1000 * one, 1000 * other))
    return [median(side) for side in zip(*times, strict=True)]


def ratios() -> Iterator[Ratio]:
    with environment() as env:
        tally(env, "hold-the-corridor", *"54554554")
        home = Path(env["DRILLRUNNER_DB"]).parent
        ours = Terminal((*APP, "play", "hold-the-corridor", "--player", "Ann"), env)
        bare = Terminal((*BARE, str(home / "bare.db")), env)
        ours.until("in or out")
        bare.until("count 0")
        for terminal in (ours, bare):
            terminal.settle(STARTED)
        medians = pressed(ours, r"held {}\b", bare, 0.3)
        yield Ratio("a keypress to durable and painted", *medians, "ms", 1.5, "1.7-2.2")
        medians = pressed(ours, r"held {}\b", bare, 0.03, 1 + PRESSES)
        yield Ratio("  while the chance of the last is worked out", *medians, "ms")
        for terminal in (ours, bare):
            terminal.close()

        plans = home / "games" / "plans"
        plans.mkdir(parents=True)
        (plans / "count.toml").write_text(PLAN)
        session = ("session", "--plan", "count", "--games", str(plans.parent), "--player", "Ann")
        ours = Terminal((*APP, *session), env)
        bare = Terminal((*BARE, str(home / "bare-session.db")), env)
        bare.until("count 0")
        ours.until("Enter")
        ours.settle(STARTED)
        ours.send("\r")
        ours.until("balls 0 of 300")
        ours.settle(STARTED)
        medians = pressed(ours, r"block: balls {} of", bare, 0.1)
        yield Ratio("a ball counted in a session block", *medians, "ms", 1.5, "unknown")
        for terminal in (ours, bare):
            terminal.close()
