"""Fuzzed entries: `python -m tests.cli.fuzzed [HOW MANY]`, 20,000 unless said.

Each is taken, or refused in a line without any change; a tally of them is scored, or refused by
position.
"""

from __future__ import annotations

import random
import sys
from decimal import Decimal

from drillrunner.catalogue.drill import Drill
from drillrunner.cli.options import Wrong
from drillrunner.cli.score import fold_tally
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Refused, Run
from tests.shipped import CATALOGUE

DRILLS = tuple(drill for drill in CATALOGUE.drills if not drill.stock)
PLAIN = ["undo", "void", "lost", "between", "*", "/", "+", "-", "", " ", ".", "0", "5", "note"]
SIGNS = "0123456789+-.,*/ eEx_\u0663\uff15\u2212\0\n\t\u202e\U0001f3cc\ud800"


def fuzzed(rng: random.Random, asks: str = "") -> str:
    """A text that a hand, a paste or a cat on the keys might enter.

    Where something is asked that most of those never are, half are of its form.
    """
    if asks == "call" and rng.random() < 0.5:
        return f"{rng.randint(0, 450)}{rng.choice('::: ')}{rng.randint(0, 450)}"
    if asks == "strokes" and rng.random() < 0.5:
        return str(rng.randint(0, 12))
    match rng.randrange(4):
        case 0:
            return rng.choice(PLAIN)
        case 1:
            return f"{rng.choice(('', '-', '+'))}{rng.randint(0, 450)}"
        case 2:
            return f"{rng.choice(('', '-', '+'))}{rng.uniform(0, 160):.{rng.randint(0, 3)}f}"
        case _:
            return "".join(rng.choice(SIGNS) for _ in range(rng.randint(0, 7)))


def entries(drill: Drill, count: int) -> tuple[int, int]:
    """So many of a drill, one after another: how many were taken, and refused."""
    rng = random.Random(f"entries of {drill.id}")
    taken = refused = 0
    run = Run.begin(drill.game(), drill.between)
    for _ in range(count):
        if len(run.entries) > 60:
            run = Run.begin(drill.game(), drill.between)
        text = fuzzed(rng, run.game.ask.asks)
        before, reason = run, None
        entries, state = run.entries, run.state
        try:
            run = run.add(read(text, run.game.ask))
        except Refused as error:
            reason = str(error)
        if reason is None:
            taken += 1
            assert run.entries == (*entries, run.entries[-1])
            assert run == Run.fold(run.game, run.entries, run.between)
            score = run.score
            assert score is None or Decimal(score).is_finite()
        else:
            refused += 1
            assert reason
            assert "\n" not in reason
            assert run is before
        assert (before.entries, before.state) == (entries, state)
    return taken, refused


def tallies(drill: Drill, count: int) -> None:
    """So many of a drill, each of one to twelve entries."""
    rng = random.Random(f"tallies of {drill.id}")
    for _ in range(count):
        texts = [fuzzed(rng) for _ in range(rng.randint(1, 12))]
        reason = None
        try:
            run, unused = fold_tally(drill, texts)
        except Wrong as error:
            reason = str(error)
        if reason is None:
            assert len(run.entries) + unused == len(texts)
            continue
        at = int(reason.split()[1])
        assert 1 <= at <= len(texts)
        assert "\n" not in reason
        if at > 1:
            fold_tally(drill, texts[: at - 1])


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    each = -(-many // len(DRILLS))
    taken = refused = 0
    for one in DRILLS:
        told = entries(one, each)
        taken, refused = taken + told[0], refused + told[1]
        tallies(one, each // 10)
    print(f"{taken + refused} entries: {taken} taken, {refused} refused, no traceback")
    print(f"{each // 10 * len(DRILLS)} tallies: scored, or refused by position")
