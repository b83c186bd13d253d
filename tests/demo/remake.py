"""Play the demo: three invented golfers, eight weeks, the real games through the real rules.

`python -m tests.demo.remake` writes demo_data/journal.txt again, byte for byte, from the seed.
Nobody here exists and no result is written by hand: each ball is drawn from the golfer's own
spread, typed on the keypad as a person would, and judged by the game.

The spreads are invented too. They follow the shape of the published ones (heavier tails than the
normal's: Ko, PhD thesis, Columbia 2012) and come out wider for a higher handicap index. On the
course each plays as a golfer of the model with that index, but for one weakness.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from decimal import Decimal

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.courses import load_courses
from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.catalogue.plans import TITLES, Block, BlockKind
from drillrunner.catalogue.strokes import golfer as model
from drillrunner.catalogue.strokes.rating import ability
from drillrunner.practice.matches.match import Decision, Entrant, Match, Tie, Turns
from drillrunner.rules import Run
from drillrunner.rules.card import Form
from drillrunner.rules.keypad import ZONES
from drillrunner.services.demo_journal import (
    ENTER,
    JOURNAL,
    Anything,
    Journal,
    Person,
    PlayedCard,
    PlayedMatch,
    PlayedRun,
    PlayedSession,
    TypedLine,
    entry_of,
    write,
)
from tests.odds.rounds import Player
from tests.rules.cards import answers_of, typeable

SEED = 71
WEEKS = 8
FIRST = datetime(2026, 3, 2, tzinfo=timezone(timedelta(hours=2)))

HEADER = """\
# Three invented golfers at an invented range, played by a seeded script through the real rules.
# Remake: python -m tests.demo.remake
#
# player NAME FIELD=VALUE...
# run TIME NAME DRILL [FIELD=VALUE...]   the drill as set; what was typed follows, one a line:
#   SECONDS TEXT                         since the time above
# session TIME NAME PLAN
# block KIND MINUTES BALLS [FIELD=VALUE...]
# match TIME DRILL TURNS TIE NAME NAME...
# round TIME NAME COURSE TEE FORM FIRST LAST   a hole a line follows:
#   SECONDS ANSWER ANSWER...           to what is asked of it; = is Enter alone
"""

NOTES = (
    "wind off the left",
    "worn ball",
    "slower backswing",
    "ball a little further back",
    "feet were cold",
    "aimed at the left flag",
)


@dataclass(frozen=True)
class Golfer:
    """One invented player. index, goal: handicap index, and the one that is wanted.

    degrees: lateral t scale as an angle. bias: the same way, its middle. depth: t scale of the
    carry as a share of it. better: the share by which both shrink over the weeks. reach: carry as
    a share of the usual one. days: of the week, 0 is Monday. drills: taken in turn, with what is
    set.
    """

    name: str
    index: str
    goal: str
    hand: str
    degrees: float
    bias: float
    depth: float
    better: float
    reach: float
    days: tuple[int, ...]
    drills: tuple[tuple[str, ...], ...]


CORRIDOR = ("hold-the-corridor",)
WIDER = ("hold-the-corridor", "aim.width=50")
TIGHT = ("hold-the-narrow-corridor",)
MISSES = ("miss-total",)
FIVE = ("miss-total-five",)
NUMBER = ("on-the-number",)
BETWEEN = ("number-between-drives",)
WEDGES = ("four-wedges-in-a-row",)
DRIVES = ("three-drives-in-a-row",)

GOLFERS = (
    Golfer(
        name="Ines",
        index="6.4",
        goal="4.5",
        hand="right",
        degrees=3.3,
        bias=-0.4,
        depth=0.08,
        better=0.06,
        reach=1.0,
        days=(1, 4),
        drills=(CORRIDOR, NUMBER, MISSES, TIGHT, FIVE, BETWEEN, CORRIDOR, WEDGES, MISSES),
    ),
    Golfer(
        name="Tobi",
        index="18.2",
        goal="15.0",
        hand="right",
        degrees=4.8,
        bias=1.2,
        depth=0.11,
        better=0.35,
        reach=0.95,
        days=(0, 3, 5),
        drills=(CORRIDOR, MISSES, NUMBER, CORRIDOR, FIVE, DRIVES),
    ),
    Golfer(
        name="Mara",
        index="30.0",
        goal="27.0",
        hand="left",
        degrees=6.4,
        bias=-1.8,
        depth=0.16,
        better=0.1,
        reach=0.75,
        days=(2, 5),
        drills=(CORRIDOR, MISSES, WIDER, FIVE, NUMBER),
    ),
)
GIVEN_UP = 10
"""Which of Mara's runs is given up."""


