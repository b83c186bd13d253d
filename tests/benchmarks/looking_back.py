"""History and best on a million stored shots, beside one hand-written SQL query for each.

The bare side is plain `sqlite3` on the same file and the same indexes, and makes nothing of the
rows. Ours makes runs with times, decimals and the setting of them.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from drillrunner.catalogue.loader import bundled, load
from drillrunner.rules.keypad import read
from drillrunner.rules.run import Run
from drillrunner.store.store import Store
from tests.benchmarks.ratio import Ratio, in_turn, milliseconds

SHOTS = 1_000_000
PLAYERS, WIDTHS, RUNS = 8, (24, 28, 32, 36, 40), 5
TIMES = 51
SCREEN = 50
"""Runs that a screen of history shows at once."""

RUN = """
    r.id, d.drill, d.title, p.name, r.started, r.started_offset, r.ended_at, r.ended_offset,
    r.finished, r.ended, r.score, d.better, r.counted, r.voided, r.undone, d.setting
    FROM run r JOIN player p ON p.number = r.player JOIN drill_as_set d ON d.number = r.drill_as_set
"""
HISTORY = f"SELECT {RUN} WHERE r.player = ? AND r.drill = ? ORDER BY r.number DESC LIMIT ?"
BEST = f"""
    SELECT {RUN} WHERE r.player = ? AND r.fingerprint = ? AND r.rank IS NOT NULL
    ORDER BY r.rank, r.ended_by LIMIT 1
"""


def play(path: Path) -> tuple[str, str]:
    """Play some runs of 20 balls through the real rules; a player's id and a drill's fingerprint."""
    rng = random.Random(1)
    corridor = load([bundled("games")]).drill("hold-the-corridor")
    clock = lambda: datetime(2026, 3, 1, 12, tzinfo=UTC)  # noqa: E731
    with Store.open(path, clock, throwaway=True) as store:
        for number in range(PLAYERS):
            player = store.add_player(f"Player {number + 1}")
            for width in WIDTHS:
                drill = corridor.with_set([f"aim.width={width}", "lives=9", "balls=20"])
                for _ in range(RUNS):
                    playing = store.begin(player.id, drill)
                    run = Run.begin(drill.game())
                    while not run.over:
                        held = rng.random() < 0.8
                        entry = read("5" if held else rng.choice("46"), run.game.ask)
                        run = run.add(entry)
                        playing.append(entry)
        return player.id, drill.fingerprint


def multiply(path: Path, shots: int) -> int:
    """Copy the runs until there are so many shots; returns how many there are."""
    with closing(sqlite3.connect(path)) as rows:
        rows.execute("PRAGMA synchronous=OFF")
        (entries,) = rows.execute("SELECT max(number) FROM entry").fetchone()
        (runs,) = rows.execute("SELECT max(number) FROM run").fetchone()
        changed = {
            "run": {"number": f"number + k * {runs}", "id": "id || '-' || k"}
            | {"ended_by": f"ended_by + k * {entries}"},
            "entry": {"number": f"number + k * {entries}", "run": f"run + k * {runs}"},
        }
        for table, new in changed.items():
            names = [f'"{row[1]}"' for row in rows.execute(f"PRAGMA table_info({table})")]
            values = [new.get(name.strip('"'), name) for name in names]
            rows.execute(
                f"WITH RECURSIVE copies(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM copies "
                f"WHERE k < {-(-shots // entries) - 1}) INSERT INTO {table} ({', '.join(names)}) "
                f"SELECT {', '.join(values)} FROM copies, {table} ORDER BY k, number"
            )
        rows.commit()
        rows.execute("ANALYZE")
        rows.commit()
        (count,) = rows.execute("SELECT count(*) FROM entry").fetchone()
    return int(count)


def ratios() -> Iterator[Ratio]:
    with TemporaryDirectory() as home:
        path = Path(home) / "drillrunner.db"
        player, fingerprint = play(path)
        stored = f"{multiply(path, SHOTS):,} shots"
        with Store.open(path) as store, closing(sqlite3.connect(path)) as rows:
            number = rows.execute("SELECT number FROM player WHERE id = ?", [player]).fetchone()[0]
            whole = len(store.history("hold-the-corridor", player))

            def history(limit: int) -> list[float]:
                values = (number, "hold-the-corridor", limit)
                return in_turn(
                    lambda: milliseconds(lambda: store.history("hold-the-corridor", player, limit)),
                    lambda: milliseconds(lambda: rows.execute(HISTORY, values).fetchall()),
                    TIMES,
                )

            yield Ratio(f"history, newest {SCREEN} of {stored}", *history(SCREEN), "ms", 1.3)
            yield Ratio(f"history, all {whole:,} runs of one drill", *history(whole), "ms", 1.3)
            best = in_turn(
                lambda: milliseconds(lambda: store.best(player, fingerprint)),
                lambda: milliseconds(lambda: rows.execute(BEST, (number, fingerprint)).fetchone()),
                TIMES,
            )
            yield Ratio(f"best of one drill as set, {stored}", *best, "ms", 1.3)
