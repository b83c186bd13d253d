"""`python -m tests.odds.rounds [GOLFERS]`: is a known weakness named from typed rounds, and when.

Made-up golfers of index 15 with one weakness play a test course and type what they saw into the
form of a round. Half of them shoot by the model's law; half come from outside it: two-way misses
(two humps, one on each side), skewed ones (long tail to the right), streaky days (the spread of a
whole round goes up or down by a third), and careless typing (lengths to ten yards and three feet,
what is left not typed). Every hole goes key by key through the number block of the real form and is
read from there. Printed: how often the weak one of four kinds costs most, after 1 to 20 rounds,
beside what a prototype reached with golfers of the model alone; and how often the 80 % interval of
a kind holds what it really costs, for these golfers and for some of mixed skills.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache

from drillrunner.catalogue.strokes.golfer import SHORT_SHARE, Golfer, Lie
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.catalogue.strokes.table import level
from drillrunner.odds.strokes import putting, solver
from drillrunner.odds.strokes.make import holes
from drillrunner.odds.strokes.needs import (
    BANDS,
    KINDS,
    CardHole,
    RoundGains,
    needs,
    round_gains,
)
from drillrunner.odds.strokes.solver import TEST_GROUND
from drillrunner.rules.card import HolePlayed, Result, TeeShot
from drillrunner.rules.card_keys import HoleLine
from tests.rules.cards import keys_of, typeable

INDEX, WANTED = 15.0, 15.0
WEAK: dict[str, Golfer] = {
    "driving": Golfer(ability(INDEX), driver_width=1.4),
    "approaches": Golfer(ability(INDEX), approach=1.25),
    "short": Golfer(ability(INDEX), short=1.5),
    "putting": Golfer(ability(INDEX), putting=1.25),
}
KNOWN = "as the model"
LAWS = (KNOWN, "two-way", "skewed", "streaky", "careless")
MANY = 300
"""Rounds that tell what a kind really costs."""
AFTER = (1, 3, 5, 10, 20)
PROTOTYPE = {
    "driving": (43, 66, 70, 88, 95),
    "putting": (61, 89, 93, 100, 100),
    "short": (57, 71, 81, 91, 97),
    "approaches": (46, 61, 74, 89, 99),
}
"""What another program with golfers of the model reached, in percent, after as many rounds."""
SPREAD = {"driver_width": 0.12, "approach": 0.12, "short": 0.20, "putting": 0.07}
"""By how much each skill of mixed golfers differs from the model's: the sd of its logarithm."""
PARS = (3, 3, 3, 3, *[4] * 10, *[5] * 4)


