"""The search for the best choice, beside every choice there is."""

from __future__ import annotations

import random
from itertools import combinations, pairwise

from drillrunner.practice.sessions.pack import Offered, ordered, pack, total


def some_items(rng: random.Random, most: int) -> list[Offered]:
    return [
        Offered(
            f"d{at}",
            round(rng.uniform(0, 20), 3),
            rng.randint(1, 15),
            rng.choice((0, rng.randint(1, 25))),
            rng.choice("abc"),
            rng.random() < 0.3,
        )
        for at in range(rng.randint(0, most))
    ]


def test_never_worse_than_looking_at_every_choice() -> None:
    rng = random.Random(7)
    for _ in range(200):
        items, minutes, balls = some_items(rng, 9), rng.randint(1, 45), rng.randint(0, 80)
        again, green = rng.choice((0.2, 0.5, 1.0)), rng.choice((None, rng.randint(0, 20)))
        found = pack(items, minutes, balls, again, green)
        most = minutes if green is None else green
        assert sum(item.minutes for item in found if item.green) <= most
        assert sum(item.minutes for item in found) <= minutes
        assert sum(item.balls for item in found) <= balls
        every = (
            total(some, again)
            for count in range(len(items) + 1)
            for some in combinations(items, count)
            if sum(i.minutes for i in some) <= minutes
            and sum(i.balls for i in some) <= balls
            and sum(i.minutes for i in some if i.green) <= most
        )
        assert abs(total(found, again) - max(every)) < 1e-6


def test_the_order_of_the_list_says_nothing() -> None:
    rng = random.Random(8)
    for _ in range(50):
        items = some_items(rng, 10)
        # Equal worths, so that ids must settle it.
        items = [
            Offered(i.id, round(i.worth / 10), i.minutes, i.balls, i.group, i.green) for i in items
        ]
        found = pack(items, 30, 50)
        shuffled = items[:]
        rng.shuffle(shuffled)
        assert pack(shuffled, 30, 50) == found


def test_neighbours_differ_where_they_can() -> None:
    rng = random.Random(9)
    for _ in range(200):
        items = some_items(rng, 7)
        last = rng.choice(("a", "z", None))
        found = ordered(items, last)
        assert sorted(i.id for i in found) == sorted(i.id for i in items)
        groups = [item.group for item in found] + ([last] if last else [])
        alike = sum(one == other for one, other in pairwise(groups))
        counts = {group: groups.count(group) for group in groups}
        most = max(counts.values(), default=0)
        room = len(groups) - most + 1
        # The last one stands where it is, which may cost one more.
        assert alike <= max(most - room, 0) + 1
        if last is None:
            assert alike == max(most - room, 0)
