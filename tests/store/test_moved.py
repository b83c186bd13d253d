"""A file that is taken away, replaced or robbed of its log while somebody plays."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillrunner.rules.run import Entry, Kind
from drillrunner.store.errors import Moved, PlayedElsewhere
from drillrunner.store.store import Store
from tests.store.conftest import Clock, entries, entry

DRILL = "hold-the-corridor"
KNOWN = ["5", "4", "5"]


@pytest.fixture
def store(path: Path, clock: Clock) -> Iterator[Store]:
    """As a player's, and made by itself."""
    with Store.open(path, clock, wait=0.2) as opened:
        yield opened


@pytest.fixture
def playing(store, ines, catalogue):
    playing = store.begin(ines.id, catalogue.drill(DRILL))
    for one in entries("5, 4, 5", playing.run.game.ask):
        playing.append(one)
    return playing


def moved_away(path: Path) -> None:
    path.rename(path.with_name("elsewhere.db"))


def another_in_its_place(path: Path) -> None:
    with Store.open(path.with_name("other.db")) as other:
        other.add_player("Tobi")
    path.with_name("other.db").replace(path)


def the_log_gone(path: Path) -> None:
    Path(f"{path}-wal").unlink()


def the_log_replaced(path: Path) -> None:
    Path(f"{path}-wal").unlink()
    Path(f"{path}-wal").write_bytes(b"")


@pytest.mark.parametrize(
    "happens", [moved_away, another_in_its_place, the_log_gone, the_log_replaced]
)
def test_it_is_noticed_before_the_next_entry_and_all_can_be_written_anew(
    store, path, playing, happens
):
    happens(path)
    before = playing.run
    with pytest.raises(Moved) as told:
        playing.append(entry("4", before.game.ask))
    assert "\n" not in str(told.value)
    assert str(path) in str(told.value)
    assert playing.run is before
    assert store.write_anew(playing) is before
    playing.append(entry("4", before.game.ask))
    with Store.open(path) as other:
        assert [one.text for one in other.entries(playing.id)] == [*KNOWN, "4"]
        assert other.run(playing.id).player == "Ines"


@pytest.mark.parametrize("log_too", [False, True])
def test_a_copy_over_the_open_file_is_noticed(store, path, playing, tmp_path, log_too):
    """Written over in place, which leaves the file the same one: its content is another."""
    with Store.open(tmp_path / "old.db") as other:
        other.add_player("Tobi")
    content = (tmp_path / "old.db").read_bytes()
    with store.database.reading() as connection:
        connection.rollback()
        connection.connection.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    playing.append(entry("5", playing.run.game.ask))
    with path.open("r+b") as file:
        file.write(content)
        file.truncate()
    if log_too:
        Path(f"{path}-wal").write_bytes(b"")
    with pytest.raises(Moved):
        playing.append(entry("4", playing.run.game.ask))


def test_what_is_there_already_is_not_written_twice(store, path, playing):
    shutil.copy(path, path.with_name("part.db"))
    shutil.copy(f"{path}-wal", path.with_name("part.db-wal"))
    playing.append(entry("4", playing.run.game.ask))
    playing.append(entry("4", playing.run.game.ask))
    path.unlink()
    path.with_name("part.db").rename(path)
    Path(f"{path}-wal").unlink()
    path.with_name("part.db-wal").rename(f"{path}-wal")
    with pytest.raises(Moved):
        playing.append(Entry(Kind.NOTE, "late"))
    store.write_anew(playing)
    stored = store.run(playing.id)
    assert [one.text for one in store.entries(playing.id)] == [*KNOWN, "4", "4"]
    assert (stored.score, stored.finished) == (2, True)
    with store.database.reading() as connection:
        query = "SELECT seq FROM entry JOIN run ON run.ended_by = entry.number"
        assert connection.exec_driver_sql(query).scalar() == 5


def test_a_run_that_went_on_differently_there_stays_as_it_is(store, path, playing, catalogue):
    with Store.open(path.with_name("other.db")) as other:
        player = other.add_player("Ines")
        there = other.begin(player.id, catalogue.drill(DRILL))
        there.id = playing.id
        there.append(entry("6", there.run.game.ask))
    path.with_name("other.db").replace(path)
    with pytest.raises(Moved):
        playing.append(entry("4", playing.run.game.ask))
    with pytest.raises(PlayedElsewhere):
        store.write_anew(playing)
    assert [one.text for one in store.entries(playing.id)] == ["6"]


def test_another_programs_tidying_is_no_move(store, path, playing):
    with Store.open(path) as other, other.database.writing() as connection:
        connection.exec_driver_sql("INSERT INTO alembic_version VALUES ('x')")
        connection.exec_driver_sql("DELETE FROM alembic_version WHERE version_num = 'x'")
    with Store.open(path) as other, other.database.reading() as connection:
        connection.rollback()
        connection.connection.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    playing.append(entry("4", playing.run.game.ask))
    assert [one.text for one in store.entries(playing.id)] == [*KNOWN, "4"]
