"""Kills a process that writes, again and again, while another program locks the file at random.

`python -m tests.store.kills [KILLS] [SEED]` prints how many were made and how much was lost, which
is to be nothing. Runs, a session, a match and a search are written in turn, through the queue that
the screens use, typed ahead of the disk; whatever was told as kept must be there after the kill,
and what is there must be the first so many things that were typed, in their order.
"""

from __future__ import annotations

import os
import random
import select
import signal
import sqlite3
import sys
import tempfile
import threading
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from drillrunner.rules.run import Entry, Kind
from drillrunner.store.errors import DiskTrouble
from drillrunner.store.store import Store
from drillrunner.store.writer import News, Writer
from tests.shipped import CATALOGUE

CORRIDOR, TOTAL = "hold-the-corridor", "miss-total-five"
MOST = 8
"""A kill comes at the latest with the next thing after so many are told as kept."""

AHEAD = 5
"""How many things are typed before the first of them is on disk."""


@dataclass(frozen=True)
class Tally:
    """kills: made. typed: what lies on disk at the end. locks: how often the file was held.

    waited: how often something typed had to wait for it. lost: told as kept and not there.
    """

    kills: int
    typed: int
    locks: int
    waited: int
    lost: int


class Hands:
    """Who types: thing after thing, numbered, into what is open."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.player, self.friend = (store.player(name) for name in ("Ines", "Tobi"))
        self.session, self.search = reversed(store.sessions())
        self.match = store.matches()[0]

    def type(self, number: int) -> None:
        """Write one thing: a ball of a run or of the match, an event of a session or a search."""
        (self._run, self._event, self._ball_of_match, self._ball_of_search)[number % 4](number)

    def _playing(self, player: str, drill: str, match: str | None = None):
        runs = self.store.history(drill, player, 1)
        if runs and runs[0].ended is None:
            return self.store.resume(runs[0].run, CATALOGUE.games)
        found = CATALOGUE.drill(drill)
        return self.store.begin(player, found, match_id=match, decider=match is not None)

    def _run(self, number: int) -> None:
        playing = self._playing(self.player.id, CORRIDOR)
        shots = [outcome.shot for outcome in playing.run.game.outcomes()]
        ball = Entry(Kind.SHOT, str(number), shots[number // 4 % len(shots)])
        playing.append(Entry(Kind.NOTE, str(number)) if number % 20 == 0 else ball)

    def _ball_of_match(self, number: int) -> None:
        who = (self.player, self.friend)[number // 4 % 2]
        playing = self._playing(who.id, TOTAL, self.match.id)
        shots = [outcome.shot for outcome in playing.run.game.outcomes()]
        ball = Entry(Kind.SHOT, str(number), shots[number // 4 % len(shots)])
        known = self.store.match(self.match.id)
        self.store.append_in_match(playing, ball, known, {"last": number}, ends=False)

    def _event(self, number: int) -> None:
        seq = len(self.store.session(self.session.id).events) + 1
        self.store.append_event(self.session.id, seq, "ball", {"typed": number})

    def _ball_of_search(self, number: int) -> None:
        seq = len(self.store.session(self.search.id).events) + 1
        found = None
        if seq % 6 == 0:
            carry = Decimal(60)
            lengths = {"low": carry - 3, "high": carry + 3, "spread": Decimal(4)}
            found = {"club": "gap-wedge", "swing": "half", "carry": carry, "unit": "yd", **lengths}
        self.store.append_event(self.search.id, seq, "ball", {"typed": number}, found=found)


def prepared(path: Path) -> None:
    with Store.open(path) as store:
        ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
        store.add_session(ines.id, {"what": "hour"})
        store.add_session(ines.id, {"what": "search"})
        store.add_match(TOTAL, [(ines.id, {}), (tobi.id, {})], {"last": -1})


def on_disk(path: Path) -> list[int]:
    """The numbers of all that lies there, by the plainest look, kind after kind in its order."""
    with closing(sqlite3.connect(path)) as plain:
        typed = [int(text) for (text,) in plain.execute("SELECT text FROM entry ORDER BY number")]
        query = "SELECT json_extract(data, '$.typed') FROM session_event ORDER BY number"
        events = [number for (number,) in plain.execute(query)]
        (last,) = plain.execute("SELECT json_extract(data, '$.last') FROM match").fetchone()
        balls = [number for number in typed if number % 4 == 2]
        assert last == (balls[-1] if balls else -1), "the match says what its entries say"
    assert typed == sorted(typed)
    assert events == sorted(events)
    return sorted([*typed, *events])


def child(path: Path, told: int) -> None:
    """Go on where the disk stands until killed; what is kept is told, and what waits as well."""
    store = Store.open(path)
    room = threading.Semaphore(AHEAD)

    def tell(news: News) -> None:
        if news.outcome == "waiting":
            os.write(told, b"w\n")
            return
        os.write(told, f"{news.number} {news.outcome} {news.error or ''}\n".encode())
        room.release()

    hands, writer = Hands(store), Writer(tell)

    def write(number: int) -> None:
        with store.database.patient(0.02):
            hands.type(number)

    number = len(on_disk(path))
    os.write(told, f"from {number}\n".encode())
    while True:
        room.acquire()
        writer.put(str(number), lambda number=number: write(number))
        number += 1


class Locks:
    """Another program that holds the file now and then, at random."""

    def __init__(self, path: Path, seed: int) -> None:
        self._path, self._rng = path, random.Random(seed)

    def __enter__(self) -> Locks:
        self._heard, held = os.pipe()
        self._pid = os.fork()
        if self._pid == 0:
            try:
                self._hold(held)
            finally:
                os._exit(1)
        os.close(held)
        return self

    def __exit__(self, *_: object) -> None:
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        self.count = 0
        while more := os.read(self._heard, 4096):
            self.count += len(more)
        os.close(self._heard)

    def _hold(self, held: int) -> None:
        with closing(sqlite3.connect(self._path, timeout=0, isolation_level=None)) as other:
            while True:
                time.sleep(self._rng.random() * 0.06)
                with suppress(sqlite3.OperationalError):
                    other.execute("BEGIN IMMEDIATE")
                    os.write(held, b".")
                    time.sleep(self._rng.random() * 0.08)
                    other.execute("ROLLBACK")


def killed(path: Path, seconds: float, least: int) -> tuple[int, int]:
    """Run a child, kill it after so long and so many; how many it told of, and how many waited."""
    heard, told = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.close(heard)
            child(path, told)
        except DiskTrouble:
            os._exit(0)  # held while it opened: no more than a person who is told so
        finally:
            os._exit(1)
    os.close(told)
    until, said = time.monotonic() + seconds, b""
    while True:
        left = until - time.monotonic()
        if left <= 0 and said.count(b" kept ") >= least:
            break
        ready, _, _ = select.select([heard], [], [], max(left, 0.005))
        if ready:
            more = os.read(heard, 4096)
            if not more:
                break
            said += more
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)
    while more := os.read(heard, 4096):
        said += more
    os.close(heard)
    os.waitpid(pid, 0)
    lines = said.decode().splitlines()
    refused = [line for line in lines if " refused " in line or " dropped " in line]
    assert not refused, refused
    start = next((int(line.split()[1]) for line in lines if line.startswith("from")), 0)
    kept = sum(" kept " in line for line in lines)
    return start + kept if kept else 0, lines.count("w")


def trial(folder: Path, kills: int, seed: int, least: int = 0) -> Tally:
    """So many kills of one database. Raises AssertionError where order or content is wrong."""
    rng, path = random.Random(seed), folder / "drillrunner.db"
    prepared(path)
    lost = waited = 0
    # The locks are a process of their own: a fork must not take a thread's connection with it.
    with Locks(path, seed + 1) as locks:
        for _ in range(kills):
            known, waits = killed(path, rng.random() * 0.1, rng.randint(least, MOST))
            there = on_disk(path)
            missing = sorted(set(range(max(there, default=-1) + 1)) - set(there))
            assert there == list(range(len(there))), ("no prefix of what was typed", missing)
            lost += max(known - len(there), 0)
            waited += waits
    return Tally(kills, len(on_disk(path)), locks.count, waited, lost)


if __name__ == "__main__":
    KILLS, SEED = (int(word) for word in (sys.argv[1:] + ["500", "1"][len(sys.argv) - 1 :])[:2])
    with tempfile.TemporaryDirectory() as home:
        print(trial(Path(home), KILLS, SEED))
