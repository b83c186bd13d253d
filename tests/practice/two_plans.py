"""`python -m tests.practice.two_plans [GOLFERS]`: which of two plans serves a weakness better.

Made-up golfers of index 15 with one weakness type their rounds (`tests.odds.rounds`; half of them
shoot by the model's law, half come from outside it: two-way, skewed, streaky, careless). For each
half an hour and 50 balls are planned twice from one history: by need, and by what was left longest,
which is the same composer without needs and with every club known alike. Balls, or putts, of the
planned drills count as far as their stations serve the weak kind.
"""

from __future__ import annotations

import random
import sys
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from statistics import mean

from drillrunner.catalogue.loader import bundled, load
from drillrunner.catalogue.plans import Plan
from drillrunner.odds.strokes.needs import BANDS, needs
from drillrunner.practice.sessions.claims import USUAL_BALLS, Facts
from drillrunner.practice.sessions.compose import compose
from drillrunner.practice.sessions.session import Limits
from drillrunner.services.planning import Weighed, newcomer
from tests.odds.rounds import INDEX, KNOWN, LAWS, WANTED, WEAK, rounds

NOW = datetime(2026, 5, 2, tzinfo=UTC)
LIMITS = Limits(30, 50)
PLAYED = (3, 6, 12)
"""Rounds typed before the plan."""
OUTSIDE = [law for law in LAWS if law != KNOWN]


def history(facts: Facts, rng: random.Random) -> Facts:
    """The same drills, left for up to two months each, and clubs measured more or less."""
    return replace(
        facts,
        visits=20,
        drills=tuple(
            replace(drill, last_played=NOW - timedelta(days=rng.randrange(61)))
            for drill in facts.drills
        ),
        balls={
            swing: rng.randrange(200)
            for swing in sorted({swing for drill in facts.drills for swing in drill.swings})
        },
    )


def served(plan: Plan, facts: Facts, weak: str) -> float:
    """Balls and putts of a plan that serve the weak kind."""
    kinds = set(BANDS) if weak == "approaches" else {weak}
    drills = {drill.id: drill for drill in facts.drills}
    found = 0.0
    for block in plan.blocks:
        if block.drill is not None:
            drill = drills[block.drill]
            share = sum(part for kind, part in drill.serves if kind in kinds)
            found += share * (drill.balls or USUAL_BALLS)
    return found


def main(say: Callable[[str], None] = print) -> None:
    golfers = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    catalogue = load([bundled("games")])
    plain, weighed = newcomer(catalogue, NOW), Weighed(catalogue)
    found: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    for seed in range(golfers):
        rng = random.Random(seed)
        weak = list(WEAK)[seed % len(WEAK)]
        law = KNOWN if seed // len(WEAK) % 2 == 0 else rng.choice(OUTSIDE)
        typed = rounds(WEAK[weak], law, rng.choice(PLAYED), seed)
        facts = replace(history(plain, rng), needs=needs(typed, WANTED, INDEX), wanted=WANTED)
        alike = replace(facts, needs=(), balls=dict.fromkeys(facts.balls, 200))
        by_need, by_left = (
            served(compose(one, LIMITS, weighed), facts, weak) for one in (facts, alike)
        )
        found[weak, "as the model" if law == KNOWN else "outside it"].append((by_need, by_left))
    say(f"{golfers} golfers, {LIMITS.said}: balls and putts that serve the weakness in the plan by")
    say("need and in that by what was left longest; how often the first has more, or fewer")
    for (weak, law), pairs in sorted(found.items()):
        say(_line(f"{weak:<11} {law:<13}", pairs))
    say(_line(f"{'all':<25}", [pair for pairs in found.values() for pair in pairs]))


def _line(name: str, pairs: list[tuple[float, float]]) -> str:
    need, left = (mean(pair[at] for pair in pairs) for at in (0, 1))
    more = sum(a > b for a, b in pairs) / len(pairs)
    less = sum(a < b for a, b in pairs) / len(pairs)
    return (
        f"  {name} {need:5.1f} {left:5.1f}   more {100 * more:3.0f} %, "
        f"fewer {100 * less:3.0f} % of {len(pairs)}"
    )


if __name__ == "__main__":
    main()
