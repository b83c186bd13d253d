"""Which drills fill minutes and balls best: a small exact search.

What a choice is worth: the worth of each drill, the second of one group half as much, the third a
quarter, and so on, the more valuable first. Of equal choices the one stands that is met first, with
the items in the order of worth and id.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

MOST = 20
"""Drills that are looked at; of more those with the greatest worth for a minute."""

EQUAL = 1e-9
"""What two choices may differ by and still be equal."""


@dataclass(frozen=True)
class Offered:
    """A drill to be packed. group: what variety is asked of. green: it is played on the green."""

    id: str
    worth: float
    minutes: int
    balls: int
    group: str
    green: bool = False


def total(items: Sequence[Offered], again: float) -> float:
    """What a choice is worth. again: the share that each further one of a group keeps."""
    found = 0.0
    seen: dict[str, int] = {}
    for item in sorted(items, key=lambda item: (-item.worth, item.id)):
        found += item.worth * again ** seen.get(item.group, 0)
        seen[item.group] = seen.get(item.group, 0) + 1
    return round(found, 6)


def pack(
    items: Sequence[Offered],
    minutes: int,
    balls: int,
    again: float = 0.5,
    green: int | None = None,
) -> tuple[Offered, ...]:
    """The best choice within minutes and balls, the most worth first; empty where nothing fits.

    green: minutes that may be spent on the green at most.
    """
    green = minutes if green is None else green
    fitting = [
        item
        for item in items
        if item.minutes <= (min(green, minutes) if item.green else minutes) and item.balls <= balls
    ]
    dense = sorted(fitting, key=lambda item: (-item.worth / item.minutes, item.id))[:MOST]
    order = sorted(dense, key=lambda item: (-item.worth, item.id))
    search = _Search(order, again)
    search.from_(0, minutes, balls, green, 0.0, (), {})
    return search.best


class _Search:
    """Depth first over taking and leaving, cut where even all the rest adds too little."""

    def __init__(self, order: Sequence[Offered], again: float) -> None:
        self.order, self.again = order, again
        self.best: tuple[Offered, ...] = ()
        self._most = 0.0
        # Of each place those before it that lead: it is not taken where one of them was left.
        self._before = [
            sum(1 << early for early in range(late) if _leads(order[early], order[late]))
            for late in range(len(order))
        ]

    def from_(
        self,
        at: int,
        minutes: int,
        balls: int,
        green: int,
        worth: float,
        taken: tuple[Offered, ...],
        seen: Mapping[str, int],
        left: int = 0,
    ) -> None:
        """Look at all choices among the items from `at` on, beside those taken.

        left: the places before `at` that were left, a bit for each.
        """
        self._keep(worth, taken)
        if at == len(self.order):
            return
        if worth + self._bound(at, minutes, balls, seen) <= self._most + EQUAL:
            return
        item = self.order[at]
        room = item.minutes <= minutes and item.balls <= balls
        room = room and (item.minutes <= green or not item.green)
        if room and not left & self._before[at]:
            count = seen.get(item.group, 0)
            self.from_(
                at + 1,
                minutes - item.minutes,
                balls - item.balls,
                green - item.minutes * item.green,
                worth + item.worth * self.again**count,
                (*taken, item),
                {**seen, item.group: count + 1},
                left,
            )
        self.from_(at + 1, minutes, balls, green, worth, taken, seen, left | 1 << at)

    def _bound(self, at: int, minutes: int, balls: int, seen: Mapping[str, int]) -> float:
        """What the rest can add at most: each at what its group still counts, the last in part,
        and by the minutes or by the balls, whichever leaves less."""
        rest = [
            (item.worth * self.again ** seen.get(item.group, 0), item.minutes, item.balls)
            for item in self.order[at:]
            if item.minutes <= minutes and item.balls <= balls
        ]
        by_minutes = _in_part([(worth, minutes) for worth, minutes, _ in rest], minutes)
        return min(by_minutes, _in_part([(worth, balls) for worth, _, balls in rest], balls))

    def _keep(self, worth: float, taken: tuple[Offered, ...]) -> None:
        if worth > self._most + EQUAL:
            self.best, self._most = taken, worth


def _leads(one: Offered, other: Offered) -> bool:
    """Whether the other can always be changed for this one without loss."""
    alike = one.group == other.group and one.green <= other.green
    return alike and one.minutes <= other.minutes and one.balls <= other.balls


def _in_part(rest: list[tuple[float, int]], room: int) -> float:
    """The most worth that has room, if things may be taken in part."""
    found = 0.0
    for worth, size in sorted(rest, key=lambda one: -one[0] / max(one[1], 1e-6)):
        if size > room:
            return found + worth * room / size
        found += worth
        room -= size
    return found


def ordered(items: Sequence[Offered], last: str | None) -> tuple[Offered, ...]:
    """The items so that neighbours differ in group where that can be, the most worth first.

    last: the group of what comes after them.
    """
    left = sorted(items, key=lambda item: (-item.worth, item.id))
    found: list[Offered] = []
    after = last
    while left:
        counts = {item.group: 0 for item in left}
        for item in left:
            counts[item.group] += 1
        choice = [item for item in left if item.group != after] or left
        most = max(counts[item.group] for item in choice)
        # A group that is more than half of what is left must come now, or it stands side by side.
        crowded = 2 * most > len(left)
        chosen = [i for i in choice if counts[i.group] == most] if crowded else choice
        item = chosen[-1]
        left.remove(item)
        found.append(item)
        after = item.group
    return tuple(reversed(found))
