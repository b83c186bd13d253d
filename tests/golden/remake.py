"""A playthrough of every bundled drill, as text. `python -m tests.golden.remake` writes them.

The balls come from a seeded draw over what the drill can be answered with, typed as a player would
type them, with an undo, a void and the balls in between; nothing is written by hand.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from pathlib import Path

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import bundled, load
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Run
from drillrunner.rules.station import Ask

HERE = Path(__file__).parent
LONGEST = 60


def file_of(drill: Drill) -> Path:
    """Where the playthrough of a drill lies."""
    return HERE / f"{drill.id}.txt"


def typed(ask: Ask, rng: random.Random) -> str:
    """One ball as a player types it: mostly good, now and then far off."""
    if ask.asks == "verdict":
        far = "".join(key for key, at in zip("79", ask.aim.fars, strict=True) if at is not None)
        keys = "5555555468295137" if len(ask.aim.judged) == 2 else "555555554680" + 2 * far
        return rng.choice(keys)
    if ask.asks == "call":
        flown = rng.gauss(float(ask.aim.carry or 90), 6)
        return f"{round(rng.gauss(flown, 5))}:{round(flown)}"
    if ask.asks == "carry":
        assert ask.aim.carry is not None
        return str(round(rng.gauss(float(ask.aim.carry), 3)))
    if ask.asks == "strokes":
        return rng.choice("1122222334")
    if ask.asks == "leave":
        return rng.choice(("0", "1", "2", "2", "3", "4", "5", "7", "2.5", "14"))
    if ask.lost_counts is not None and rng.random() < 0.15:
        return rng.choice(("lost", "+", "-"))
    grid = int(ask.grid)
    miss = round(rng.gauss(4, 14) / grid) * grid
    return rng.choice((f"{miss:+d}", f"{miss:+d}", str(abs(miss))))


def entries(drill: Drill) -> list[str]:
    """The first drawn playthrough that has everything in it that a run of this drill can have."""
    wanted = {"undo", "void"} | ({"between"} if drill.between else set())
    drawn = (list(_drawn(drill, random.Random(f"{drill.id} {n}"))) for n in range(1000))
    return next(words for words in drawn if wanted <= set(words[:-1]))


def _drawn(drill: Drill, rng: random.Random) -> Iterator[str]:
    """What is typed, until the game is over or long enough, and an undo after that."""
    run = Run.begin(drill.game(), drill.between)
    for _ in range(LONGEST):
        if run.over:
            break
        word = "between" if run.between_due else typed(run.ask, rng)
        if run.counted and rng.random() < 0.12:
            word = rng.choice(("undo", "void"))
        yield word
        run = run.add(read(word, run.ask))
    yield "undo"


def playthrough(drill: Drill) -> str:
    """The whole text: how the drill is set, then each entry and what stands after it."""
    run = Run.begin(drill.game(), drill.between)
    lines = [f"drill {drill.as_set()}", _standing("start", run)]
    for word in entries(drill):
        run = run.add(read(word, run.ask))
        lines.append(_standing(word, run))
    return "\n".join(lines) + "\n"


def _standing(word: str, run: Run) -> str:
    readout = ", ".join(f"{label} {value}" for label, value in run.game.readout(run.state).items())
    live = "".join("x+"[on] for on in run.live)
    return f"{word:<8} score {run.score!s:<5} ended {run.ended!s:<16} | {readout} | {live}"


def main() -> int:
    for old in HERE.glob("*.txt"):
        old.unlink()
    for drill in load([bundled("games")]).drills:
        file_of(drill).write_text(playthrough(drill), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
