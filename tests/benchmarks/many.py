"""A database of many: what home and the bests cost with 1,000 players beside the same with one.

The bare side is the same file with the runs of one player alone. An import is shown beside reading
its file as JSON and inserting the entries as they are, which is the least that it has to do.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path

from drillrunner.store import exchange, quick
from drillrunner.store.store import Store
from tests.benchmarks.looking_back import multiply, play
from tests.benchmarks.players import environment
from tests.benchmarks.ratio import Ratio, in_turn, milliseconds

SHOTS = int(os.environ.get("DRILLRUNNER_SHOTS", "1000000"))
PLAYERS, SETTINGS, TIMES = 1_000, 60, 11


def spread(path: Path, players: int) -> str:
    """Give the runs to so many players, on 60 settings each; who has as many as one of them."""
    with closing(sqlite3.connect(path)) as rows:
        rows.execute("PRAGMA synchronous = OFF")
        names = [f'"{row[1]}"' for row in rows.execute("PRAGMA table_info(drill_as_set)")]
        for number in range(6, SETTINGS + 1):
            new = {'"number"': str(number), '"digest"': f"digest || '-{number}'"}
            new['"fingerprint"'] = f"fingerprint || '-{number}'"
            values = ", ".join(new.get(name, name) for name in names)
            rows.execute(
                f"INSERT INTO drill_as_set ({', '.join(names)})"
                f" SELECT {values} FROM drill_as_set WHERE number = {1 + number % 5}"
            )
        for number in range(9, players + 1):
            rows.execute(
                "INSERT INTO player SELECT ?, id || ?, name || ?, key || ?, unit, hand, "
                '"column", hidden, pace, at, at_offset FROM player WHERE number = 1',
                (number, *[f" {number}"] * 3),
            )
        rows.execute(
            "UPDATE run SET player = 1 + number % ?, drill_as_set = 1 + (number / ?) % ?",
            (players, players, SETTINGS),
        )
        rows.execute(
            "UPDATE run SET fingerprint = (SELECT fingerprint FROM drill_as_set AS d"
            " WHERE d.number = run.drill_as_set)"
        )
        rows.execute("UPDATE entry SET player = (SELECT player FROM run WHERE number = entry.run)")
        rows.commit()
        rows.execute("ANALYZE")
        rows.commit()
        (id,) = rows.execute("SELECT id FROM player WHERE number = 2").fetchone()
    return str(id)


def alone(path: Path, copy: Path, player: str) -> None:
    """The same file with one player's runs alone."""
    with closing(sqlite3.connect(path)) as old, closing(sqlite3.connect(copy)) as new:
        old.backup(new)
        query = "(SELECT number FROM player WHERE id = ?)"
        new.execute(
            f"DELETE FROM entry WHERE run IN (SELECT number FROM run WHERE player <> {query})",
            [player],
        )
        new.execute(f"DELETE FROM run WHERE player <> {query}", [player])
        for table in ("club", "visit", "handicap"):
            new.execute(f"DELETE FROM {table} WHERE player <> {query}", [player])
        new.execute("DELETE FROM player WHERE id <> ?", [player])
        new.commit()
        new.execute("ANALYZE")
        new.commit()


def ratios() -> Iterator[Ratio]:
    with environment() as env:
        home = Path(env["DRILLRUNNER_DB"]).parent
        path, one = home / "many.db", home / "one.db"
        play(path)
        stored = f"{multiply(path, SHOTS):,} shots"
        text = home / "export.json"
        with Store.open(path) as store, text.open("w", encoding="utf-8") as file:
            file.writelines(exchange.write(store.database))
        yield from _import(text, env, stored)
        player = spread(path, PLAYERS)
        alone(path, one, player)
        with Store.open(path) as many, Store.open(one) as few:
            name = many.player_of(player).name
            for what, ask, before in (
                (
                    "home before the first paint",
                    lambda s: quick.home(s.database.path, name),
                    "945 ms",
                ),
                ("home after a drill", lambda s: s.home(name), "1.7 s"),
                ("best", lambda s: s.bests(player), ""),
            ):
                medians = in_turn(
                    lambda ask=ask: milliseconds(lambda: ask(many)),  # type: ignore[misc]
                    lambda ask=ask: milliseconds(lambda: ask(few)),  # type: ignore[misc]
                    TIMES,
                )
                yield Ratio(f"{what}, {PLAYERS:,} players / one", *medians, "ms", 1.2, before)


OURS = """
import sys
from drillrunner.cli.main import main
code = main(["import", sys.argv[1], "--yes"])
"""
BARE = """
import json, sqlite3, sys
entries = json.load(open(sys.argv[1], encoding="utf-8"))["entry"]
names = ("run", "seq", "at", "kind", "text", "club", "swing", "aim_width", "out")
rows, code = sqlite3.connect(sys.argv[2]), 0
rows.execute(f"CREATE TABLE entry ({', '.join(names)}, UNIQUE (run, seq))")
marks = ", ".join("?" * len(names))
rows.executemany(
    f"INSERT INTO entry VALUES ({marks})", ([row.get(name) for name in names] for row in entries)
)
rows.commit()
"""
TELLS = """
import re
(peak,) = re.findall(r"VmHWM:\\s+(\\d+) kB", open("/proc/self/status").read())
print(peak)
sys.exit(code)
"""


def _import(text: Path, env: Mapping[str, str], stored: str) -> Iterator[Ratio]:
    """The command, in a process of its own as the bare one: how long, and the most memory."""
    found = []
    for code in (OURS, BARE):
        command = [sys.executable, "-c", code + TELLS, str(text), str(text.with_suffix(".bare"))]
        start = time.perf_counter()
        done = subprocess.run(command, env=env, check=True, capture_output=True, text=True)
        found.append((time.perf_counter() - start, int(done.stdout.split()[-1]) / 1024))
    (ours, peak), (bare, most) = found
    yield Ratio(f"import of {stored}", ours, bare, "s", "20 s", "60 s")
    yield Ratio("  its peak memory", peak, most, "MiB", "400 MB", "2.3 GB")
