"""What a run says, in plain words: the last entry, what there is to beat, bias and spread.

Pure; figures come only from what was typed. Means and spreads are computed in exact decimals by
the standard library's `statistics` (checked against NIST StRD).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Literal

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.rules.outcome import SIDES
from drillrunner.rules.run import Ball, Entry, Kind, Run
from drillrunner.rules.score import Better, Score, beats
from drillrunner.rules.shot import WORDS, Aim, Direction, Seen, Shot, Side
from drillrunner.rules.station import HOLING, Ask
from drillrunner.rules.units import Unit, spoken, text


def entry_words(
    entry: Entry, unit: Unit, between: str | None = None, aim: Aim | None = None
) -> str:
    """One entry as a person says it: `15 left`, `driver hit`, `noted: wind got up`.

    aim: what a shot was hit at, where that is known.
    """
    if entry.shot is not None:
        return entry.shot.words(unit, aim)
    if entry.kind is Kind.BETWEEN:
        return f"{between or 'ball in between'} hit"
    if entry.kind is Kind.NOTE:
        return f"noted: {entry.text}"
    return {Kind.UNDO: "undo", Kind.VOID: "void", Kind.GIVE_UP: "given up"}[entry.kind]


def last_words(before: Run, after: Run) -> str:
    """The latest entry in words, with what it acted on: `15 left`, `undone: 15 left`.

    before: the run without that entry.
    """
    entry, unit = after.entries[-1], after.game.unit
    if entry.kind is Kind.SHOT:
        return entry_words(entry, unit, aim=before.ask.aim) + _number(after, before.ask)
    if entry.kind is Kind.UNDO:
        flipped = (at for at, was in enumerate(before.live) if was and not after.live[at])
    elif entry.kind is Kind.VOID:
        flipped = (at for at, was in enumerate(before.voids) if not was and after.voids[at])
    else:
        return entry_words(entry, unit, after.between)
    acted_on = after.entries[next(flipped)]
    what = entry_words(acted_on, unit, after.between)
    if acted_on.kind is Kind.SHOT and before.balls:
        ask = before.balls[-1].ask
        what = entry_words(acted_on, unit, aim=ask.aim) + _number(after, ask)
    return f"undone: {what}" if entry.kind is Kind.UNDO else f"void: {what}"


def _number(run: Run, ask: Ask) -> str:
    """Which number a ball was aimed at, in a game where that changes; else empty."""
    if not run.game.moves or ask.asks != "carry" or ask.aim.carry is None:
        return ""
    return f", aimed at {text(ask.aim.carry)}"


def resumed_words(run: Run) -> str:
    """`last_words` of a run taken up again; empty before the first entry."""
    if not run.entries:
        return ""
    return last_words(Run.fold(run.game, run.entries[:-1], run.between, run.tally), run)


def to_beat(better: Better, best: Score, score: Score) -> str:
    """What there is to beat, and how far off it is: `to beat 9: 4 more`.

    It counts what is needed to be strictly better, in whole numbers where both scores are whole.
    A running score never falls, so a beaten best stays beaten, and a passed one out of reach.
    """
    if best is None:
        return "no best yet: this run sets it"
    if score is None:
        return f"{text(best)} stays the best"
    gap = Decimal(best) - Decimal(score)
    whole = gap == int(gap) and Decimal(best) == int(best)
    if better == "higher":
        if gap < 0:
            return f"{text(best)} is beaten: a new best when it ends"
        return f"to beat {text(best)}: " + (f"{text(gap + 1)} more" if whole else _over(gap))
    if gap <= 0:
        return f"{text(best)} is out of reach"
    return f"to beat {text(best)}: " + (
        f"at most {text(gap - 1)} more" if whole else f"less than {text(gap)} more"
    )


def _over(gap: Decimal) -> str:
    return f"over {text(gap)} more"


@dataclass(frozen=True, slots=True)
class AgainstBest:
    """A run beside the best from before it. `is_best`: it takes the record."""

    headline: str
    replaces: str
    is_best: bool


def against_best(better: Better, run: Run, best: Score, broken: bool = False) -> AgainstBest:
    """How a run that has ended stands to the best from before it."""
    kept = "" if best is None else f"the best stays {text(best)}"
    if broken:
        return AgainstBest("ended by a fault in the game: it counts for no best", kept, False)
    if not run.finished:
        return AgainstBest("given up: it counts for no best", kept, False)
    if run.score is None:
        return AgainstBest("no score this time", kept, False)
    if best is None:
        return AgainstBest("your first score: the one to beat", "", True)
    gap = abs(Decimal(run.score) - Decimal(best))
    if beats(better, run.score, best):
        way = "more" if better == "higher" else "less"
        return AgainstBest(f"a new best, by {text(gap)} {way}", f"it replaces {text(best)}", True)
    if gap == 0:
        return AgainstBest("level with your best", f"the earlier {text(best)} keeps it", False)
    way = "short of" if better == "higher" else "over"
    return AgainstBest(f"{text(gap)} {way} your best", kept, False)


def mean_and_spread(values: Sequence[Decimal]) -> tuple[Decimal, Decimal | None]:
    """Mean, and standard deviation with n-1; `None` from a single value. Exact in decimals."""
    # Nobody asks before the first ball, which is shown sooner without.
    from statistics import mean, stdev

    return mean(values), stdev(values) if len(values) > 1 else None


def reading(ask: Ask, shot: Shot, direction: Direction) -> Seen | None:
    """What was seen of one direction; a carry is read as a miss of what was called or aimed at."""
    if ask.asks == "call":
        return shot.off_call if direction == "depth" else None
    if direction == "depth" and shot.carry is not None and ask.aim.carry is not None:
        return Seen.number(shot.carry - ask.aim.carry, shot.carry_grid or ask.grid)
    return shot.seen(direction)


def zone(aim: Aim, seen: Seen | None, direction: Direction) -> Side | None:
    """The side of the aim on which a ball finished, 0 inside its edges; `None`: not seen."""
    if seen is None:
        return None
    edge = aim.edge(direction)
    if seen.size is not None and edge is not None and seen.size <= edge:
        return 0
    return seen.side


def signed_misses(balls: Sequence[Ball]) -> tuple[Decimal, ...]:
    """The signed misses in the direction that each was asked in, where both were typed."""
    seen = (reading(ask, shot, ask.direction) for shot, ask in balls)
    return tuple(s.signed for s in seen if s is not None and s.signed is not None)


def pattern_words(balls: Sequence[Ball]) -> tuple[str, ...]:
    """Bias and spread of these balls in plain words: a line or a few; empty without a ball.

    Where they were hit with several clubs or swings, those of each under its name.
    """
    groups: dict[tuple[str, ...], list[Ball]] = {}
    for ball in balls:
        ask = ball.ask
        kind = (ask.club, ask.swing, ask.asks, ask.direction, ask.aim.lie or "")
        groups.setdefault(kind, []).append(ball)
    said: list[str] = []
    for (club, swing, *_, lie), group in groups.items():
        lines = _pattern_words(group)
        if len(groups) > 1:
            known = CLUBS.get(club)
            name = (known.label if known else club) + ("" if swing == "full" else f", {swing}")
            name += f", {lie}" if lie not in ("", "green") else ""
            lines = [f"{name}: {lines[0]}", *lines[1:]]
        said += lines
    return tuple(said)


def _pattern_words(balls: Sequence[Ball]) -> list[str]:
    """Of balls of one kind."""
    ask = balls[0].ask
    if ask.asks in HOLING:
        return list(_to_the_hole(balls))
    said = list(_sides(balls)) if ask.asks == "verdict" else []
    misses = signed_misses(balls)
    if len(misses) >= 2:
        said += _bias(ask, misses)
        if left := len(balls) - len(misses):
            said.append(f"{_balls(left)} without a side and a number left out of that")
    elif ask.asks != "verdict":
        said.append("too few balls with a side and a number to tell a bias")
    return said


def _to_the_hole(balls: Sequence[Ball]) -> Iterator[str]:
    """How many strokes balls took from each lie, or what putts left."""
    ask = balls[0].ask
    taken = [ball.shot.strokes for ball in balls if ball.shot.strokes is not None]
    if taken:
        counted = ((count, taken.count(count)) for count in sorted(set(taken)))
        yield ", ".join(f"{times} x in {count}" for count, times in counted)
        yield f"{text(round(Decimal(sum(taken)) / len(taken), 2))} strokes on average"
    left = [ball.shot.leave for ball in balls if ball.shot.leave is not None]
    if left:
        yield f"{text(round(mean_and_spread(left)[0], 1))} {ask.measure} left on average"


FEW = 6
"""Balls under which it is said how far apart they were, and not how they spread."""


def _bias(ask: Ask, misses: Sequence[Decimal]) -> Iterator[str]:
    centre, spread = mean_and_spread(misses)
    assert spread is not None
    low, _, high = WORDS[ask.direction]
    off = round(abs(centre), 1)
    way = f"{text(off)} {ask.unit} {low if centre < 0 else high}" if off else "dead on"
    yield f"on average {way}, over {_balls(len(misses))}"
    if len(misses) < FEW:
        apart = text(round(max(misses) - min(misses), 1))
        yield f"at most {apart} {spoken(ask.unit)} apart"
    else:
        yield f"about two in three within {text(round(spread, 1))} {spoken(ask.unit)} of that"


def _sides(balls: Sequence[Ball]) -> Iterator[str]:
    """How many finished on each side of their aim, a line for each direction that it judges."""
    for direction in balls[0].aim.judged:
        sides = [
            zone(ball.aim, reading(ball.ask, ball.shot, direction), direction) for ball in balls
        ]
        counts = [
            f"{word} {sides.count(side)}"
            for word, side in zip(WORDS[direction], SIDES, strict=True)
        ]
        if far := sum(ball.aim.far(ball.shot) for ball in balls if direction == "lateral"):
            counts.append(f"far off {far} of them")
        if unseen := sides.count(None):
            counts.append(f"side not seen {unseen}")
        yield ", ".join(counts)


def _balls(count: int) -> str:
    return f"{count} ball" if count == 1 else f"{count} balls"


@dataclass(frozen=True, slots=True)
class RunLine:
    """One line of the list of a run: the ball's number (none if it does not count), and words."""

    number: int | None
    words: str
    state: Literal["counts", "between", "void", "undone", "note", "left over"]


