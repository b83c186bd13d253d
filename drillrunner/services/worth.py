"""What practice is worth to a player, with their own patterns where there are enough balls."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.strokes.rating import NO_INDEX
from drillrunner.services.needs import sex_of
from drillrunner.services.rounds import current_index
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store

if TYPE_CHECKING:
    from drillrunner.catalogue.strokes.rating import Sex
    from drillrunner.rules.shot import Direction

ENOUGH = 12
"""Balls with a club from which its own pattern stands in place of the model's."""
SHORT, WEDGE = 60.0, 120.0
"""Yards below which a shot belongs to the short game, and to the wedges."""
TENTH = 1.2816
"""The normal's quantile that 80 % lie within, either side."""

WORDS: Mapping[str, str] = {
    "driver-narrower": "driver 10 % narrower",
    "driver-longer": "driver 10 yards longer",
    "approach-tighter": "approaches 10 % tighter",
    "wedge-distance": "wedges 10 % nearer the number",
    "short-tighter": "short game 10 % tighter",
    "putting-tighter": "putting 5 % tighter",
    "fewer-bad-shots": "10 % fewer bad shots",
}
"""Each change in words."""


@dataclass(frozen=True)
class Worth:
    """Strokes a round that one change is worth. low, high: 80 % over the player's patterns.

    Both are `None`, and balls is 0, where the model's golfer of that index stands in.
    """

    change: str
    strokes: float
    low: float | None = None
    high: float | None = None
    balls: int = 0


@dataclass(frozen=True)
class _Width:
    """How much wider one pattern is than the model's: logarithm, its sd, and the balls behind."""

    log: float
    sd: float
    balls: int


def model_worth(index: float, sex: Sex = "men") -> tuple[Worth, ...]:
    """What each change is worth to the model's golfer of an index."""
    from drillrunner.odds.strokes.table import worth

    return tuple(Worth(change, strokes) for change, strokes in worth(index, sex).items())


def player_worth(store: Store, player: PlayerInfo) -> tuple[Worth, ...]:
    """What each change is worth to a player: the model's worth, times how much wider the own
    patterns are than the model's (first order only). Raises StoreError."""
    found = current_index(store, player)
    index = player.index if found is None else found
    own = NO_INDEX if index is None else float(index)
    widths = _widths(store, player, own)
    return tuple(
        _scaled(one, widths.get(one.change, ())) for one in model_worth(own, sex_of(player))
    )


def _scaled(one: Worth, widths: Iterable[_Width]) -> Worth:
    known = list(widths)
    balls = sum(width.balls for width in known)
    if not balls:
        return one
    log = sum(width.log * width.balls for width in known) / balls
    sd = math.sqrt(sum((width.sd * width.balls) ** 2 for width in known)) / balls
    middle, low, high = (one.strokes * math.exp(log + at * sd) for at in (0.0, -TENTH, TENTH))
    return Worth(one.change, middle, low, high, balls)


def _widths(store: Store, player: PlayerInfo, index: float) -> dict[str, list[_Width]]:
    """The player's patterns by the changes that they speak of."""
    from drillrunner.odds.desk import picture_of
    from drillrunner.odds.prior import guess

    found: dict[str, list[_Width]] = {}
    swings = dict.fromkeys((run.club, run.swing) for run in store.settings(None, player.id))
    for club, swing in swings:
        if club not in CLUBS or club == "putter":
            continue
        picture = picture_of(store, player, club, swing, unit=player.unit)
        about = picture.player
        directions: tuple[Direction, ...] = ("lateral", "depth")
        for direction in directions:
            changes = list(_changes(club, about.distance, direction))
            pattern = picture.of(direction)
            if not changes or pattern.guess or pattern.shots < ENOUGH:
                continue
            usual = guess(about.distance, direction, index, about.column).half_width
            band = pattern.half_width
            sd = (math.log(band.high) - math.log(max(band.low, 0.1))) / (2 * TENTH)
            width = _Width(math.log(max(band.median, 0.1) / usual), sd, round(pattern.shots))
            for change in changes:
                found.setdefault(change, []).append(width)
    return found


def _changes(club: str, yards: float, direction: Direction) -> Iterator[str]:
    if club == "driver":
        if direction == "lateral":
            yield "driver-narrower"
        return
    yield "short-tighter" if yards < SHORT else "approach-tighter"
    if direction == "depth" and yards < WEDGE:
        yield "wedge-distance"
