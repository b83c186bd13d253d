"""Bays that type into one PostgreSQL server, are killed at random, and lose the server twice.

`python -m tests.store.bays [SECONDS] [BAYS] [SEED]` starts a server of its own, and prints how much
was shown as kept and how much of that is not on disk (which is to be nothing), or there twice. A
bay is a process that types a ball every third of a second or so into the queue that the screens
use, and says of each what a screen would show. The server is stopped in good order once and killed
once, and started again after some seconds.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count

from drillrunner.catalogue.loader import bundled, load
from drillrunner.rules.run import Entry, Kind
from drillrunner.store.errors import DiskTrouble
from drillrunner.store.store import Store
from drillrunner.store.writer import News, Writer
from tests.store.postgres import Server, asked, missing

DRILL = "hold-the-corridor"
BETWEEN = 0.3
"""Seconds between two balls of a bay, on average."""
KILLED = 4.0
"""Seconds between two kills of bays, on average."""
GONE = 3.0
"""Seconds that the server is away each time."""


# ---- a bay, in a process of its own ----


def play(url: str, bay: str, seed: int) -> None:
    """Type until killed; a line for each thing that is shown as kept, or refused."""
    chosen, catalogue = random.Random(seed), load([bundled("games")])
    drill = catalogue.drill(DRILL)
    store = _opened(url)
    player = store.player(bay) or store.add_player(bay)
    shots = [outcome.shot for outcome in drill.game().outcomes()]

    def told(news: News) -> None:
        if news.outcome != "waiting":
            print(news.outcome, news.words, news.error or "", flush=True)

    for run in count():
        writer = Writer(told)
        _one_run(store, catalogue, player.id, writer, chosen, shots, seed, run)
        writer.settle(600)
        writer.close(1)


def _opened(url: str) -> Store:
    while True:
        try:
            return Store.open(url)
        except DiskTrouble:
            time.sleep(0.2)


def _one_run(store, catalogue, player, writer, chosen, shots, seed, number) -> None:
    """A run from its first ball to its end, or the one that was left open by a kill."""
    playing = None
    while playing is None:
        with suppress(DiskTrouble):
            waiting = store.open_run(player, DRILL)
            if waiting is None:
                playing = store.begin(player, catalogue.drill(DRILL))
            else:
                playing = store.resume(waiting.run, catalogue.games)
    ahead = playing.run
    for ball in range(200):
        if ahead.over:
            break
        entry = Entry(Kind.SHOT, f"{seed}.{number}.{ball}", chosen.choice(shots))
        ahead, at = ahead.add(entry), store.clock()
        writer.put(
            f"{playing.id} {entry.text}", lambda e=entry, t=at: playing.append_all((e,), (t,))
        )
        time.sleep(chosen.uniform(0, 2 * BETWEEN))


# ---- all of them, and who kills them ----


@dataclass
class Tally:
    """shown: texts that were shown as kept. refused: what else was said, by kind."""

    kills: int = 0
    restarts: int = 0
    shown: set[str] = field(default_factory=set)
    refused: Counter[str] = field(default_factory=Counter)


def hear(process: subprocess.Popen[str], tally: Tally) -> None:
    """Take in what a bay shows until it ends; a line that a kill cut short was not shown."""
    assert process.stdout is not None
    for line in process.stdout:
        if line.endswith("\n"):
            outcome, run, text, *why = line.split(" ", 3)
            if outcome == "kept":
                tally.shown.add(f"{run} {text.strip()}")
            else:
                tally.refused["".join(why).strip()[:90]] += 1


def live(seconds: float, bays: int, seed: int) -> tuple[Tally, int, int, int]:
    """Let them play. Gives the tally, and entries on disk, not on disk though shown, and twice."""
    chosen, tally, server = random.Random(seed), Tally(), Server(sure=True)
    ears: list[threading.Thread] = []
    starts = iter(range(seed * 10**6, 10**12))

    def start(bay: int) -> subprocess.Popen[str]:
        words = [sys.executable, "-m", "tests.store.bays", "--bay", server.url]
        process = subprocess.Popen(
            [*words, f"Bay {bay}", str(next(starts))], stdout=subprocess.PIPE, text=True
        )
        ears.append(threading.Thread(target=hear, args=(process, tally)))
        ears[-1].start()
        return process

    try:
        server.start()
        Store.open(server.url).close()
        running = [start(bay) for bay in range(bays)]
        began = time.monotonic()
        stops = [(seconds / 3, signal.SIGINT), (2 * seconds / 3, signal.SIGQUIT)]
        while (now := time.monotonic() - began) < seconds:
            if stops and now >= stops[0][0]:
                server.stop(stops.pop(0)[1])
                time.sleep(GONE)
                server.start()
                tally.restarts += 1
            at = chosen.randrange(bays)
            running[at].kill()
            running[at].wait()
            tally.kills += 1
            running[at] = start(at)
            time.sleep(chosen.uniform(0, 2 * KILLED))
        for process in running:
            process.kill()
            process.wait()
        for ear in ears:
            ear.join()
        query = "SELECT run.id || ' ' || entry.text FROM entry JOIN run ON run.number = entry.run"
        there = Counter(text for (text,) in asked(server.url, query))
        lost, twice = len(tally.shown - set(there)), sum(n - 1 for n in there.values())
        return tally, there.total(), lost, twice
    finally:
        server.remove()


def main() -> int:
    """The program; its exit code."""
    if sys.argv[1:2] == ["--bay"]:
        with suppress(KeyboardInterrupt, BrokenPipeError):
            play(sys.argv[2], sys.argv[3], int(sys.argv[4]))
        return 0
    if why := missing():
        print(why)
        return 2
    given = [float(word) for word in sys.argv[1:]]
    seconds, bays, seed = (*given, *(300.0, 8, 1)[len(given) :])
    tally, there, lost, twice = live(seconds, int(bays), int(seed))
    print(
        f"{int(bays)} bays, {seconds:g} s: {tally.kills} kills, {tally.restarts} restarts of the "
        f"server; {there} entries on disk, {len(tally.shown)} shown as kept, of these {lost} not "
        f"on disk; {twice} there twice"
    )
    for why, times in tally.refused.most_common():
        print(f"{times} times: {why}")
    return 1 if lost or twice else 0


if __name__ == "__main__":
    sys.exit(main())
