"""What a drill has to say for itself in a plan: what history knows of it, and what it is worth.

The value of a drill is counted in strokes a round and is the sum of

- *need*: what the shots that it serves lose a round, times the share of its stations that serve
  them; it counts from `EARLY` rounds on, because before it is too early to tell;
- *side*: `SIDE` where it is sure, nine in ten, which way the player misses with its club;
- *unknown*: `UNKNOWN` for a club of which no ball was measured, less by the square root of the
  balls known, as an interval shrinks (the starting guess is about as weighty as two shots); and
  `NO_CARRY` where it aims at a number and no stock carry of that swing is known;
- *left*: up to `LEFT` for a drill that was left `LONG` days or was never played.

The four weights are our choice, no source: a need that shows outweighs all the rest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.practice.sessions.refit import balls as ball_words
from drillrunner.rules.score import Score
from drillrunner.rules.units import numbered, text

if TYPE_CHECKING:
    from drillrunner.catalogue.clubs import Club
    from drillrunner.odds.strokes.needs import Need

USUAL_BALLS, USUAL_MINUTES = 15, 10
"""What a drill is taken to need if its file does not say."""

EARLY = 3.0
"""Rounds before which needs count nothing."""
SIDE, UNKNOWN, NO_CARRY, LEFT = 0.4, 0.4, 0.1, 0.3
LONG = 60
"""Days after which a drill is left as long as never played."""
GUESS = 2.0
"""Shots that the starting guess is worth."""

QUICK = 30.0
"""Seconds a ball: with more balls than this leaves time for, a drill is played at the bucket's
own pace. Common practice, no source."""

ClubSwing = tuple[str, str]
"""A club and a swing of it."""

KIND_WORDS: Mapping[str, str] = {
    "driving": "driving",
    "60-100": "shots from 60 to 100",
    "100-140": "shots from 100 to 140",
    "140-180": "shots from 140 to 180",
    "180+": "shots from 180 and more",
    "short": "shots from under 60",
    "putting": "putting",
}
"""The kinds of shot in words."""

MEASURED = "to measure"

PARTS = ("woods", "irons", "wedges")


def part_of(club: Club | None) -> str:
    """The part of the bag that a club belongs to."""
    if club is None:
        return "irons"
    if "wedge" in club.id:
        return "wedges"
    return "woods" if club.id == "driver" or "wood" in club.id else "irons"


@dataclass(frozen=True)
class DialEnds:
    """The dial of a drill: its field as `--set` takes it, its ends and step, in the file's unit."""

    field: str
    low: Decimal
    high: Decimal
    step: Decimal


@dataclass(frozen=True)
class DrillFact:
    """What this player's history says of one drill as it is set.

    last_played: `None` if never. best, last: scores of finished runs, the record and the latest.
    finished: there is a finished run, with a score or without. just_set: the latest is the record.
    beatable: some play of it is better than the best. needs: the club and swing whose stock carry
    it aims at and that is not known yet. swings: of its stations. serves: kinds of shot, each with
    the share of its stations that are such. carry: it aims at a number. part: of the bag.
    between: half its balls are hit in between, and measure nothing. green: it is played on the
    practice green, without a bucket.
    """

    id: str
    title: str
    balls: int | None
    minutes: int | None
    last_played: datetime | None = None
    best: Score = None
    last: Score = None
    needs: ClubSwing | None = None
    finished: bool = False
    just_set: bool = False
    beatable: bool = True
    swings: tuple[ClubSwing, ...] = ()
    serves: tuple[tuple[str, float], ...] = ()
    carry: bool = False
    part: str = "irons"
    dial: DialEnds | None = None
    between: bool = False
    green: bool = False

    @property
    def club(self) -> str:
        """The club of its first ball; what keeps it apart from others where it has none."""
        return self.swings[0][0] if self.swings else self.id

    @property
    def off(self) -> Decimal | None:
        """How far the last score was off the record, in share of it.

        `None` without both, where the last score is the record itself, and where that is the end.
        """
        if self.best is None or self.last is None or self.just_set or not self.beatable:
            return None
        best, last = Decimal(self.best), Decimal(self.last)
        return abs(last - best) / max(abs(best), Decimal(1))

    def takes(self, pace: float) -> tuple[int, int]:
        """Minutes and balls that it takes, where a bucket leaves `pace` seconds a ball."""
        minutes = self.minutes or USUAL_MINUTES
        if self.green:
            return minutes, 0
        balls = self.balls or USUAL_BALLS
        if pace < QUICK:
            minutes = min(minutes, max(math.ceil(balls * pace / 60.0), 1))
        return minutes, balls


@dataclass(frozen=True)
class Facts:
    """What a plan is composed from. now: when the session is.

    stale: clubs and swings whose stock carry has gone stale, the oldest first. carries: those with
    a stock carry. balls: measured lately, by club and swing. sides: which way the player misses, in
    a sentence, where that is sure. needs: from rounds, worst first; wanted: the index that they are
    measured against. visits: days of practice before this one. thought: what the player works on,
    and since when.
    clubs: what clubs are called.
    """

    drills: tuple[DrillFact, ...]
    now: datetime
    stale: tuple[ClubSwing, ...] = ()
    carries: frozenset[ClubSwing] = frozenset()
    balls: Mapping[ClubSwing, int] = field(default_factory=dict)
    sides: Mapping[ClubSwing, str] = field(default_factory=dict)
    needs: tuple[Need, ...] = ()
    wanted: float | None = None
    visits: int = 1000
    thought: str | None = None
    thought_since: date | None = None
    clubs: Mapping[str, str] = field(default_factory=dict)

    def named(self, club: str) -> str:
        """What a club is called in a sentence."""
        return self.clubs.get(club, club).lower()


