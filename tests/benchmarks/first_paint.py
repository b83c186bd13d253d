"""From starting the program to the first painted home screen, with records to show on it.

The drills are listed as the last start found them. After a change of any file of theirs, and at the
very first start, they are read before that screen: the second figure.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tests.benchmarks.players import APP, BARE, environment, tally
from tests.benchmarks.ratio import Ratio, in_turn
from tests.benchmarks.terminal import Terminal

TIMES = 15


def painted(command: Sequence[str], shown: str, env: Mapping[str, str]) -> float:
    """Milliseconds until the screen shows a text."""
    terminal = Terminal(command, env)
    try:
        return 1000 * (terminal.until(shown) - terminal.started)
    finally:
        terminal.close()


def started_before(env: Mapping[str, str]) -> None:
    """One start that lives long enough to keep what it found of the drills."""
    listing = Path(env["DRILLRUNNER_DATA"]) / "listing.json"
    terminal = Terminal(APP, env)
    try:
        terminal.until("Hold the corridor +best 5")
        until = time.monotonic() + 30
        while not listing.exists():
            assert time.monotonic() < until, "no listing was kept"
            time.sleep(0.05)
    finally:
        terminal.close()


def ratios() -> Iterator[Ratio]:
    with environment() as env:
        tally(env, "hold-the-corridor", *"54554554")
        started_before(env)
        ours, bare = in_turn(
            lambda: painted(APP, "Hold the corridor +best 5", env),
            lambda: painted(BARE, "count 0", env),
            TIMES,
        )
        yield Ratio("first painted home screen", ours, bare, "ms", 1.3, "1.75")

        # The first screen painted is the run: what is typed from the start on counts in it.
        play = (*APP, "play", "hold-the-corridor", "--player", "Ann")
        ours, bare = in_turn(
            lambda: painted(play, "in or out", env), lambda: painted(BARE, "count 0", env), TIMES
        )
        yield Ratio("`play DRILL` to the first key that counts", ours, bare, "ms", 1.6, "about 3")

        def changed() -> float:
            Path(env["DRILLRUNNER_CONFIG"]).mkdir(exist_ok=True)
            (Path(env["DRILLRUNNER_CONFIG"]) / str(time.time_ns())).touch()
            return painted(APP, "Hold the corridor +best 5", env)

        ours, bare = in_turn(changed, lambda: painted(BARE, "count 0", env), TIMES)
        yield Ratio("first painted home screen, drills changed", ours, bare, "ms")
