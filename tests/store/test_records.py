"""Bests, history, shots and the first screen's facts: all by query."""

from __future__ import annotations

import random
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from decimal import Decimal

import pytest

from drillrunner.rules.run import Entry, Kind
from drillrunner.store import quick
from drillrunner.store.shapes import (
    BEST_COLUMNS,
    DRILL_COLUMNS,
    RUN_COLUMNS,
    Best,
    StoredRun,
)
from drillrunner.store.store import Store
from tests.store.conftest import entries, entry

CORRIDOR, NUMBER = "hold-the-corridor", "on-the-number"


def whole(store, player, drill, words, **about):
    playing = store.begin(player.id, drill, **about)
    playing.append_all(entries(words, drill.game().ask))
    return playing


def test_the_best_is_of_finished_runs_of_the_same_setting(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    narrow = drill.with_set(["aim.width=32"])
    assert store.best(ines.id, drill.fingerprint) is None
    first = whole(store, ines, drill, "5, 4, 4, 4")
    whole(store, ines, drill, "5, 5, 5, 5, give up")
    whole(store, ines, narrow, "5, 5, 5, 4, 4, 4")
    best = store.best(ines.id, drill.fingerprint)
    assert (best.run, best.score, best.setting) == (first.id, 1, drill.setting())
    assert store.best(ines.id, narrow.fingerprint).score == 3
    better = whole(store, ines, drill, "5, 5, 4, 4, 4")
    assert better.is_best
    assert better.best_before == best
    assert store.best(ines.id, drill.fingerprint).run == better.id
    assert {b.score for b in store.bests(ines.id)} == {2, 3}
    assert len(store.bests(drill_id=CORRIDOR)) == 2
    assert store.bests(drill_id=NUMBER) == ()


def test_another_title_is_the_same_record(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    whole(store, ines, drill, "5, 4, 4, 4")
    renamed = replace(drill, title="Corridor")
    later = whole(store, ines, renamed, "5, 5, 4, 4, 4")
    (best,) = store.bests(ines.id)
    assert (best.run, best.title) == (later.id, "Corridor")


def test_a_tie_keeps_the_earlier_run(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    first = whole(store, ines, drill, "5, 4, 4, 4")
    second = whole(store, ines, drill, "4, 5, 4, 4")
    assert first.is_best
    assert not second.is_best
    first.append(Entry(Kind.UNDO))
    assert second.is_best
    first.append(entry("6", drill.game().ask))
    assert second.is_best, "ended again after the second, it only ties"


def test_a_run_without_a_score_is_no_best(store, ines, catalogue):
    drill = catalogue.drill(NUMBER).with_set(["limit=5"])
    missed = whole(store, ines, drill, "1, 2, 3, 4, 5")
    stored = store.run(missed.id)
    assert (stored.finished, stored.score, stored.ended) == (True, None, "out of balls")
    assert store.bests() == ()
    hit = whole(store, ines, drill, "1, 2, 3, 45")
    assert store.best(ines.id, drill.fingerprint).run == hit.id
    fewer = whole(store, ines, drill, "1, 45")
    assert store.best(ines.id, drill.fingerprint).run == fewer.id


def test_a_decider_is_no_best(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    whole(store, ines, drill, "5, 5, 4, 4, 4", decider=True)
    assert store.bests() == ()
    assert store.history()[0].finished


def test_history_is_in_the_order_of_insertion_not_of_the_clock(store, ines, catalogue, clock):
    drill = catalogue.drill(CORRIDOR)
    first = whole(store, ines, drill, "4, 4, 4")
    clock.now = clock.now.replace(year=2020)
    second = whole(store, ines, drill, "4, 4, 4")
    tobi = store.add_player("Tobi")
    third = whole(store, tobi, catalogue.drill(NUMBER), "45")
    still = store.begin(ines.id, drill)
    still.append(entry("5", drill.game().ask))
    ids = [still.id, third.id, second.id, first.id]
    assert [run.run for run in store.history()] == ids
    assert [run.run for run in store.history(limit=2)] == ids[:2]
    assert [run.run for run in store.history(player_id=tobi.id)] == [third.id]
    assert [run.run for run in store.history(CORRIDOR)] == [still.id, second.id, first.id]
    assert [run.run for run in store.history(CORRIDOR, ines.id, 1)] == [still.id]
    assert store.history(CORRIDOR, tobi.id) == ()
    wide = store.history(fingerprint=drill.fingerprint)
    assert [run.run for run in wide] == [still.id, second.id, first.id]
    assert store.run("nothing") is None
    assert store.entries("nothing") == ()


def test_shots_are_the_ones_that_count_newest_first(store, ines, catalogue):
    corridor, misses = catalogue.drill(CORRIDOR), catalogue.drill("miss-total")
    one, two = store.begin(ines.id, corridor), store.begin(ines.id, misses)
    say = {one: corridor.game().ask, two: misses.game().ask}
    for playing, word in (
        (one, "5"),
        (two, "-15"),
        (one, "4"),
        (one, "undo"),
        (two, "+20"),
        (two, "void"),
        (two, "note x"),
        (one, "6"),
        (two, "3"),
    ):
        playing.append(entry(word, say[playing]))
    shots = store.recent_shots(ines.id, "driver")
    assert [(s.run, s.seq) for s in shots] == [(two.id, 5), (one.id, 4), (two.id, 1), (one.id, 1)]
    assert shots[0].asks == "miss"
    assert (shots[2].shot.lateral.signed, shots[2].shot.lateral.grid) == (-15, 5)
    assert (shots[1].aim.width, shots[1].unit, shots[1].direction) == (40, "yd", "lateral")
    assert store.recent_shots(ines.id, "driver", limit=2) == shots[:2]
    assert store.recent_shots(ines.id, "driver", limit=0) == ()
    assert store.recent_shots(ines.id, "driver", limit=None) == shots
    assert store.recent_shots(ines.id, "putter") == ()
    assert store.recent_shots("nobody", "driver") == ()
    capped = whole(store, ines, misses.with_set(["cap=40"]), "lost, give up", tally=True)
    newest = store.recent_shots(ines.id, "driver", limit=1)[0]
    assert (newest.run, newest.lost_counts, newest.shot.lateral.lost) == (capped.id, 40, True)


def test_shots_are_gathered_over_many_pages(store, ines, catalogue):
    """Beside a plain filter over every run, with more undone balls than one page holds."""
    drill, rng = catalogue.drill(CORRIDOR), random.Random(5)
    for _ in range(120):
        words = ["5"] * rng.randint(1, 8)
        words += rng.choice((["undo"], ["void"], ["undo", "void"] if len(words) > 1 else [], []))
        whole(store, ines, drill, ",".join([*words, "give up"]), tally=True)
    shots = store.recent_shots(ines.id, "driver", limit=None)
    expected = [
        (run.run, kept.seq)
        for run in store.history()
        for kept in reversed(store.entries(run.run))
        if kept.counts
    ]
    assert [(s.run, s.seq) for s in shots] == expected
    assert [s.number for s in shots] == sorted((s.number for s in shots), reverse=True)


def test_the_first_screens_facts_are_what_the_store_says(store, path, ines, catalogue):
    tobi = store.add_player("Tobi", index=Decimal("18.4"), unit="m")
    hidden = store.add_player("Mara")
    drill, narrow = catalogue.drill(CORRIDOR), catalogue.drill("hold-the-narrow-corridor")
    whole(store, ines, drill, "5, 4, 4, 4")
    whole(store, ines, drill, "5, 5, give up")
    for _ in range(quick.LAST + 1):
        whole(store, tobi, narrow, "5, 5, 4, 4")
    store.begin(tobi.id, drill).append(entry("5", drill.game().ask))
    whole(store, hidden, drill, "4, 4, 4")
    store.change_player(hidden.id, hidden=True)
    for player in (ines, tobi, hidden):
        facts = quick.home(path, player.name.upper())
        assert facts == store.home(player.name), "by either way"
        assert facts.player == store.player(player.name)
        assert facts.owner == ines.id
        assert facts.bests == {(b.player_id, b.fingerprint): b for b in store.bests(player.id)}
        assert facts.open_runs == store.open_runs(player.id)
    assert quick.home(path).player == store.player("Ines"), (
        "unless somebody is named it is the owner"
    )
    store.set_owner(hidden.id)
    assert quick.home(path).player == store.player("Ines"), "a hidden owner is not offered"
    assert quick.home(path).last_scores == {(ines.id, drill.fingerprint): (1,)}
    scores = quick.home(path, "Tobi").last_scores
    assert scores == {(tobi.id, narrow.fingerprint): (2,) * quick.LAST}
    assert quick.home(path, "nobody").player is None


def test_the_first_screen_waits_for_nothing(tmp_path, path):
    assert quick.home(tmp_path / "none.db") is None
    empty = tmp_path / "empty.db"
    empty.touch()
    assert quick.home(empty) is None
    assert empty.read_bytes() == b""
    Store.open(path).close()
    assert quick.home(path) == quick.HomeFacts(None, None, {}, {}, ())
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("BEGIN EXCLUSIVE")
        assert quick.home(path) in (None, quick.HomeFacts(None, None, {}, {}, ()))


def test_the_stores_own_queries_sort_nothing(store, path, ines, catalogue):
    """What the store really asks, as SQLite plans it."""
    asked: list[str] = []
    with store.database.reading() as connection:
        driver = connection.connection.driver_connection
        driver.set_trace_callback(asked.append)
    # The store goes on with the connection that it has.
    store.history(CORRIDOR, None, 9)
    store.history(CORRIDOR, ines.id, 9)
    store.history(None, ines.id, 9)
    store.history(None, None, 9, fingerprint="f")
    store.open_run(ines.id, CORRIDOR)
    store.open_runs()
    store.best(ines.id, "f")
    store.bests(ines.id)
    store.bests()
    store.recent_shots(ines.id, "driver", "full", 9)
    driver.set_trace_callback(None)
    plans = []
    with closing(sqlite3.connect(path)) as plain:
        for query in (text for text in asked if text.startswith("SELECT")):
            rows = plain.execute(f"EXPLAIN QUERY PLAN {query}").fetchall()
            plans.append((query, " | ".join(row[3] for row in rows)))
    assert len(plans) == 11
    for query, plan in plans:
        few = "ended IS NULL" in query or "rank IS NOT NULL" in query
        assert few or "B-TREE" not in plan, (query, plan)
        assert not re.search(r"SCAN (entry|run)(?! USING INDEX ix_run_open)", plan), (query, plan)


def test_the_first_screen_looks_through_no_table_of_runs(store, path):
    asked: list[str] = []
    with closing(sqlite3.connect(path)) as connection:
        quick.home_facts(
            lambda text, values: asked.append(text) or connection.execute(text, values)
        )
        store.add_player("Ines")
        quick.home_facts(
            lambda text, values: asked.append(text) or connection.execute(text, values)
        )
        assert len(set(asked)) >= 5
        for query in set(asked):
            values = dict.fromkeys(("player", "fingerprint", "limit", "number", "key"), 1)
            plan = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {query}", values)]
            scanned = [step for step in plan if step.startswith("SCAN") and "INDEX" not in step]
            few = {"SCAN p", "SCAN s", "SCAN player", "SCAN (subquery-4)", "SCAN owner"}
            assert set(scanned) <= few, (query, plan)
            assert "drill_as_set" not in " ".join(scanned)


@pytest.mark.parametrize(
    ("shape", "columns", "names"),
    [
        (StoredRun, (*RUN_COLUMNS, *DRILL_COLUMNS), {"run.id": "run", "player.name": "player"}),
        (Best, BEST_COLUMNS, {"run.id": "run", "player.name": "player", "run.ended_at": "at"}),
    ],
)
def test_columns_are_read_in_the_order_of_the_fields(shape, columns, names):
    read = [column for column in columns if not column.endswith("_offset")]
    own = {"player.id": "player_id", **names}
    assert shape._fields == tuple(own.get(column, column.split(".")[1]) for column in read)


def test_what_a_width_may_be_off_goes_with_its_shots_and_makes_no_other_record(
    store, ines, catalogue
):
    drill = catalogue.drill(CORRIDOR).with_set(["aim.width=38"])
    measured = drill.with_set(["aim.width_error=2.4"])
    whole(store, ines, drill, "5, 4, 4, 4")
    playing = whole(store, ines, measured, "5, 5, 4, 4, 4")
    assert store.best(ines.id, drill.fingerprint).run == playing.id
    errors = [one.aim.width_error for one in store.recent_shots(ines.id, "driver")]
    assert errors == [Decimal("2.4")] * 5 + [None] * 4
    assert {one.aim.width for one in store.recent_shots(ines.id, "driver")} == {Decimal(38)}