@dataclass(frozen=True)
class Claim:
    """What a drill is worth, in strokes a round, and the sentence of the weightiest reason.

    serves: the kind of shot that it serves most; `None` where that is not known.
    """

    drill: DrillFact
    need: float
    side: float
    unknown: float
    left: float
    why: str
    serves: str | None

    @property
    def value(self) -> float:
        """The sum, to a thousandth."""
        return round(self.need + self.side + self.unknown + self.left, 3)

    @property
    def said(self) -> str:
        """What the value is made of, for the player."""
        terms = (
            (self.need, "what it costs you"),
            (self.side, "a sure miss"),
            (self.unknown, "not known yet"),
            (self.left, "left long"),
        )
        named = [(f"{value:.2f}", name) for value, name in terms if value >= 0.005]
        worth = f"worth {self.value:.2f} strokes a round"
        if not named:
            return worth
        # Of one reason alone the number is that of all.
        parts = [named[0][1]] if len(named) == 1 else map(" ".join, named)
        return f"{worth}: {' + '.join(parts)}"


def need_words(need: Need) -> str:
    """What a kind of shot costs, in a sentence with its number."""
    return cost_words(KIND_WORDS[need.kind], need.lost, need.rounds)


def cost_words(name: str, lost: float, count: float) -> str:
    """What shots so named cost, in a sentence."""
    verb = "cost" if name.startswith("shots") else "costs"
    return f"{name} {verb} you {lost:.1f} a round, {rounds(count)}"


def rounds(count: float) -> str:
    """A number of rounds in words, to the half that a nine is."""
    return f"{to_the_half(count)} {'round' if to_the_half(count) == '1' else 'rounds'}"


def to_the_half(count: float) -> str:
    """A number of rounds: a hole that tells too little leaves them nearly whole."""
    return f"{round(2 * count) / 2:g}"


def needs_that_count(facts: Facts) -> dict[str, Need]:
    """The needs that count: from three rounds on, and only what is lost."""
    return {need.kind: need for need in facts.needs if need.rounds >= EARLY and need.lost > 0}


def unknown(balls: int) -> float:
    """How wide open a pattern is after so many balls: 1 before the first."""
    return math.sqrt(GUESS / (GUESS + balls))


def claim(drill: DrillFact, facts: Facts) -> Claim:
    """What a drill is worth to this player now."""
    needs = needs_that_count(facts)
    shares = [(needs[kind].lost * share, kind) for kind, share in drill.serves if kind in needs]
    need = sum(cost for cost, _ in shares)
    sided = next((swing for swing in drill.swings if swing in facts.sides), None)
    side = 0.0 if sided is None else SIDE
    counts = [facts.balls.get(swing, 0) for swing in drill.swings]
    fewest = min(counts, default=0)
    open_ = UNKNOWN * unknown(fewest)
    no_carry = drill.carry and any(swing not in facts.carries for swing in drill.swings)
    left = LEFT * _left(drill, facts.now)
    most = max(need, side, open_, left)
    if need == most and shares:
        why = need_words(needs[max(shares)[1]])
    elif side == most and sided is not None:
        why = f"{facts.named(sided[0])}: {facts.sides[sided]}"
    elif open_ == most and open_ > left:
        why = _unknown_words(drill, counts, facts)
    else:
        why = left_words(drill, facts.now)
    serves = max(
        drill.serves,
        key=lambda pair: (needs[pair[0]].lost if pair[0] in needs else 0.0, pair[1]),
        default=(None, 0.0),
    )[0]
    return Claim(drill, need, side, open_ + NO_CARRY * no_carry, left, why, serves)


def shrinking(drill: DrillFact, facts: Facts) -> Claim:
    """What a drill is worth to someone of whom little is known: how much its balls narrow down."""
    balls = (drill.takes(QUICK)[1] or USUAL_BALLS) // (2 if drill.between else 1)
    by = max(len(drill.swings), 1)
    before = [unknown(facts.balls.get(swing, 0)) for swing in drill.swings] or [1.0]
    after = [unknown(facts.balls.get(swing, 0) + balls // by) for swing in drill.swings] or [
        unknown(balls)
    ]
    gain = sum(b - a for b, a in zip(before, after, strict=True)) / by
    percent = round(100 * (1 - sum(after) / sum(before)))
    serves = max(drill.serves, key=lambda pair: pair[1], default=(None, 0.0))[0]
    return Claim(
        drill,
        0.0,
        0.0,
        UNKNOWN * gain,
        0.0,
        f"{MEASURED}: {ball_words(balls)} narrow down what is not known of your "
        f"{facts.named(drill.club)} by {percent} %",
        serves,
    )


def _left(drill: DrillFact, now: datetime) -> float:
    if drill.last_played is None:
        return 1.0
    return min(max((now - drill.last_played).days, 0), LONG) / LONG


def left_words(drill: DrillFact, now: datetime) -> str:
    """How long a drill was left."""
    if drill.last_played is None:
        return "never played yet"
    days = max((now - drill.last_played).days, 0)
    return f"left for {numbered(days, 'day')}" if days else "played today already"


def _unknown_words(drill: DrillFact, counts: list[int], facts: Facts) -> str:
    club, fewest = drill.club, min(counts, default=0)
    if drill.swings:
        club = drill.swings[counts.index(fewest)][0]
    if not fewest:
        return f"no ball with the {facts.named(club)} is measured lately"
    return f"only {ball_words(fewest)} with the {facts.named(club)} measured lately"


def score_words(score: Score) -> str:
    """A score in a sentence."""
    return text(Decimal(score or 0))
