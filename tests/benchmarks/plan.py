"""Composing a plan with ten years of history, beside one query that reads that history."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.sessions.compose import compose
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.planning import Weighed, known
from drillrunner.store.store import Store
from tests.benchmarks.ratio import Ratio, in_turn, milliseconds

YEARS, A_YEAR, TIMES = 10, 100, 11
"""Ten years of a hundred runs."""
START = datetime(2016, 5, 1, 12, tzinfo=UTC)
DRILLS = ("hold-the-corridor", "three-drives-in-a-row", "wide-gate-narrow-gate")
LIMITS = Limits(60, 100)


def ratios() -> Iterator[Ratio]:
    """What history says, and the plan itself once the chances are known."""
    catalogue, rng = load([bundled("games")]), random.Random(1)
    now = START
    with TemporaryDirectory() as folder:
        path = Path(folder) / "plan.db"
        with Store.open(path, lambda: now, throwaway=True) as store:
            player = store.add_player("Player")
            for run in range(YEARS * A_YEAR):
                now = START + timedelta(days=run * 365 / A_YEAR)
                playing = store.begin(player.id, catalogue.drill(rng.choice(DRILLS)))
                while not playing.run.over:
                    playing.append(read(rng.choice("55546"), playing.run.ask))
            with closing(sqlite3.connect(path)) as rows:
                gather = lambda: milliseconds(lambda: known(store, player, catalogue, now))  # noqa: E731
                bare = lambda: milliseconds(lambda: rows.execute(QUERY).fetchall())  # noqa: E731
                ours, theirs = in_turn(gather, bare, TIMES)
                yield Ratio("plan: what ten years of history say", ours, theirs, "ms")
                facts, weighed = known(store, player, catalogue, now), Weighed(catalogue)
                compose(facts, LIMITS, weighed)
                composed = lambda: milliseconds(lambda: compose(facts, LIMITS, weighed))  # noqa: E731
                ours, theirs = in_turn(composed, bare, TIMES)
                yield Ratio("plan: composed from that (aim: under 200 ms)", ours, theirs, "ms")


QUERY = """
    SELECT r.*, d.title, d.drill, d.setting FROM run r
    JOIN drill_as_set d ON d.number = r.drill_as_set ORDER BY r.number DESC
"""
