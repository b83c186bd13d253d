"""A fresh store, players and drills for the tests of the store."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import Catalogue, bundled, load
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Entry, Kind
from drillrunner.rules.station import Ask
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.store.postgres import new_url, server_url, url
from tests.store.world import opened

__all__ = ["new_url", "server_url", "url"]

SUMMER = timezone(timedelta(hours=2))


class Clock:
    """A clock that a test moves; each look at it takes a second."""

    def __init__(self) -> None:
        self.now = datetime(2026, 6, 1, 18, 0, tzinfo=SUMMER)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def entry(word: str, ask: Ask) -> Entry:
    """An entry by word: what the keypad takes, `give up`, or `note ...`."""
    if word == "give up":
        return Entry(Kind.GIVE_UP)
    if word.startswith("note"):
        return Entry(Kind.NOTE, word.removeprefix("note "))
    return read(word, ask)


def entries(words: str, ask: Ask) -> list[Entry]:
    """Entries by words, separated by commas."""
    return [entry(word.strip(), ask) for word in words.split(",")]


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load([bundled("games")])


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shots" / "drillrunner.db"


@pytest.fixture
def store(path: Path, clock: Clock) -> Iterator[Store]:
    with opened(path, clock, wait=0.2) as one:
        yield one


@pytest.fixture
def ines(store: Store) -> PlayerInfo:
    return store.add_player("Ines")
