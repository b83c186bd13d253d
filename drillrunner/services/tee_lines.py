"""Which club and which line on the holes of a course, from a player's own patterns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.courses import Course, Tee
from drillrunner.catalogue.strokes.golfer import Golfer
from drillrunner.catalogue.strokes.rating import NO_INDEX, Sex, ability
from drillrunner.catalogue.strokes.table import level
from drillrunner.odds.desk import Picture, picture_of, usual_carry
from drillrunner.odds.strokes.tee import (
    ClubOffTee,
    Line,
    TeeHole,
    best_lines,
    model_shot,
    own_shot,
)
from drillrunner.rules.units import convert

if TYPE_CHECKING:
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

GUESSED = ("driver", "3-wood", "hybrid", "5-iron", "7-iron")
"""Clubs that are looked at for a player of whom no pattern is known."""
NEAREST = 3
"""Clubs that are looked at on a short hole: those that come closest to its length."""
REACH = 0.15
"""Of a short hole's length, how far off it a club may go and be looked at. Our choice."""
LEAST = 0.6
"""Of the longest club's length, how far another must go to be looked at from other tees. Our
choice: a wedge gives two hundred yards away, and no trouble is worth that."""


@dataclass(frozen=True)
class HoleLines:
    """One hole. number: from 1. lines: best first; shots: as each club is hit, by its id."""

    number: int
    hole: TeeHole
    lines: tuple[Line, ...]
    shots: dict[str, ClubOffTee]

    @property
    def best(self) -> Line:
        """The club and line with the fewest expected strokes."""
        return self.lines[0]


@dataclass(frozen=True)
class CourseLines:
    """A course for a player. index: what counts; typed: whether the player has one.

    known: clubs with a pattern of the player's own. guesses: those of them that are a guess so
    far. holes: one for each that was asked for.
    """

    index: float
    typed: bool
    known: tuple[str, ...]
    guesses: frozenset[str]
    holes: tuple[HoleLines, ...]

    def words(self) -> Iterator[str]:
        """What stands behind the figures, in lines."""
        if not self.typed:
            yield f"no index is known: it counts as {self.index:.0f}"
        if not self.known:
            yield "no pattern of yours is known yet: clubs are as a golfer of that index hits them"
        elif self.guesses:
            guessed = (club for club in self.known if club in self.guesses)
            named = ", ".join(
                CLUBS[club].label.lower() if club in CLUBS else club for club in guessed
            )
            yield f"few shots so far, so still a guess: {named}"
        strange = [
            str(h.number) for h in self.holes if self.known and not {*h.shots} & {*self.known}
        ]
        if strange:
            holes = ("hole " if len(strange) == 1 else "holes ") + ", ".join(strange)
            yield f"{holes}: no pattern of yours with such a club, so as a golfer of that index"


def tee_hole(course: Course, number: int, tee: Tee) -> TeeHole:
    """A hole of a course as its tee shot meets it, in yards. number: from 1."""
    hole = course.holes[number - 1]

    def yards(value: Decimal) -> float:
        return float(convert(value, course.unit, "yd"))

    return TeeHole(
        hole.par,
        course.yards(number, tee),
        None if hole.width is None else yards(hole.width),
        {where: yards(begins) for where, begins in hole.troubles.items()},
    )


def course_lines(
    store: Store | None,
    player: PlayerInfo | None,
    course: Course,
    tee: Tee,
    numbers: Sequence[int] | None = None,
) -> CourseLines:
    """The lines of these holes (all unless said). Raises StoreError."""
    typed = player is not None and player.index is not None
    index = float(player.index) if player and player.index is not None else NO_INDEX
    sex: Sex = "women" if player is not None and player.column == "women" else "men"
    golfer, strokes = Golfer(ability(index, sex), sex), level(index, sex)
    pictures = dict(_pictures(store, player)) if store and player else {}
    own = {
        club: own_shot(
            club, found.player.distance, found.lateral.plausible(), found.depth.plausible(), golfer
        )
        for club, found in pictures.items()
    }
    guessed = {
        club: model_shot(club, golfer, min(usual_carry(club, index, sex), golfer.driver))
        for club in CLUBS
        if CLUBS[club].usual_carry
    }
    found = []
    for number in numbers or range(1, len(course.holes) + 1):
        hole, always = tee_hole(course, number, tee), course.holes[number - 1].club
        shots = _at(hole, always, own, guessed)
        lines = best_lines(hole, tuple(shots.values()), strokes)
        found.append(HoleLines(number, hole, lines, shots))
    guesses = frozenset(club for club, picture in pictures.items() if picture.lateral.guess)
    return CourseLines(index, typed, tuple(own), guesses, tuple(found))


def _pictures(store: Store, player: PlayerInfo) -> Iterator[tuple[str, Picture]]:
    """The clubs of which something is known across, with the full swing."""
    for club in store.clubs(player.id):
        if club.retired or not store.recent_shots(player.id, club.id, "full", 1):
            continue
        picture = picture_of(store, player, club.id, "full")
        if picture.lateral.shots:
            yield club.id, picture


def _at(
    hole: TeeHole, always: str | None, own: dict[str, ClubOffTee], guessed: dict[str, ClubOffTee]
) -> dict[str, ClubOffTee]:
    """The clubs to look at on a hole: the one that is always hit, else those that are known.

    On a short hole that all the known ones fly over, as a golfer of that index hits them.
    """
    if always is not None:
        return {always: own.get(always) or guessed.get(always) or guessed["driver"]}
    pool = own or (guessed if hole.par == 3 else {club: guessed[club] for club in GUESSED})
    if hole.par > 3:
        longest = max(shot.length for shot in pool.values())
        return {club: shot for club, shot in pool.items() if shot.length >= LEAST * longest}
    reach = REACH * hole.length
    near = _nearest(hole, pool)
    if pool[near[0]].length - hole.length > reach / 2.0:
        # The driver alone is known: no club for a short hole, since nobody swings it at half.
        pool, near = guessed, _nearest(hole, guessed)
    first, *others = near
    within = [club for club in others if abs(pool[club].length - hole.length) <= reach]
    return {club: pool[club] for club in (first, *within)}


def _nearest(hole: TeeHole, pool: dict[str, ClubOffTee]) -> list[str]:
    return sorted(pool, key=lambda club: abs(pool[club].length - hole.length))[:NEAREST]
