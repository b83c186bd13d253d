"""Expected strokes as they are looked up: solved once (`make`), kept as data, read in between.

The files `men.csv` and `women.csv` have a line for each index and lie: thousandths of a stroke at
each of `SHOTS` yards, or `GREEN` feet; `missed-` before a lie: what a shot from there that misses
leaves. An index between two rows is read on a straight line
between them (off by 0.015 at most), and beyond the first and last their slopes go on.
"""

from __future__ import annotations

from array import array
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from drillrunner.catalogue.strokes.golfer import LIES, Lie
from drillrunner.catalogue.strokes.rating import Sex

INDICES: tuple[int, ...] = (-5, 0, 5, 10, 15, 18, 20, 25, 30, 36, 45, 54)
"""Nine that players have, and three beyond, so that nobody's strokes are guessed far outside."""
SHOTS: tuple[float, ...] = (*range(12, 59, 2), *range(60, 296, 5), *range(300, 661, 10))
GREEN: tuple[float, ...] = (
    *(quarter / 4 for quarter in range(1, 41)),
    *range(11, 31),
    *range(33, 130, 3),
)
LEAST_YARDS = 13.0
"""A ball off the green lies at least this far from its middle."""
FROM_MEN = "putting, bad shots and the ground are known for men only, and taken from there"
"""What is to be said wherever strokes of women are told."""

Change = str
CHANGES: tuple[Change, ...] = (
    "driver-narrower",
    "driver-longer",
    "approach-tighter",
    "wedge-distance",
    "short-tighter",
    "putting-tighter",
    "fewer-bad-shots",
)
"""What may become better, in the order in which a round meets it."""


@dataclass(frozen=True)
class Level:
    """The strokes of one index. shots: by lie, at `SHOTS`; putts: at `GREEN`.

    misses: by lie, at `SHOTS`: what is left on average after a shot from there that misses.
    """

    shots: Mapping[Lie, Sequence[float]]
    putts: Sequence[float]
    misses: Mapping[Lie, Sequence[float]]

    def of(self, distance: float, lie: Lie) -> float:
        """Strokes to hole out from `distance` yards to the middle of the green."""
        return _read(max(distance, LEAST_YARDS), SHOTS, self.shots[lie])

    def missed(self, distance: float, lie: Lie) -> float:
        """Strokes still to play, on average, after a shot from there stays off the green."""
        return _read(max(distance, LEAST_YARDS), SHOTS, self.misses[lie])

    def green(self, feet: float) -> float:
        """Putts to hole out from `feet` feet; none for no distance."""
        return 0.0 if feet <= 0 else _read(feet, GREEN, self.putts)


def level(index: float, sex: Sex = "men") -> Level:
    """The expected strokes of a golfer of that index."""
    return _level(round(index, 2), sex)


def worth(index: float, sex: Sex = "men") -> dict[Change, float]:
    """Strokes a round that each change is worth to a golfer of that index, on 6,400 yd (5,400)."""
    rows = _worths(sex)
    return {change: _between(index, INDICES, rows[change]) for change in CHANGES}


@cache
def _level(index: float, sex: Sex) -> Level:
    rows = _rows(sex)
    at = min(max(bisect_right(INDICES, index), 1), len(INDICES) - 1)
    low, high = INDICES[at - 1], INDICES[at]
    share = (index - low) / (high - low)

    def mixed(lie: str) -> tuple[float, ...]:
        pairs = zip(rows[low, lie], rows[high, lie], strict=True)
        return tuple((a + (b - a) * share) / 1000 for a, b in pairs)

    misses = {lie: mixed(f"missed-{lie}") for lie in LIES}
    return Level({lie: mixed(lie) for lie in LIES}, mixed("green"), misses)


def _between(x: float, nodes: Sequence[float], values: Sequence[float]) -> float:
    """On the straight line through the two nodes about x; beyond the ends the last slopes."""
    at = min(max(bisect_right(nodes, x), 1), len(nodes) - 1)
    low, high = nodes[at - 1], nodes[at]
    return values[at - 1] + (values[at] - values[at - 1]) * (x - low) / (high - low)


def _read(x: float, nodes: Sequence[float], values: Sequence[float]) -> float:
    return _between(min(max(x, nodes[0]), nodes[-1]), nodes, values)


@cache
def _rows(sex: Sex) -> dict[tuple[int, str], Sequence[int]]:
    rows: dict[tuple[int, str], Sequence[int]] = {}
    for line in _data(sex):
        index, lie, *values = line.split(",")
        rows[int(index), lie] = array("i", map(int, values))
    return rows


@cache
def _worths(sex: Sex) -> dict[Change, tuple[float, ...]]:
    rows = {}
    for line in _data(f"{sex}_worth"):
        change, *values = line.split(",")
        rows[change] = tuple(int(value) / 1000 for value in values)
    return rows


def _data(name: str) -> list[str]:
    return Path(__file__).with_name(f"{name}.csv").read_text("ascii").splitlines()
