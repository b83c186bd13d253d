"""More than ten thousand fuzzed entries: taken, or refused in a line without any change."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import bundled, load
from drillrunner.cli.options import Wrong
from drillrunner.cli.score import fold
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Refused, Run

DRILLS = load([bundled("games")]).drills
EACH = 1500
PLAIN = ["undo", "void", "lost", "between", "*", "/", "+", "-", "", " ", ".", "0", "5", "note"]
SIGNS = "0123456789+-.,*/ eEx_\u0663\uff15\u2212\0\n\t\u202e\U0001f3cc\ud800"


def fuzzed(rng: random.Random) -> str:
    """A text that a hand, a paste or a cat on the keys might enter."""
    match rng.randrange(4):
        case 0:
            return rng.choice(PLAIN)
        case 1:
            return f"{rng.choice(('', '-', '+'))}{rng.randint(0, 450)}"
        case 2:
            return f"{rng.choice(('', '-', '+'))}{rng.uniform(0, 160):.{rng.randint(0, 3)}f}"
        case _:
            return "".join(rng.choice(SIGNS) for _ in range(rng.randint(0, 7)))


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.id)
def test_an_entry_is_taken_or_refused_and_a_refused_one_changes_nothing(drill: Drill) -> None:
    rng = random.Random(f"entries of {drill.id}")
    taken = refused = 0
    run = Run.begin(drill.game(), drill.between)
    for _ in range(EACH):
        if len(run.entries) > 60:
            run = Run.begin(drill.game(), drill.between)
        text = fuzzed(rng)
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
    assert taken + refused == EACH
    assert taken > EACH / 20
    assert refused > EACH / 20


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.id)
def test_a_fuzzed_tally_is_scored_or_refused_by_position(drill: Drill) -> None:
    rng = random.Random(f"tallies of {drill.id}")
    for _ in range(200):
        texts = [fuzzed(rng) for _ in range(rng.randint(1, 12))]
        reason = None
        try:
            run, unused = fold(drill, texts)
        except Wrong as error:
            reason = str(error)
        if reason is None:
            assert len(run.entries) + unused == len(texts)
            continue
        at = int(reason.split()[1])
        assert 1 <= at <= len(texts)
        assert "\n" not in reason
        if at > 1:
            fold(drill, texts[: at - 1])


def test_enough_of_them() -> None:
    assert EACH * len(DRILLS) >= 10_000
