"""A plan from what a player has: a pure function of their history and the limits.

The rule, in the order in which it gives out minutes and balls, which are hard limits:

1. *Warm-up* first: ten minutes in a session of 45 or more, else a sixth of the time and at least
   two minutes, with one left over; a tenth of the balls, ten at most. A single minute is all
   warm-up, with up to ten balls.
2. *The finish*: a game with something at stake that the player can win today: a chance between 30
   and 70 % to beat what there is to beat, as the drill is written before another setting of it,
   and of those the most valuable. Where none is, the one that fits and whose last score came
   closest to its record. It takes at most half of the time and the balls that are left, unless
   nothing shorter has room. The first three days of practice have none.
3. *Technique* only for who has a thought: a fifth of the minutes and of the balls, if that is three
   minutes and five balls or more. It names the club of what costs most at the bay.
4. *Find*: in a session of 45 minutes or more, one stock carry, if a drill needs one that is not
   known or one that is known has gone stale; eight minutes and seven balls.
5. *Work*: the drills whose values (`claims`) times the minutes that they are meant for add up to
   most within what is left, the second with one club counting half (`pack`: an exact search). A
   drill that can't be ended, or whose best is out of reach or sure to be beaten, is turned by its
   dial to where it fits (`fitting`), or left out; where none fits, the plan measures. Drills with
   one club do not follow each other where there is a choice, and what is played on the green comes
   in one go: first, or last where the finish is there. While there are balls to hit, half of the
   time that the warm-up leaves may go to the green at most.
   On the first three days it measures throughout: the value of a drill is how much its balls narrow
   down what is not known, and of each part of the bag one comes first.
6. What is then left over is offered: as a block, *free*, if it is three minutes and five balls or
   more, or if there is nothing else to hit; else in the note.

Equal claims go by the drill's id, so that the same history and limits give the same plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal

from drillrunner.catalogue.plans import TITLES, Block, Plan
from drillrunner.practice.sessions.claims import (
    MEASURED,
    QUICK,
    Claim,
    DrillFact,
    Facts,
    claim,
    need_words,
    needs_that_count,
    shrinking,
)
from drillrunner.practice.sessions.fitting import EVEN, Chances, DrillFit, Fitting
from drillrunner.practice.sessions.pack import Offered, ordered, pack
from drillrunner.practice.sessions.refit import balls as ball_words
from drillrunner.practice.sessions.refit import minutes as minute_words
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.units import text

COMPOSED = "composed"
"""The id of a plan that was composed."""

LONG_SESSION = 45
FULL_WARM_UP = 10

FIND_MINUTES, FIND_BALLS = 8, 7
LEAST_MINUTES, LEAST_BALLS = 3, 5
WARM_MINUTES, WARM_BALLS = 5, 8
"""To warm up before a search by itself. Common practice, no source."""

MEASURING = 3
"""Days of practice that measure before anything else."""
AGAIN, AGAIN_MEASURING = 0.5, 0.02
"""What the second drill with one club, or for one part of the bag, still counts."""
TENDED = 10
"""Balls of the drill before and after a technique block, to see what it did."""

FINISHING = "to finish on"
NONE_FITS = f"{MEASURED}: no drill fits you yet"
TURNED = "; turned to where it fits you"

TRADED = (
    "ten minutes of warming up went with fewer injuries (Gosheger et al. 2003); a short session "
    "trades some of that for practice, so go easy on the first balls"
)
"""What a short warm-up gives up. Source: Am. J. Sports Med. 31:438-443, 703 golfers."""


class _Purse:
    """Minutes and balls that are not given out yet."""

    def __init__(self, limits: Limits) -> None:
        self.minutes, self.balls = limits.minutes, limits.balls
        self.green = limits.minutes
        """Of the minutes, those that may still go to the green."""

    def holds(self, minutes: int, balls: int) -> bool:
        """Whether so much is there."""
        return minutes <= self.minutes and balls <= self.balls

    def pays_for(self, drill: DrillFact, pace: float) -> None:
        """Take out what a drill takes, of which there is enough."""
        minutes, balls = drill.takes(pace)
        self.pays(minutes, balls)
        self.green -= minutes * drill.green

    def pays(self, minutes: int, balls: int) -> bool:
        """Take so much out, if it is there."""
        if not self.holds(minutes, balls):
            return False
        self.minutes -= minutes
        self.balls -= balls
        return True


def compose(
    facts: Facts,
    limits: Limits,
    chances: Chances | None = None,
    wanted: float = EVEN,
    written: Iterable[str] = (),
) -> Plan:
    """The plan for these limits, never over them, by the rule at the head of this module.

    chances: of a drill as set; without them nothing is known of how hard a drill is. wanted: the
    chance that a dial is turned to. written: ids of drills that the player wants as written. The
    warm-up is always in it; every block says in `why` what put it there.
    """
    purse = _Purse(limits)
    pace = limits.seconds / limits.balls
    fitting = Fitting(chances, wanted)
    warm_up = _warm_up(limits, purse)
    if purse.balls >= LEAST_BALLS:
        purse.green = purse.minutes // 2
    drills = [drill for drill in facts.drills if drill.needs is None]
    measuring = facts.visits < MEASURING
    weigh = shrinking if measuring else claim
    claims = {
        found.drill.id: found
        for found in (weigh(drill, facts) for drill in drills)
        # Nobody is sent from the bay to the green but for what it costs them.
        if found.need > 0 or not found.drill.green
    }
    finish = None if measuring else _finish(claims, purse, pace, fitting)
    technique = _technique(facts, limits, purse, claims)
    find = _find(facts, limits, purse)
    rest = [found for id, found in claims.items() if finish is None or id != finish.drill.id]
    work = _work(rest, purse, pace, fitting, measuring)
    middle = _in_order(work, finish, lambda found: _item(found, pace, measuring))
    as_written = frozenset(written)
    blocks: list[Block] = [warm_up]
    if technique is not None:
        blocks.append(technique)
    if find is not None:
        blocks.append(find)
    blocks += [
        _block(claims[item.id], pace, fitting.of(claims[item.id].drill), as_written)
        for item in middle
    ]
    free = _left_over(purse, alone=not (find or middle or finish))
    if free is not None:
        on_green = (at for at, block in enumerate(blocks) if block.where == "green")
        last = finish is not None and finish.drill.green
        # Balls are hit at the bay, before the walk to the green.
        blocks.insert(next(on_green, len(blocks)) if last else len(blocks), free)
    if finish is not None:
        blocks.append(_last(finish, pace, fitting, as_written))
    return Plan(
        id=COMPOSED,
        title=limits.said,
        about="Put together from your own history.",
        note="\n".join(_notes(facts, purse, claims, measuring, free is not None)),
        blocks=tuple(blocks),
    )


def _item(found: Claim, pace: float, measuring: bool) -> Offered:
    """A claim as it is packed: worth its value for each minute that the drill is meant for.

    When it is to measure, its value is of all its balls already.
    """
    drill = found.drill
    minutes, balls = drill.takes(pace)
    if measuring:
        return Offered(drill.id, found.value, minutes, balls, drill.part, drill.green)
    meant, _ = drill.takes(QUICK)
    return Offered(drill.id, found.value * meant, minutes, balls, drill.club, drill.green)


def _work(
    claims: Sequence[Claim], purse: _Purse, pace: float, fitting: Fitting, measuring: bool
) -> list[Claim]:
    """The drills of the middle, paid for. Those that do not fit the player go out one by one."""
    again = AGAIN_MEASURING if measuring else AGAIN
    known = {found.drill.id: found for found in claims}

    def best(ids: Iterable[str]) -> tuple[Offered, ...]:
        items = [_item(known[id], pace, measuring) for id in ids]
        return pack(items, purse.minutes, purse.balls, again, purse.green)

    left = sorted(known)
    chosen = best(left)
    while bad := {item.id for item in chosen if not fitting.of(known[item.id].drill).good}:
        left = [id for id in left if id not in bad]
        chosen = best(left)
    if not chosen:
        chosen = best(sorted(known))  # none fits: it measures
    for item in chosen:
        purse.pays_for(known[item.id].drill, pace)
    return [known[item.id] for item in chosen]


def _in_order(
    work: Sequence[Claim], finish: Claim | None, item: Callable[[Claim], Offered]
) -> list[Offered]:
    """The drills of the middle as they are played: neighbours differ, and one walk is enough."""
    on_green = [item(found) for found in work if found.drill.green]
    at_bay = [item(found) for found in work if not found.drill.green]
    last = None if finish is None else finish.drill.club
    if finish is not None and finish.drill.green:
        return [*ordered(at_bay, None), *ordered(on_green, last)]
    return [*ordered(on_green, None), *ordered(at_bay, last)]


def _finish(
    claims: Mapping[str, Claim], purse: _Purse, pace: float, fitting: Fitting
) -> Claim | None:
    """The game to finish on, paid for; `None` where none has room."""
    room = [
        found
        for found in sorted(claims.values(), key=lambda found: (-found.value, found.drill.id))
        if purse.holds(*found.drill.takes(pace))
        and (not found.drill.green or found.drill.takes(pace)[0] <= purse.green)
    ]
    if not room:
        return None
    half = purse.minutes // 2, purse.balls // 2
    short = [
        found
        for found in room
        if all(takes <= most for takes, most in zip(found.drill.takes(pace), half, strict=True))
    ]
    room = short or room
    won = [found for found in room if found.drill.beatable]
    at_stake = next(
        (found for found in won if fitting.as_written(found.drill).stake),
        None,
    ) or next((found for found in won if fitting.of(found.drill, stake=True).stake), None)
    if at_stake is not None:
        purse.pays_for(at_stake.drill, pace)
        return at_stake
    fits = [found for found in room if fitting.of(found.drill).good] or room
    finish = min(fits, key=lambda found: _off(found.drill))
    purse.pays_for(finish.drill, pace)
    return finish


def _off(drill: DrillFact) -> tuple[bool, bool, bool, Decimal, str]:
    """How far a drill is from having a record fall, the nearest first."""
    off = drill.off
    return not drill.beatable, off is None, drill.best is None, off or Decimal(0), drill.id


def _left_over(purse: _Purse, alone: bool) -> Block | None:
    """What is left as a block, if it is worth one. alone: there is nothing else but the warm-up."""
    minutes, balls = (1, 1) if alone else (LEAST_MINUTES, LEAST_BALLS)
    if purse.minutes < minutes or purse.balls < balls:
        return None
    why = f"{ball_words(purse.balls)} left: once more what you like, or free"
    return Block("free", TITLES["free"], purse.minutes, purse.balls, why=why)


def _notes(
    facts: Facts, purse: _Purse, claims: Mapping[str, Claim], measuring: bool, free: bool
) -> Iterable[str]:
    """What else the plan says, a line each."""
    if measuring:
        yield (
            "the first three days measure: one drill for each part of the bag, those that narrow "
            "down most; what to work on follows from that"
        )
    served = {kind for found in claims.values() for kind, _ in found.drill.serves}
    for kind, need in needs_that_count(facts).items():
        if kind not in served:
            yield f"{need_words(need)}: there is no drill for it here"
    if not free and purse.balls:
        yield f"{ball_words(purse.balls)} left: once more, or free"


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


def _technique(
    facts: Facts, limits: Limits, purse: _Purse, claims: Mapping[str, Claim]
) -> Block | None:
    minutes, balls, since = limits.minutes // 5, limits.balls // 5, facts.thought_since
    if not facts.thought or minutes < LEAST_MINUTES or balls < LEAST_BALLS:
        return None
    if not purse.pays(minutes, balls):
        return None
    needy = [found for found in claims.values() if found.need > 0 and not found.drill.green]
    most = max(needy, key=lambda found: (found.need, found.drill.id), default=None)
    note, club = "", None
    if most is not None:
        club = most.drill.club
        note = (
            f"with the {facts.named(club)}; {ball_words(TENDED)} of {most.drill.title} before and "
            "after it tell what it does"
        )
    return Block(
        "technique",
        TITLES["technique"],
        minutes,
        balls,
        thought=facts.thought,
        note=note,
        club=club,
        why="the one thing that you work on" + ("" if since is None else f", since {since}"),
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


def search(club: str, swing: str, why: str, warm: bool = False) -> Block:
    """A block that finds the stock carry of one swing of one club. warm: as of `Block`."""
    return Block(
        "find",
        TITLES["find"],
        FIND_MINUTES,
        FIND_BALLS,
        club=club,
        swing=swing,
        shots=FIND_BALLS,
        why=why,
        warm=warm,
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
    found = search(club, swing, why, warm)
    return Plan("find", title, "", "", (found,) if warm else (first, found))


def _block(
    found: Claim, pace: float, fit: DrillFit, as_written: frozenset[str], why: str | None = None
) -> Block:
    drill = found.drill
    minutes, balls = drill.takes(pace)
    if drill.id in as_written:
        fit = DrillFit(None)
    odds = fit.odds
    why = found.why if why is None else why
    if not fit.good:
        why = f"{NONE_FITS}; {why}"
    elif fit.set:
        why += TURNED
    return Block(
        "drill",
        drill.title,
        minutes,
        balls,
        drill=drill.id,
        set=fit.set,
        club=drill.swings[0][0] if drill.swings else None,
        swing=drill.swings[0][1] if drill.swings else "full",
        why=why,
        where="green" if drill.green else "bay",
        chance=None if odds is None else odds.beats,
        serves=found.serves,
        worth=found.said,
    )


def _last(found: Claim, pace: float, fitting: Fitting, as_written: frozenset[str]) -> Block:
    fit = fitting.of(found.drill, stake=True)
    if not fit.stake:
        fit = fitting.of(found.drill)
    return _block(found, pace, fit, as_written, _stake(found.drill, fit))


def _stake(drill: DrillFact, fit: DrillFit) -> str:
    """What is at stake in the game to finish on."""
    odds = fit.odds
    chance = "" if odds is None or odds.beats is None else f", {round(100 * odds.beats)} % today"
    if drill.best is None:
        if odds is not None and odds.beat is not None and chance:
            return f"{FINISHING}: {text(Decimal(odds.beat))} is what half of players reach{chance}"
        return f"{FINISHING}: a first score to beat next time"
    best = f"your best is {text(Decimal(drill.best))}"
    if not drill.beatable:
        return f"{FINISHING}: {best}, and nothing beats it: make it again"
    if drill.just_set:
        return f"{FINISHING}: {best}, set last time{chance}"
    if not drill.finished:
        return f"{FINISHING}: {best}{chance}"
    if drill.last is None:
        return f"{FINISHING}: no score last time, {best}{chance}"
    again = " again" if drill.off == 0 else ""
    return f"{FINISHING}: {text(Decimal(drill.last))}{again} last time, {best}{chance}"
