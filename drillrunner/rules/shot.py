"""A shot as the player saw it, and the aim it is judged against.

Directions: `lateral` is negative to the left, `depth` is negative when short. Distances are exact
decimals in the drill's unit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from drillrunner.rules.units import Measure, Unit, numbered, on_green, text

Direction = Literal["lateral", "depth"]
Side = Literal[-1, 0, 1]
Interval = tuple[Decimal | None, Decimal | None]
"""An open-ended stretch of one direction: `None` is infinity on that side."""

WORDS: dict[Direction, tuple[str, str, str]] = {
    "lateral": ("left", "in", "right"),
    "depth": ("short", "in", "long"),
}


NearLie = Literal["green", "fringe", "rough", "sand"]
"""What a ball lies on that is played to the hole from near by."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What the shot is hit at: a carry, a corridor `width`, a window `depth`, each optional.

    length, lie: where the ball is played from to the hole: how far, in `measure`, and on what.
    width_error: what the width may be off either way, if it was measured; it judges no shot.
    far_left, far_right: how far from the middle a second trouble begins beside a corridor; it tells
    a far miss from a near one. What a file may say of them is checked where it is read.
    """

    carry: Decimal | None = None
    width: Decimal | None = None
    depth: Decimal | None = None
    width_error: Decimal | None = None
    length: Decimal | None = None
    lie: NearLie | None = None
    far_left: Decimal | None = None
    far_right: Decimal | None = None

    def __post_init__(self) -> None:
        for name in self.__slots__:
            if isinstance(number := getattr(self, name), int | float):
                object.__setattr__(self, name, Decimal(str(number)))

    @property
    def said(self) -> dict[str, Any]:
        """What it has, by name."""
        pairs = ((name, getattr(self, name)) for name in self.__slots__)
        return {name: value for name, value in pairs if value is not None}

    @property
    def fars(self) -> tuple[Decimal | None, Decimal | None]:
        """Where the second trouble begins, left and right."""
        return self.far_left, self.far_right

    def far(self, shot: Shot) -> bool:
        """Whether the shot missed a corridor as far as the second trouble of its side.

        It did if a number says so, or else if it was told as one of the block's upper corners.
        """
        seen = shot.lateral
        if seen is None or not seen.side:
            return False
        begins = self.far_left if seen.side < 0 else self.far_right
        if begins is None or seen.lost:
            return False
        if seen.size is not None:
            return seen.size > begins
        return shot.depth is not None and shot.depth.side == 1

    def measure(self, unit: Unit) -> Measure:
        """What the length is in, for a drill in this unit: putts are in feet, or in metres."""
        return on_green(unit) if self.lie == "green" else unit

    def edge(self, direction: Direction) -> Decimal | None:
        """Distance from the aim to the edge in a direction, or `None` where it has none."""
        span = self.width if direction == "lateral" else self.depth
        return None if span is None else span / 2

    @property
    def judged(self) -> tuple[Direction, ...]:
        """The directions in which this aim can be missed."""
        if self.width is None:
            return () if self.depth is None else ("depth",)
        return ("lateral",) if self.depth is None else ("lateral", "depth")

    def holds(self, shot: Shot, within: int = 1) -> bool:
        """Whether the shot finished inside every direction that the aim judges.

        A ball to the hole holds if it took at most `within` strokes.
        """
        if shot.strokes is not None:
            return shot.strokes <= within
        across, along = _within(shot.lateral, self.width), _within(shot.depth, self.depth)
        return not shot.out and across and along

    def regions(
        self, shot: Shot, direction: Direction, lost_beyond: Decimal | None = None
    ) -> tuple[Interval, ...]:
        """Where the ball can have finished in one direction, as disjoint intervals of the miss.

        Empty when the shot says nothing of that direction. A lost ball lies beyond `lost_beyond`
        (the drill's cap; the aim itself where there is none) on the side named, or on either.
        """
        edge = self.edge(direction)
        if shot.out:
            known = self.judged == (direction,) and edge is not None
            return _beyond(None, edge) if known and edge is not None else ()
        seen = shot.seen(direction)
        if seen is None and direction == "depth" and shot.carry is not None and self.carry:
            seen = Seen.number(shot.carry - self.carry, shot.carry_grid or Decimal(1))
        if seen is None:
            return ()
        if seen.lost:
            return _beyond(seen.side, lost_beyond or Decimal(0))
        if seen.size is not None:
            return _around(seen.side, seen.size, (seen.grid or Decimal(1)) / 2)
        if edge is None:
            return ()
        return ((-edge, edge),) if seen.side == 0 else _beyond(seen.side, edge)


def _within(seen: Seen | None, span: Decimal | None) -> bool:
    if seen is None or span is None:
        return True
    if seen.size is not None:
        return seen.size <= span / 2
    return seen.side == 0 and not seen.lost


def _beyond(side: Side | None, edge: Decimal) -> tuple[Interval, ...]:
    left: Interval = (None, -edge)
    right: Interval = (edge, None)
    return (left, right) if side is None else ((right,) if side > 0 else (left,))


def _around(side: Side | None, size: Decimal, half: Decimal) -> tuple[Interval, ...]:
    if side is not None:
        return ((side * size - half, side * size + half),)
    if size < half:
        return ((-size - half, size + half),)
    return ((-size - half, -size + half), (size - half, size + half))


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of one direction.

    side: -1, 0 or 1; `None` when the side was not seen.
    size: distance off the aim, never negative; `None` for a zone of the aim or a lost ball.
    grid: the step on which `size` was read.
    lost: the ball was not found.
    """

    side: Side | None
    size: Decimal | None = None
    grid: Decimal | None = None
    lost: bool = False

    @classmethod
    def number(cls, miss: Decimal, grid: Decimal) -> Seen:
        """A signed miss read on a grid."""
        return cls(0 if miss == 0 else (1 if miss > 0 else -1), abs(miss), grid)

    @property
    def signed(self) -> Decimal | None:
        """The signed miss, or `None` where the side or the distance is not known."""
        if self.size is None or self.side is None:
            return None
        return self.side * self.size

    def words(self, direction: Direction) -> str:
        """The reading as a person says it: `15 left`, `long`, `lost right`, `12 off`."""
        side = "" if self.side is None else WORDS[direction][self.side + 1]
        if self.lost:
            return f"lost {side}".strip()
        if self.size is None:
            return side
        if self.size == 0:
            return "dead on"
        return f"{text(self.size)} {side or 'off, side not seen'}"


@dataclass(frozen=True, slots=True)
class Shot:
    """One ball as the player saw it. `out`: it missed the aim, and the side was not seen.

    strokes: how many it took to hole out from the station. leave: what this one left to the hole,
    in feet (in metres where the drill is), nothing if it was holed. call: the carry that was said
    before it was seen.
    """

    lateral: Seen | None = None
    depth: Seen | None = None
    carry: Decimal | None = None
    carry_grid: Decimal | None = None
    out: bool = False
    strokes: int | None = None
    leave: Decimal | None = None
    leave_grid: Decimal | None = None
    call: Decimal | None = None
    call_grid: Decimal | None = None

    def seen(self, direction: Direction) -> Seen | None:
        """The reading of one direction."""
        return self.lateral if direction == "lateral" else self.depth

    def miss(self, direction: Direction) -> Decimal | None:
        """The distance off the aim in one direction, never negative; `None` if lost or unread."""
        seen = self.seen(direction)
        return None if seen is None else seen.size

    @property
    def off_call(self) -> Seen | None:
        """How far the carry was off what was called: beyond it is long; `None` without a call."""
        if self.call is None or self.carry is None:
            return None
        return Seen.number(self.carry - self.call, self.carry_grid or Decimal(1))

    def words(self, unit: Unit = "yd", aim: Aim | None = None) -> str:
        """The shot as a person says it: `15 left`, `in`, `right, long`, `64 yd`.

        aim: what it was hit at; one beyond its second trouble is `far right`.
        """
        if aim is not None and aim.far(self) and self.lateral is not None:
            return f"far {self.lateral.words('lateral')}"
        if self.out:
            return "out, side not seen"
        if self.call is not None and self.carry is not None:
            return f"called {text(self.call)}, flew {text(self.carry)} {unit}"
        if self.strokes is not None:
            return numbered(self.strokes, "stroke")
        if self.leave is not None:
            return f"{text(self.leave)} {on_green(unit)} left" if self.leave else "holed"
        if self.carry is not None:
            return f"{text(self.carry)} {unit}"
        directions: tuple[Direction, ...] = ("lateral", "depth")
        said = [seen.words(d) for d in directions if (seen := self.seen(d)) is not None]
        off = [words for words in said if words != "in"]
        return ", ".join(off) if off else "in"
