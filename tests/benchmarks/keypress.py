"""From pressing a key to the ball on disk and its count on the screen."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from tests.benchmarks.players import APP, BARE, environment, tally
from tests.benchmarks.ratio import Ratio
from tests.benchmarks.terminal import Terminal

PRESSES = 150


def ratios() -> Iterator[Ratio]:
    with environment() as env:
        tally(env, "hold-the-corridor", *"54554554")
        database = env["DRILLRUNNER_DB"].replace("drillrunner.db", "bare.db")
        ours = Terminal((*APP, "play", "hold-the-corridor", "--player", "Ann"), env)
        bare = Terminal((*BARE, database), env)
        ours.until("in or out")
        bare.until("count 0")
        for terminal in (ours, bare):
            terminal.settle(1.5)
        times: list[tuple[float, float]] = []
        for count in range(1, PRESSES + 1):
            pressed = ours.send("5")
            one = ours.until(rf"held {count}\b") - pressed
            pressed = bare.send("5")
            other = bare.until(rf"count {count}\b") - pressed
            times.append((1000 * one, 1000 * other))
            # What is drawn after the count is part of the same frame's work: let it pass.
            for terminal in (ours, bare):
                terminal.settle(0.05)
        for terminal in (ours, bare):
            terminal.close()
    medians = [median(side) for side in zip(*times, strict=True)]
    yield Ratio("a keypress to durable and painted", *medians, "ms", 1.5)
