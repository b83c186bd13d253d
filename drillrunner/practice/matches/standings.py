"""Standings: who has beaten whom, on which drill, and for how long."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import combinations

from drillrunner.practice.matches.record import MatchRecord, Result


@dataclass(frozen=True)
class DecidedMatch:
    """A match that was decided. seats: place to the player's name, of those who are still here."""

    drill: str
    title: str
    at: datetime
    seats: dict[int, str]
    result: Result

    @classmethod
    def of(
        cls, drill: str, at: datetime, seats: dict[int, str], record: MatchRecord
    ) -> DecidedMatch | None:
        """From a match as it is kept; `None` where it counts for nothing.

        That is one not decided, or one against a file, which proves nothing against a cheat.
        """
        if record.result is None or record.challenge is not None:
            return None
        return cls(drill, record.title, at, seats, record.result)

    def beat(self, one: int, other: int) -> bool:
        """Whether a place came out before another: by winning, else by its rank."""
        winners = self.result.winners
        if (one in winners) != (other in winners):
            return one in winners
        mine, theirs = self.result.ranks.get(one), self.result.ranks.get(other)
        if one in winners or mine is None or theirs is None:
            return one not in winners and mine is not None and theirs is None
        return mine < theirs


@dataclass
class Tally:
    """Matches played, won alone, and shared."""

    played: int = 0
    won: int = 0
    shared: int = 0


@dataclass
class PlayerRow:
    """One player. run: matches won alone one after another up to now. drills: by drill id."""

    player: str
    total: Tally = field(default_factory=Tally)
    run: int = 0
    drills: dict[str, Tally] = field(default_factory=dict)


@dataclass(frozen=True)
class Pair:
    """Head to head of two players: who came out before the other, however many played."""

    one: str
    other: str
    won: int
    lost: int
    level: int


@dataclass(frozen=True)
class Standings:
    """A season. rows: most wins first. titles: by drill id."""

    matches: int
    rows: tuple[PlayerRow, ...]
    pairs: tuple[Pair, ...]
    titles: dict[str, str]


def standings(
    matches: Iterable[DecidedMatch], since: date | None = None, until: date | None = None
) -> Standings:
    """Sum up the matches that were begun from `since` to `until`, both days included.

    A shared match ends a run of wins.
    """
    season = [
        match
        for match in sorted(matches, key=lambda match: match.at)
        if (since is None or since <= match.at.date())
        and (until is None or match.at.date() <= until)
    ]
    rows: dict[str, PlayerRow] = {}
    for match in season:
        alone = len(match.result.winners) == 1
        for place, name in match.seats.items():
            row = rows.setdefault(name, PlayerRow(name))
            won = place in match.result.winners
            row.run = row.run + 1 if won and alone else 0
            for tally in (row.total, row.drills.setdefault(match.drill, Tally())):
                tally.played += 1
                tally.won += won and alone
                tally.shared += won and not alone
    ordered = sorted(
        rows.values(), key=lambda row: (-row.total.won, -row.total.shared, row.total.played)
    )
    return Standings(
        len(season),
        tuple(ordered),
        tuple(_pairs(season, [row.player for row in ordered])),
        {match.drill: match.title for match in season},
    )


def _pairs(season: Sequence[DecidedMatch], names: Sequence[str]) -> Iterable[Pair]:
    for one, other in combinations(names, 2):
        won = lost = level = 0
        for match in season:
            places = {name: place for place, name in match.seats.items()}
            if one in places and other in places:
                mine, theirs = places[one], places[other]
                if match.beat(mine, theirs):
                    won += 1
                elif match.beat(theirs, mine):
                    lost += 1
                else:
                    level += 1
        if won or lost or level:
            yield Pair(one, other, won, lost, level)