def t4(rng: random.Random) -> float:
    """A draw of Student's t with 4 degrees of freedom, by its quantile function.

    Source: W. T. Shaw, Journal of Computational Finance 9(4), 2006 (from memory).
    """
    p = min(max(rng.random(), 1e-9), 1 - 1e-9)
    root = math.sqrt(4 * p * (1 - p))
    size = 2 * math.sqrt(max(math.cos(math.acos(root) / 3) / root - 1, 0))
    return math.copysign(size, p - 0.5)


def said(drill: Drill, golfer: Golfer, progress: float, rng: random.Random) -> str:
    """One ball, drawn from the golfer's spread, in the words of the keypad."""
    ask, aim = drill.game().ask, drill.aim
    carry = float(aim.carry or Decimal(round(CLUBS[drill.club].usual_carry * golfer.reach)))
    tighter = 1 - golfer.better * progress
    lateral = carry * math.tan(math.radians(golfer.bias + golfer.degrees * tighter * t4(rng)))
    depth = carry * golfer.depth * tighter * t4(rng)
    chance = rng.random()
    if ask.asks == "carry":
        return str(max(round(carry + depth), 1))
    if ask.asks == "verdict":
        across, along = side(lateral, aim.edge("lateral")), side(depth, aim.edge("depth"))
        if across == along == 0:
            return "5"
        if chance < 0.04:
            return "0"
        if chance < 0.15 and aim.judged == ("lateral",):
            beyond = max(round(abs(lateral) / 5) * 5, int(aim.edge("lateral") or 0) // 5 * 5 + 5)
            return f"{'-' if lateral < 0 else '+'}{min(beyond, 150)}"
        return next(key for key, zone in ZONES.items() if zone == (across, along))
    miss = lateral if ask.direction == "lateral" else depth
    sign = "-" if miss < 0 else "+"
    if ask.lost_counts is not None and abs(miss) > 45:
        return sign
    size = round(abs(miss)) if chance < 0.1 else round(abs(miss) / 5) * 5
    return f"{sign}{min(size, 150)}" if size else "0"


def side(miss: float, edge: Decimal | None) -> int:
    """Which side of an edge a miss lies on; a direction that is not judged is in."""
    return 0 if edge is None or abs(miss) <= edge else (1 if miss > 0 else -1)


def play(played: PlayedRun, golfer: Golfer, progress: float, rng: random.Random, stop: str) -> int:
    """Play a run to its end, or to where it is given up or left open. Returns its seconds."""
    run, clock = Run.begin(played.drill.game(), played.drill.between), 0

    def typed(text: str, least: int, most: int) -> None:
        nonlocal run, clock
        run = run.add(entry_of(text, run.game.ask))
        played.typed.append(TypedLine(clock, text))
        clock += least + int((most - least) * rng.random())

    while not run.over:
        if stop and run.counted == 6:
            if stop == "given up":
                typed("note out of time, the bay was booked", 4, 9)
                typed("give up", 0, 0)
            return clock
        if run.between_due:
            typed("between", 25, 45)
            continue
        text, slip = said(played.drill, golfer, progress, rng), rng.random()
        if slip < 0.015:
            typed(said(played.drill, golfer, progress, rng), 2, 5)
            typed("*", 2, 4)
        if not run.over:
            typed(text, 24, 50)
        if 0.015 < slip < 0.025:
            typed("/", 15, 30)
        if 0.025 < slip < 0.04 and run.counted:
            typed(f"note {NOTES[int(rng.random() * len(NOTES))]}", 8, 15)
    return clock


def visits(rng: random.Random) -> Iterator[tuple[datetime, Golfer, float]]:
    """Who comes when, and how far through the weeks that is, 0 to 1."""
    for week in range(WEEKS):
        for golfer in GOLFERS:
            for day in golfer.days:
                if rng.random() < 0.88:
                    minutes = 16 * 60 + 15 + int(rng.random() * 150)
                    at = FIRST + timedelta(weeks=week, days=day, minutes=minutes)
                    yield at, golfer, (week + day / 7) / WEEKS


def find(club: str, swing: str = "full") -> Block:
    """A search for a stock carry."""
    return Block("find", TITLES["find"], 6, 7, club=club, swing=swing, shots=7)


def loose(kind: BlockKind, minutes: int, balls: int) -> Block:
    """Balls outside a game."""
    return Block(kind, TITLES[kind], minutes, balls)


def game(catalogue: Catalogue, drill: str, minutes: int, balls: int) -> Block:
    """A drill."""
    return Block("drill", catalogue.drill(drill).title, minutes, balls, drill=drill)


SWINGS = {"full": 1.0, "three-quarter": 0.88, "half": 0.62}
"""Share of the full carry."""
STEADIER = 0.35
"""How much of the golfer's spread of carries is left where only the same swing is asked for."""
MISHIT = (4, 0.68)
"""Which carry, from 0, is the mishit, and the share of the way that it goes."""


def carries(block: Block, golfer: Golfer, mishit: bool, rng: random.Random) -> Iterator[str]:
    """The carries of a search."""
    usual = CLUBS[block.club or ""].usual_carry or 0
    middle = usual * golfer.reach * SWINGS[block.swing]
    for shot in range(block.shots or 0):
        carry = middle * (1 + golfer.depth * STEADIER * t4(rng))
        yield str(round(carry * MISHIT[1] if mishit and shot == MISHIT[0] else carry))


def practise(
    told: PlayedSession, golfer: Golfer, mishit: bool, catalogue: Catalogue, rng: random.Random
) -> PlayedSession:
    """Fill in what is typed in a session, to its end. mishit: whether the first search has one."""
    clock = 0

    def typed(text: str, least: int, most: int) -> None:
        nonlocal clock
        clock += least + int((most - least) * rng.random())
        told.typed.append(TypedLine(clock, text))

    for block in told.blocks:
        if block.kind == "find":
            for carry in carries(block, golfer, mishit, rng):
                typed(carry, 24, 42)
            mishit = False
            typed("reveal", 5, 12)
        elif block.drill is not None:
            run = PlayedRun(told.at, golfer.name, catalogue.drill(block.drill))
            seconds = play(run, golfer, 1, rng, "")
            clock += 30
            told.typed += [TypedLine(clock + entry.seconds, entry.text) for entry in run.typed]
            clock += seconds
        else:
            for _ in range(block.balls):
                typed("ball", 16, 30)
        typed("done", 10, 25)
    return told


def sunday(week: int, hour: int) -> datetime:
    """A day on which nobody plays alone."""
    return FIRST + timedelta(weeks=week, days=6, hours=hour)


def sessions(catalogue: Catalogue, rng: random.Random) -> Iterator[PlayedSession]:
    """Ines finds her stock carries, the first one long ago; Tobi practises for half an hour."""
    ines, tobi, _ = GOLFERS
    for week, blocks in (
        (-7, [find("lob-wedge")]),
        (4, [find("sand-wedge"), find("gap-wedge"), find("pitching-wedge", "three-quarter")]),
        (5, [find("pitching-wedge"), find("9-iron"), find("7-iron")]),
    ):
        told = PlayedSession(
            sunday(week, 10), ines.name, "stock-carries", [loose("warm-up", 3, 5), *blocks]
        )
        yield practise(told, ines, week == 5, catalogue, rng)
    half_hour = [
        loose("warm-up", 3, 5),
        loose("technique", 5, 8),
        find("sand-wedge"),
        game(catalogue, "miss-total", 7, 12),
        game(catalogue, "miss-total-five", 4, 5),
        game(catalogue, "on-the-number", 5, 15),
    ]
    told = PlayedSession(sunday(6, 10), tobi.name, "half-an-hour-and-a-bucket", half_hour)
    yield practise(told, tobi, True, catalogue, rng)


def fight(told: PlayedMatch, rng: random.Random) -> Decision | None:
    """Fill in what is typed in a match, to its end. Returns how it came out."""
    golfers = {golfer.name: golfer for golfer in GOLFERS}
    between, clock = told.drill.between, 0
    entrants = [Entrant(name, name, told.drill.game(), between) for name in told.players]
    match = Match.begin(entrants, told.turns, told.tie)
    while (turn := match.turn) is not None:
        text = said(told.drill, golfers[turn.player], 0.9, rng)
        match = match.add(turn.player, entry_of(text, told.drill.game().ask))
        told.typed.append(TypedLine(clock, text))
        clock += 25 + int(25 * rng.random())
    return match.decision


def matches(catalogue: Catalogue, rng: random.Random) -> Iterator[PlayedMatch]:
    """Two play ball by ball; all three, one after the other; and two until a decider is needed."""

    def played(week: int, drill: str, turns: Turns, tie: Tie, names: str) -> PlayedMatch:
        at = sunday(week, 15)
        return PlayedMatch(at, catalogue.drill(drill), turns, tie, tuple(names.split()))

    told = played(2, "miss-total-five", "ball", "shared", "Ines Tobi")
    fight(told, rng)
    yield told
    told = played(4, "hold-the-narrow-corridor", "run", "shared", "Mara Tobi Ines")
    fight(told, rng)
    yield told
    while True:
        told = played(6, "hold-the-narrow-corridor", "ball", "decider", "Tobi Mara")
        decision = fight(told, rng)
        if decision is not None and decision.by == "decider":
            yield told
            return


ROUNDS: dict[str, tuple[tuple[int, int, Form, int, int], ...]] = {
    "Ines": (
        *((week, 6, "full", 1, 18) for week in (-3, -2, -1, 0, 1, 3)),
        *((week, 2, "full", 1, 18) for week in (2, 4, 5, 6, 7)),
    ),
    "Tobi": (
        *((week, 6, "full", 1, 18) for week in (-1, 0, 1, 3, 5)),
        (2, 2, "putts", 1, 18),
        (4, 2, "full", 10, 18),
        (7, 2, "full", 1, 18),
    ),
    "Mara": (
        *((week, 6, "full", 1, 18) for week in (1, 4)),
        (3, 6, "putts", 1, 9),
        (6, 1, "score", 1, 18),
        (7, 0, "full", 1, 18),
    ),
}
"""Whose rounds: week, day of it, how much of it is told, first and last hole."""
TEES = {"Ines": "white", "Tobi": "white", "Mara": "yellow"}
WEAK: dict[str, dict[str, float]] = {
    "Ines": {"short": 1.5},
    "Tobi": {"driver_width": 1.4},
    "Mara": {"putting": 1.25},
}
"""What each is worse at than the model's golfer of the same index."""


def cards(rng: random.Random) -> Iterator[PlayedCard]:
    """The rounds, each typed in the evening of its day."""
    (course,) = load_courses([bundled("games") / "courses"]).courses
    for golfer in GOLFERS:
        able = ability(float(golfer.index))
        player = Player(model.Golfer(able, **WEAK[golfer.name]), "as the model", rng)
        tee = course.tee(TEES[golfer.name])
        for week, day, form, first, last in ROUNDS[golfer.name]:
            minutes = 18 * 60 + int(rng.random() * 150)
            told = PlayedCard(
                FIRST + timedelta(weeks=week, days=day, minutes=minutes),
                golfer.name,
                course,
                tee.name,
                form,
                range(first, last + 1),
            )
            clock = 0
            for number in told.numbers:
                par, yards = course.holes[number - 1].par, course.yards(number, tee)
                hole = player.hole(number, par, yards)
                while not typeable(hole, par):
                    hole = player.hole(number, par, yards)
                clock += 8 + int(14 * rng.random())
                answers = (answer or ENTER for _, answer in answers_of(hole, par, form))
                told.typed.append(TypedLine(clock, " ".join(answers)))
            yield told


def make(catalogue: Catalogue) -> Journal:
    """The whole demo, from the seed."""
    rng = random.Random(SEED)
    runs: list[PlayedRun] = []
    turn = {golfer.name: 0 for golfer in GOLFERS}
    for at, golfer, progress in sorted(visits(rng), key=lambda visit: visit[0]):
        for _ in range(3 + int(rng.random() * 2)):
            id, *sets = golfer.drills[turn[golfer.name] % len(golfer.drills)]
            turn[golfer.name] += 1
            drill = catalogue.drill(id).with_set(sets)
            played = PlayedRun(at, golfer.name, drill, tuple(sets))
            stop = "given up" if golfer.name == "Mara" and turn["Mara"] == GIVEN_UP else ""
            at += timedelta(seconds=90 + play(played, golfer, progress, rng, stop))
            runs.append(played)
    tobi = next(golfer for golfer in GOLFERS if golfer.name == "Tobi")
    last = PlayedRun(at + timedelta(hours=1), tobi.name, catalogue.drill("miss-total"))
    play(last, tobi, 1, rng, "left open")
    people = tuple(
        Person(
            g.name,
            (("unit", "yd"), ("hand", g.hand), ("index", g.index), ("goal", g.goal)),
        )
        for g in GOLFERS
    )
    # Drawn on their own, so that what is told of one kind leaves the others as they are.
    parts: list[Anything] = [
        *runs,
        *sessions(catalogue, random.Random(SEED + 1)),
        *matches(catalogue, random.Random(SEED + 2)),
        *cards(random.Random(SEED + 3)),
    ]
    return Journal(people, (*sorted(parts, key=lambda part: part.at), last))


def remade() -> str:
    """The text of the journal, from the seed and the bundled drills."""
    return write(make(load([bundled("games")])), HEADER)


if __name__ == "__main__":
    file = bundled("demo_data") / JOURNAL
    file.write_text(remade(), encoding="utf-8", newline="\n")
    print(file)
