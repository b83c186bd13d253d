"""What looking back asks of the records: the right rows, by an index, and not too many of them."""

from __future__ import annotations

import random
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, event

from drillrunner.app.looking_back import NEWEST
from drillrunner.catalogue.loader import Catalogue
from drillrunner.rules.keypad import read
from drillrunner.store.database import Prepared
from drillrunner.store.store import Store
from tests.app.conftest import played
from tests.benchmarks.looking_back import multiply
from tests.store.conftest import Clock

SHOTS = 60_000


@pytest.fixture
def three_days(
    store: Store, catalogue: Catalogue, clock: Clock
) -> tuple[str, str, tuple[datetime, ...]]:
    """Ines on three days, Tobi on the last: two widths of the corridor, and wedges. Both ids."""
    ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
    corridor = catalogue.drill("hold-the-corridor")
    starts = []
    for day, (drill, texts) in enumerate(
        (
            (corridor, "5444"),
            (corridor.with_set(["aim.width=32"]), "55444"),
            (catalogue.drill("four-wedges-in-a-row"), "5555"),
        )
    ):
        clock.now = datetime(2025, 5, 1 + day, 23, 30, tzinfo=UTC)
        starts.append(clock.now)
        played(store, ines.id, drill, *texts)
    played(store, tobi.id, corridor, *"555444")
    return ines.id, tobi.id, tuple(starts)


def test_runs_by_club_and_dates(
    store: Store, three_days: tuple[str, str, tuple[datetime, ...]]
) -> None:
    ines, _, (first, second, third) = three_days
    assert [run.score for run in store.history(None, ines, club="driver")] == [2, 1]
    assert [run.score for run in store.history(None, ines, since=second)] == [4, 2]
    assert [run.score for run in store.history(None, ines, until=second)] == [1]
    assert [run.score for run in store.history(since=third)] == [3, 4]
    assert store.history(since=third + timedelta(days=1)) == ()
    with pytest.raises(ValueError, match="zone"):
        store.history(since=first.replace(tzinfo=None))


def test_settings_are_the_newest_run_of_each(
    store: Store, catalogue: Catalogue, three_days: tuple[str, str, tuple[datetime, ...]]
) -> None:
    ines, tobi, (_, second, third) = three_days
    newest = [run.drill for run in store.settings(None, ines)]
    assert newest == ["four-wedges-in-a-row", "hold-the-corridor", "hold-the-corridor"]
    assert [run.player for run in store.settings()] == ["Tobi", "Ines", "Ines"]
    assert len(store.settings("hold-the-corridor", ines)) == 2
    assert len(store.settings(None, ines, club="driver")) == 2
    assert [run.score for run in store.settings(None, ines, since=second, until=third)] == [2]
    assert len(store.settings(None, tobi)) == 1
    played(store, ines, catalogue.drill("hold-the-corridor"), *"55444")
    assert [run.score for run in store.settings("hold-the-corridor", ines)] == [2, 2]


def test_balls_by_local_day(
    store: Store, three_days: tuple[str, str, tuple[datetime, ...]]
) -> None:
    ines, tobi, _ = three_days
    assert [tuple_of(day) for day in store.days(ines)] == [
        ("2025-05-03", 4, 1),
        ("2025-05-02", 5, 1),
        ("2025-05-01", 4, 1),
    ]
    assert [tuple_of(day) for day in store.days(tobi)] == [("2025-05-03", 6, 1)]
    assert tuple_of(store.days()[0]) == ("2025-05-03", 10, 2)


def tuple_of(day: object) -> tuple[str, int, int]:
    return day.day, day.balls, day.runs  # type: ignore[attr-defined]


@contextmanager
def fetched() -> Iterator[list[int]]:
    """Counts the rows that come out of the database."""
    counts: list[int] = []
    whole = Prepared.rows

    def counting(self: Prepared, *args: object, **kwargs: object) -> object:
        rows = whole(self, *args, **kwargs)  # type: ignore[arg-type]
        counts.append(len(rows))
        return rows

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Prepared, "rows", counting)
        yield counts


def test_a_long_history_is_read_by_its_indexes_and_no_further_than_shown(
    store: Store, catalogue: Catalogue, path: Path
) -> None:
    rng = random.Random(1)
    me, other = store.add_player("Ines"), store.add_player("Tobi")
    drills = [
        catalogue.drill("hold-the-corridor").with_set([f"aim.width={width}", "balls=10"])
        for width in (30, 40)
    ]
    for player in (me, other):
        for drill in drills:
            for _ in range(3):
                playing = store.begin(player.id, drill)
                while not playing.run.over:
                    playing.append(read(rng.choice("5554"), playing.run.game.ask))
    multiply(store.database.path, SHOTS)  # type: ignore[arg-type]
    statements: list[tuple[str, object]] = []
    listener = lambda c, cur, sql, values, ctx, many: statements.append((sql, values))  # noqa: E731
    event.listen(Engine, "before_cursor_execute", listener)
    since = datetime(2020, 1, 1, tzinfo=UTC)
    with fetched() as counts:
        settings = store.settings("hold-the-corridor", me.id, since=since, club="driver")
        runs = store.history(None, me.id, NEWEST, fingerprint=settings[0].fingerprint)
        store.days(me.id)
    assert len(runs) == NEWEST
    assert sum(counts) <= len(drills) + NEWEST + 10
    event.remove(Engine, "before_cursor_execute", listener)
    with closing(sqlite3.connect(path)) as plain:
        for sql, values in statements:
            if not sql.lstrip().upper().startswith("SELECT"):
                continue
            steps = [row[3] for row in plain.execute(f"EXPLAIN QUERY PLAN {sql}", values)]
            plan = " | ".join(steps)
            assert not re.search(r"SCAN (entry|run)\b", plan), plan
            assert "entry" not in plan, plan
