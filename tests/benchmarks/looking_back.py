"""History and best on a million stored shots, beside one hand-written SQL query for each.

The bare side is plain `sqlite3` on the same file and the same indexes. It is shown twice: making
the same answer (times with their offset, decimals, the setting read), and leaving the rows raw.
"""

from __future__ import annotations

import json
import random
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from functools import cache
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
    """Play runs of 20 balls through the real rules; a player's id and a drill's fingerprint."""
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


@cache
def zone(minutes: int) -> timezone:
    return timezone(timedelta(minutes=minutes))


setting = cache(json.loads)


def answer(row: tuple[object, ...]) -> tuple[object, ...]:
    """What a row means, made by hand."""
    run, drill, title, player, at, offset, end, end_offset, finished, why, score, *rest = row
    return (
        run,
        drill,
        title,
        player,
        datetime.fromisoformat(f"{at}+00:00").astimezone(zone(offset)),
        end and datetime.fromisoformat(f"{end}+00:00").astimezone(zone(end_offset)),
        bool(finished),
        why,
        None if score is None else Decimal(score) / 100,
        *rest[:-1],
        setting(rest[-1]),
    )


def ratios() -> Iterator[Ratio]:
    with TemporaryDirectory() as home:
        path = Path(home) / "drillrunner.db"
        player, fingerprint = play(path)
        stored = f"{multiply(path, SHOTS):,} shots"
        with Store.open(path) as store, closing(sqlite3.connect(path)) as rows:
            (number,) = rows.execute("SELECT number FROM player WHERE id = ?", [player]).fetchone()
            drill = "hold-the-corridor"
            whole = len(store.history(drill, player))
            for what, limit in ((f"newest {SCREEN}", SCREEN), (f"all {whole:,} runs", whole)):
                yield from _beside(
                    f"history, {what}, {stored}",
                    lambda limit=limit: store.history(drill, player, limit),  # type: ignore[misc]
                    lambda limit=limit: rows.execute(HISTORY, (number, drill, limit)),  # type: ignore[misc]
                )
            yield from _beside(
                f"best, {stored}",
                lambda: store.best(player, fingerprint),
                lambda: rows.execute(BEST, (number, fingerprint)),
            )


def _beside(
    what: str, ours: Callable[[], object], query: Callable[[], sqlite3.Cursor]
) -> Iterator[Ratio]:
    def made() -> object:
        return [answer(row) for row in query().fetchall()]

    for how, bare, aim in (("", made, 1.3), (" (raw rows)", lambda: query().fetchall(), None)):
        medians = in_turn(
            lambda: milliseconds(ours),
            lambda bare=bare: milliseconds(bare),  # type: ignore[misc]
            TIMES,
        )
        yield Ratio(what + how, *medians, "ms", aim)