@dataclass
class Player:
    """Somebody who plays and types. law: how the shots scatter, or the typing."""

    golfer: Golfer
    law: str
    rng: random.Random
    day: float = 1.0

    def across(self, sd: float) -> float:
        """How far to the side a shot ends, with that sd."""
        sd *= self.day
        if self.law == "two-way":
            return self.rng.choice((-1, 1)) * 0.9 * sd + self.rng.gauss(0, 0.436 * sd)
        if self.law == "skewed":
            return (self.rng.gammavariate(2.0, 1.0) - 2.0) / math.sqrt(2.0) * sd
        return self.rng.gauss(0, sd)

    def shot(self, lie: Lie, length: float, at_flag: bool) -> tuple[float, float]:
        """Yards along and across of one shot meant to go `length`."""
        across, along = self.golfer.sds(length, lie)
        held = self.golfer.held(length, lie, at_flag=at_flag)
        bad = self.golfer.bad_shots
        short = bad * SHORT_SHARE[lie]
        wild = 0.0
        if length >= 60:
            wild = bad * 0.5
            if lie == "tee":
                wild *= 1 + min(max(length / self.golfer.driver * 4 - 3, 0), 1)
        drawn = self.rng.random()
        if drawn < short:
            long = length < 60 and self.rng.random() < 0.5
            share = self.rng.gauss(solver.LONG_OF if long else solver.SHORT_OF, solver.SHORT_SD)
            return max(share, 0.0) * length, self.across(1.1 * across)
        if drawn < short + wild:
            return (
                self.rng.gauss(0.9 * length, along * held),
                self.across(3 * across * held),
            )
        return self.rng.gauss(length, along * held), self.across(across * held)

    def putts(self, feet: float) -> int:
        """Putts to hole out."""
        stroke = putting.Stroke.of(self.golfer.ability, self.golfer.putting)
        for taken in range(1, 9):
            past = 1 + (feet + 1) * stroke.pace * self.day * self.rng.gauss(0, 1)
            angle = stroke.angle * self.day * self.rng.gauss(0, 1)
            window = math.asin(min((putting.HOLE_FT - putting.BALL_FT) / max(feet, 0.2), 1.0))
            if abs(angle) < window and 0 < past < 3:
                return taken
            feet = max(math.hypot(past, feet * angle), 0.25)
        return 9

    def hole(self, number: int, par: int, yards: float) -> HolePlayed:
        """One hole, played and typed."""
        left, lie = yards, "tee"
        strokes = penalties = tee_penalties = 0
        tee: TeeShot | None = None
        approach: float | None = None
        told: dict[str, object] = {}
        while True:
            longest = self.golfer.longest(lie)  # type: ignore[arg-type]
            at_flag = left <= longest
            length = left if at_flag else longest
            strokes += 1
            usual = max(par - 2, 1) + tee_penalties
            meant = approach is None and strokes >= usual
            if meant:
                approach = left
                told["number"] = None if strokes == usual else strokes
            y, x = self.shot(lie, length, at_flag)  # type: ignore[arg-type]
            r = math.hypot(left - y, x)
            off_tee = lie == "tee"
            if r > 33 and abs(x) > TEST_GROUND.boundary and self.rng.random() < 0.5:
                penalties += 1
                if off_tee and par > 3 and tee_penalties == 0:
                    tee, tee_penalties = "lost", 1
                if meant:
                    approach = None
                continue
            from_far = left > TEST_GROUND.pin_from
            now, left = left, max(r, 13.0)
            lie = self._lie(r, abs(x))
            if off_tee and par > 3 and tee is None:
                tee = self._seen(lie, x)
            if meant:
                told["result"] = self._result(r, now - y, x)
                if r > 13:
                    told["left"], told["lie"] = left, "sand" if lie == "sand" else "rough"
            if r <= 13:
                pin = 3.5 if from_far else 0.0
                turn = self.rng.uniform(0, 2 * math.pi)
                feet = max(3 * math.hypot(r - pin * math.cos(turn), pin * math.sin(turn)), 0.5)
                putts = self.putts(feet)
                break
        return self._typed(
            HolePlayed(
                number,
                tee,
                putts=putts,
                penalties=penalties or None,
                score=strokes + penalties + putts,
            ),
            par,
            approach,
            feet,
            told,
        )

    def _lie(self, r: float, x: float) -> str:
        if r <= 33:
            return self.rng.choices(("sand", "fairway", "rough"), (0.2, 0.3, 0.5))[0]
        if x <= 18:
            return "fairway"
        if x <= 30:
            return "rough"
        return self.rng.choice(("recovery", "rough"))

    @staticmethod
    def _seen(lie: str, x: float) -> TeeShot:
        side = "left" if x < 0 else "right"
        if lie == "recovery":
            return f"{side}-trees"  # type: ignore[return-value]
        return "fairway" if lie == "fairway" else side  # type: ignore[return-value]

    @staticmethod
    def _result(r: float, short: float, x: float) -> Result:
        if r <= 13:
            return "on"
        row = "" if abs(short) < 9 else "short" if short > 0 else "long"
        side = "" if abs(x) < 9 and row else "left" if x < 0 else "right"
        return "-".join(part for part in (row, side) if part)  # type: ignore[return-value]

    def _typed(
        self,
        hole: HolePlayed,
        par: int,
        approach: float | None,
        feet: float,
        told: dict[str, object],
    ) -> HolePlayed:
        careless = self.law == "careless"
        yards, foot = (10, 3) if careless else (1, 1)

        def step(value: float, by: int) -> Decimal:
            return Decimal(max(round(value / by) * by, 1))

        left = told.get("left")
        typed = replace(
            hole,
            number=told.get("number"),
            approach=None if approach is None or par == 3 else step(approach, yards),
            result=told.get("result"),
            left=None if left is None or careless else step(left, yards),  # type: ignore[arg-type]
            lie=None if left is None or careless else told.get("lie"),
            putt=step(feet, foot),
        )
        assert not typed.faults(par), (typed, typed.faults(par))
        return typed


def through_the_form(hole: HolePlayed, par: int) -> HolePlayed:
    """The hole as the number block takes it; as it was where two signs do not tell of it."""
    if not typeable(hole, par):
        return hole
    line = HoleLine.begin(hole.hole, par, "full")
    for key in keys_of(hole, par):
        line, why = line.press("enter" if key == "!" else key)
        assert not why, (hole, key, why)
    assert line.done
    return line.now