def run_lines(run: Run) -> Iterator[RunLine]:
    """Every shot, ball in between and note of a run, in order, with how each stands."""
    number = 0
    for at, entry in enumerate(run.entries):
        if entry.kind in (Kind.UNDO, Kind.VOID, Kind.GIVE_UP):
            continue
        counted = run.balls[number].aim if run.counts[at] else None
        words = entry_words(entry, run.game.unit, run.between, counted)
        if not run.live[at]:
            yield RunLine(None, words, "undone")
        elif entry.kind is Kind.NOTE:
            yield RunLine(None, words, "note")
        elif entry.kind is Kind.BETWEEN:
            yield RunLine(None, words, "between")
        elif run.voids[at]:
            yield RunLine(None, words, "void")
        elif run.counts[at]:
            number += 1
            yield RunLine(number, words, "counts")
        else:
            yield RunLine(None, words, "left over")


AWAY = timedelta(minutes=10)
"""A gap longer than this was no part of playing: the run was left and taken up again."""


def time_played(times: Sequence[datetime], now: datetime) -> timedelta:
    """How long a run has been played: the gaps between its entries, those spent away left out."""
    gaps = (after - before for before, after in pairwise((*times, now)))
    return sum((gap for gap in gaps if timedelta(0) < gap <= AWAY), timedelta(0))


def elapsed_words(passed: timedelta) -> str:
    """Time as minutes and seconds, `07:42`; a clock set back shows 00:00."""
    seconds = max(int(passed.total_seconds()), 0)
    return f"{seconds // 60:02}:{seconds % 60:02}"
