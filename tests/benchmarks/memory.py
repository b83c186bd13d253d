"""The most memory that the program holds: on the home screen, and over a whole run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tests.benchmarks.players import APP, BARE, environment, tally
from tests.benchmarks.ratio import Ratio, in_turn
from tests.benchmarks.terminal import Terminal

TIMES = 3
STARTED = 2.0
"""Seconds given to what goes on after a screen is painted."""


def peak(
    command: Sequence[str], shown: str, env: Mapping[str, str], keys: str = "", last: str = ""
) -> float:
    """Peak resident memory in MiB, from the first screen to what the last of these keys shows."""
    terminal = Terminal(command, env)
    try:
        terminal.until(shown)
        terminal.settle(STARTED)
        for key in keys:
            terminal.send(key)
        terminal.until(last)
        terminal.settle(STARTED)
        return terminal.peak()
    finally:
        terminal.close()


def ratios() -> Iterator[Ratio]:
    with environment() as env:
        tally(env, "hold-the-corridor", *"54554554")

        def bare() -> float:
            return peak(BARE, "count 0", env, "5" * 20, "count 20")

        home = in_turn(lambda: peak(APP, "Hold the corridor", env), bare, TIMES)
        yield Ratio("peak memory, home, records open", *home, "MiB")
        play = (*APP, "play", "hold-the-corridor", "--player", "Ann")
        keys = "5" * 17 + "444"
        whole = in_turn(lambda: peak(play, "in or out", env, keys, "out of lives"), bare, TIMES)
        yield Ratio("peak memory, a run of 20 balls and its result", *whole, "MiB", 2.2, "2.9")