def rounds(golfer: Golfer, law: str, count: int, seed: int, typed: bool = True) -> list[RoundGains]:
    """The rounds of one player, as the wanted level sees them. typed: through the form."""
    rng = random.Random(seed)
    player = Player(golfer, law, rng)
    wanted = level(WANTED)
    found = []
    for _ in range(count):
        if law == "streaky":
            player.day = rng.choice((0.67, 1.0, 1.33))
        played = [
            CardHole(par, yards, through_the_form(hole, par) if typed else hole)
            for number, (par, yards) in enumerate(zip(PARS, holes(), strict=True), 1)
            for hole in [player.hole(number, par, yards)]
        ]
        found.append(round_gains(played, wanted))
    return found


def costs(some: Sequence[RoundGains]) -> dict[str, float]:
    """What each of the four kinds costs, by these rounds."""
    found = {need.kind: need.lost for need in needs(some, WANTED, INDEX)}
    return {
        "driving": found["driving"],
        "approaches": sum(found[kind] for kind in BANDS),
        "short": found["short"],
        "putting": found["putting"],
    }


def named(golfer: Golfer, law: str, weak: str, golfers: int) -> list[float]:
    """How often the weak kind costs most, after each of `AFTER` rounds."""
    right = [0] * len(AFTER)
    for seed in range(golfers):
        played = rounds(golfer, law, AFTER[-1], seed)
        for at, count in enumerate(AFTER):
            found = costs(played[:count])
            right[at] += max(found, key=lambda kind: found[kind]) == weak
    return [share / golfers for share in right]


def mixed(seed: int) -> Golfer:
    """A golfer of index 15 whose skills differ from the model's, each by itself."""
    rng = random.Random(seed)
    skills = {name: math.exp(rng.gauss(0, sd)) for name, sd in SPREAD.items()}
    return Golfer(ability(INDEX), **skills)


def held(golfer: Callable[[int], Golfer], law: str, golfers: int, count: int = 5) -> list[float]:
    """How often each kind's interval holds what it costs over many rounds of the same golfer."""
    inside = dict.fromkeys(KINDS, 0)
    for seed in range(golfers):
        one = golfer(seed)
        true = costs_in_truth(one, law, 10_000 + seed * (one != golfer(0)))
        for need in needs(rounds(one, law, count, seed), WANTED, INDEX):
            inside[need.kind] += need.low <= true[need.kind] <= need.high
    return [inside[kind] / golfers for kind in KINDS]


@cache
def costs_in_truth(golfer: Golfer, law: str, seed: int) -> dict[str, float]:
    """What each kind costs over many rounds of one golfer."""
    many = rounds(golfer, law, MANY, seed, typed=False)
    return {kind: needs_usual(kind) - sum(one.total[kind] for one in many) / MANY for kind in KINDS}


def needs_usual(kind: str) -> float:
    """What the wanted level itself comes to in a kind, typed."""
    flat = RoundGains(dict.fromkeys(KINDS, 0.0), dict.fromkeys(KINDS, 1e9))
    return next(need.lost for need in needs([flat], WANTED, INDEX) if need.kind == kind)


def main(say: Callable[[str], None] = print) -> None:
    golfers = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    say(f"index {INDEX:.0f} against {WANTED:.0f}, {golfers} golfers a row")
    say("the weak one of four kinds named, %, after " + ", ".join(map(str, AFTER)) + " rounds")
    for weak, golfer in WEAK.items():
        for law in LAWS:
            shares = named(golfer, law, weak, golfers)
            say(f"  {weak:<11} {law:<13} " + " ".join(f"{100 * x:4.0f}" for x in shares))
        known = " ".join(f"{x:4.0f}" for x in PROTOTYPE[weak])
        say(f"  {'':<11} {'prototype':<13} {known}")
    say("80 % intervals that hold the truth after 5 rounds, by kind: " + ", ".join(KINDS))
    for weak, golfer in WEAK.items():
        for law in (KNOWN, "two-way", "streaky"):
            shares = held(lambda _, golfer=golfer: golfer, law, golfers)
            say(f"  {weak:<11} {law:<13} " + " ".join(f"{x:4.2f}" for x in shares))
    say(
        "the same of golfers of mixed skills, 12 % (short game 20, putting 7), after 3 and 5 rounds"
    )
    for law in (KNOWN, "two-way", "streaky"):
        for count in (3, 5):
            shares = held(mixed, law, golfers, count)
            say(f"  {count:<11} {law:<13} " + " ".join(f"{x:4.2f}" for x in shares))
    say("  a prototype, golfers of the model: 0.82 to 0.95, putting 0.78")


if __name__ == "__main__":
    main()
