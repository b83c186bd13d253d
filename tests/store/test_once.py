"""A write whose confirmation is lost is known again; before there was trouble nobody looks."""

from __future__ import annotations

from contextlib import contextmanager

import pytest

from drillrunner.store.errors import DiskTrouble
from drillrunner.store.once import Once


class Losing:
    """A database that loses its confirmation as often as it is told to."""

    def __init__(self, times: int) -> None:
        self.times = times
        self.kept: list[str] = []

    @contextmanager
    def writing(self):
        yield self
        if self.times:
            self.times -= 1
            raise DiskTrouble("gone")


def test_what_was_lost_twice_is_written_once() -> None:
    database, looked = Losing(2), []
    once = Once(database)  # type: ignore[arg-type]

    def put(_: object) -> str:
        database.kept.append("5")
        return "put"

    def there(_: object) -> str | None:
        looked.append(len(database.kept))
        return "there" if database.kept else None

    for _ in range(2):
        with pytest.raises(DiskTrouble):
            once.write("run", put, there)
    assert once.write("run", put, there) == "there"
    assert (database.kept, looked) == (["5"], [1, 1])
    # What belongs to another, and what comes after it, is written without looking.
    assert once.write("other", put, there) == "put"
    assert once.write("run", put, there) == "put"
    assert looked == [1, 1]
