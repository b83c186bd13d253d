"""A plan from what a player has: a pure function of their history and the limits.

The rule, in the order in which it gives out minutes and balls, which are hard limits:

1. *Warm-up* first: ten minutes in a session of 45 or more, else a sixth of the time and at least
   two minutes, with one left over; a tenth of the balls, ten at most. A single minute is all
   warm-up, with up to ten balls.
2. *The finish*: the game whose last score came closest to its record, in share of the record; then
   one whose record was set last time, or whose last run had no score; without any record, the one
   that would come first under 5. A record that nothing beats is no stake and comes last.
3. *Technique* before the games: a fifth of the minutes and of the balls, if that is three minutes
   and five balls or more.
4. *Find*: in a session of 45 minutes or more, one stock carry, if a drill needs one that is not
   known or one that is known has gone stale; eight minutes and seven balls.
5. *What has been left longest*, never played before played long ago, as many drills as fit with
   what each takes.
6. What is then left goes to technique, if there is one, up to double; else it stays *free*, if it
   is three minutes and five balls or more, or if there is nothing else to hit.

Equal claims go by the drill's id, so that the same history and limits give the same plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from drillrunner.catalogue.plans import TITLES, Block, Plan
from drillrunner.practice.sessions.refit import minutes as minute_words
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.game import Score
from drillrunner.rules.units import numbered, text

COMPOSED = "composed"
"""The id of a plan that was composed."""

LONG_SESSION = 45
FULL_WARM_UP = 10
USUAL_BALLS, USUAL_MINUTES = 15, 10
"""What a drill is taken to need if its file does not say."""

FIND_MINUTES, FIND_BALLS = 8, 7
LEAST_MINUTES, LEAST_BALLS = 3, 5
WARM_MINUTES, WARM_BALLS = 5, 8
"""To warm up before a search by itself. Common practice, no source."""

TRADED = (
    "ten minutes of warming up went with fewer injuries (Gosheger et al. 2003); a short session "
    "trades some of that for practice, so go easy on the first balls"
)
"""What a short warm-up gives up. Source: Am. J. Sports Med. 31:438-443, 703 golfers."""


@dataclass(frozen=True)
class DrillFact:
    """What this player's history says of one drill as it is set.

    last_played: `None` if never. best, last: scores of finished runs, the record and the latest.
    finished: there is a finished run, with a score or without. just_set: the latest is the record.
    beatable: some play of it is better than the best.
    needs: the club and swing whose stock carry it aims at and that is not known yet.
    """

    id: str
    title: str
    balls: int | None
    minutes: int | None
    last_played: datetime | None = None
    best: Score = None
    last: Score = None
    needs: tuple[str, str] | None = None
    finished: bool = False
    just_set: bool = False
    beatable: bool = True

    @property
    def off(self) -> Decimal | None:
        """How far the last score was off the record, in share of it.

        `None` without both, where the last score is the record itself, and where that is the end.
        """
        if self.best is None or self.last is None or self.just_set or not self.beatable:
            return None
        best, last = Decimal(self.best), Decimal(self.last)
        return abs(last - best) / max(abs(best), Decimal(1))

    @property
    def takes(self) -> tuple[int, int]:
        """Minutes and balls that it takes."""
        return self.minutes or USUAL_MINUTES, self.balls or USUAL_BALLS


@dataclass(frozen=True)
class Facts:
    """What a plan is composed from. stale: clubs and swings whose stock carry has gone stale,
    the oldest first. now: when the session is."""

    drills: tuple[DrillFact, ...]
    now: datetime
    stale: tuple[tuple[str, str], ...] = ()


class _Purse:
    """Minutes and balls that are not given out yet."""

    def __init__(self, limits: Limits) -> None:
        self.minutes, self.balls = limits.minutes, limits.balls

    def pays(self, minutes: int, balls: int) -> bool:
        """Take so much out, if it is there."""
        if minutes > self.minutes or balls > self.balls:
            return False
        self.minutes -= minutes
        self.balls -= balls
        return True


def compose(facts: Facts, limits: Limits) -> Plan:
    """The plan for these limits, never over them, by the rule at the head of this module.

    The warm-up is always in it; every block says in `why` what put it there.
    """
    purse = _Purse(limits)
    warm_up = _warm_up(limits, purse)
    drills = [drill for drill in facts.drills if drill.needs is None]
    finish = _first_that_fits(_finishers(drills), purse)
    technique = _technique(limits, purse)
    find = _find(facts, limits, purse)
    middle = []
    for drill in _left_longest(drills):
        if finish is not None and drill.id == finish.id:
            continue
        if purse.pays(*drill.takes):
            middle.append(_drill(drill, _left(drill, facts.now)))
    free = None
    if technique is not None:
        minutes = min(purse.minutes, technique.minutes)
        more = min(purse.balls, technique.balls)
        purse.pays(minutes, more)
        technique = replace(
            technique, minutes=technique.minutes + minutes, balls=technique.balls + more
        )
    elif _worth_it(purse, alone=not (find or middle or finish)):
        free = Block("free", TITLES["free"], purse.minutes, purse.balls, why="what is left over")
    last = _drill(finish, _stake(finish)) if finish is not None else None
    blocks = [
        block for block in (warm_up, technique, find, *middle, free, last) if block is not None
    ]
    return Plan(
        id=COMPOSED,
        title=limits.said,
        about="Put together from your own history.",
        note="",
        blocks=tuple(blocks),
    )


def _worth_it(purse: _Purse, alone: bool) -> bool:
    """Whether what is left is worth a block. alone: there is nothing else but the warm-up."""
    minutes, balls = (1, 1) if alone else (LEAST_MINUTES, LEAST_BALLS)
    return purse.minutes >= minutes and purse.balls >= balls


def _warm_up(limits: Limits, purse: _Purse) -> Block:
    full = limits.minutes >= LONG_SESSION
    all_of_it = limits.minutes == 1
    minutes = FULL_WARM_UP if full else min(max(limits.minutes // 6, 2), limits.minutes - 1) or 1
    balls = min(limits.balls if all_of_it else limits.balls // 10, 10)
    purse.pays(minutes, balls)
    why = (
        "first, and ten minutes of it"
        if full
        else f"first; {minute_words(minutes)}, not ten: short"
    )
    return Block("warm-up", TITLES["warm-up"], minutes, balls, note="" if full else TRADED, why=why)


def _technique(limits: Limits, purse: _Purse) -> Block | None:
    minutes, balls = limits.minutes // 5, limits.balls // 5
    if minutes < LEAST_MINUTES or balls < LEAST_BALLS or not purse.pays(minutes, balls):
        return None
    return Block(
        "technique",
        TITLES["technique"],
        minutes,
        balls,
        thought="One thing only: what your coach gave you last.",
        why="before the games, as coaches order it",
    )


def _find(facts: Facts, limits: Limits, purse: _Purse) -> Block | None:
    needed = [drill for drill in sorted(facts.drills, key=lambda d: d.id) if drill.needs]
    if limits.minutes < LONG_SESSION or not (needed or facts.stale):
        return None
    if not purse.pays(FIND_MINUTES, FIND_BALLS):
        return None
    if needed and needed[0].needs:
        (club, swing), why = needed[0].needs, f"{needed[0].title} aims at it"
    else:
        (club, swing), why = facts.stale[0], "the stock carry has gone stale"
    return search(club, swing, why)


def search(club: str, swing: str, why: str) -> Block:
    """A block that finds the stock carry of one swing of one club."""
    return Block(
        "find",
        TITLES["find"],
        FIND_MINUTES,
        FIND_BALLS,
        club=club,
        swing=swing,
        shots=FIND_BALLS,
        why=why,
    )


def search_plan(club: str, swing: str, title: str, why: str, warm: bool) -> Plan:
    """A session of one search. warm: the player is; else easy balls come first."""
    first = Block(
        "warm-up",
        TITLES["warm-up"],
        WARM_MINUTES,
        WARM_BALLS,
        why="the first balls of a day fall short",
    )
    found = search(club, swing, why)
    return Plan("find", title, "", "", (found,) if warm else (first, found))


def _drill(drill: DrillFact, why: str) -> Block:
    minutes, balls = drill.takes
    return Block("drill", drill.title, minutes, balls, drill=drill.id, why=why)


def _finishers(drills: Iterable[DrillFact]) -> list[DrillFact]:
    """Drills by how close the last score came to the record, then those left longest."""
    drills = list(drills)
    recorded = [(drill.off, drill.id, drill) for drill in drills if drill.off is not None]
    close = [drill for _, _, drill in sorted(recorded, key=lambda item: item[:2])]
    rest = [drill for drill in _left_longest(drills) if drill.off is None]
    return close + sorted(rest, key=lambda drill: (not drill.beatable, drill.best is None))


def _left_longest(drills: Sequence[DrillFact]) -> list[DrillFact]:
    never = sorted((d for d in drills if d.last_played is None), key=lambda d: d.id)
    played = [(d.last_played, d.id, d) for d in drills if d.last_played is not None]
    return never + [drill for _, _, drill in sorted(played, key=lambda item: item[:2])]


def _first_that_fits(drills: Iterable[DrillFact], purse: _Purse) -> DrillFact | None:
    return next((drill for drill in drills if purse.pays(*drill.takes)), None)


def _left(drill: DrillFact, now: datetime) -> str:
    if drill.last_played is None:
        return "never played yet"
    days = max((now - drill.last_played).days, 0)
    if days == 0:
        return "left longest, though played today"
    return f"left longest: {numbered(days, 'day')}"


def _stake(drill: DrillFact) -> str:
    """What is at stake in the game to finish on."""
    if drill.best is None:
        return "to finish on: a first score to beat next time"
    best = f"your best is {text(Decimal(drill.best))}"
    if not drill.beatable:
        return f"to finish on: {best}, and nothing beats it: make it again"
    if drill.just_set:
        return f"to finish on: {best}, set last time"
    if not drill.finished:
        return f"to finish on: {best}"
    if drill.last is None:
        return f"to finish on: no score last time, {best}"
    again = " again" if drill.off == 0 else ""
    return f"to finish on: {text(Decimal(drill.last))}{again} last time, {best}"
