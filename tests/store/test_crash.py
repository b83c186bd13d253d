"""The process is killed after every single entry of a long series of runs; nothing is lost."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.store.records import typed
from drillrunner.store.store import Store
from tests.shipped import CATALOGUE
from tests.store import kills

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills forked processes")

LONG = 9
"""Entries after which a run of the series may be given up."""


def series(seed: int) -> list[tuple[str, list[Entry]]]:
    """A whole run of every bundled drill, with undos, voids and notes; no text twice."""
    rng = random.Random(seed)
    made = []
    for number, drill in enumerate(drill for drill in CATALOGUE.drills if not drill.stock):
        run = Run.begin(drill.game(), drill.between)
        shots = [outcome.shot for outcome in drill.game().outcomes()]
        while not run.over:
            text = f"{number}:{len(run.entries)}"
            ball = Entry(Kind.SHOT, text, rng.choice(shots))
            given = [Entry(Kind.BETWEEN, text) if run.between_due else ball] * 12
            given += [Entry(kind, text) for kind in (Kind.UNDO, Kind.VOID, Kind.NOTE)]
            given += [Entry(Kind.GIVE_UP, text)] * 3 if len(run.entries) > LONG else []
            try:
                run = run.add(rng.choice(given))
            except Refused:
                continue
        made.append((drill.id, list(run.entries)))
    return made


def on_disk(path: Path) -> list[list[Entry]]:
    """All runs that lie there, oldest first, by a fresh look at the file."""
    with Store.open(path) as store:
        return [list(typed(store.entries(run.run))) for run in reversed(store.history())]


def texts(path: Path) -> list[str]:
    """What was typed, in order, by the plainest look at the file that there is."""
    with closing(sqlite3.connect(path)) as connection:
        return [text for (text,) in connection.execute("SELECT text FROM entry ORDER BY number")]


def carry_on(path: Path, made: list[tuple[str, list[Entry]]], told: int, pause: bool) -> None:
    """In the child: go on where the disk stands, and tell of each entry once it is taken."""
    store = Store.open(path)
    player = store.player("Ines")
    assert player is not None
    stored = store.history()
    if stored and stored[0].ended is None:
        playing = store.resume(stored[0].run, CATALOGUE.games)
        at = len(stored) - 1
    else:
        at = len(stored)
        playing = store.begin(player.id, CATALOGUE.drill(made[at][0]))
    while True:
        for entry in made[at][1][len(playing.run.entries) :]:
            playing.append(entry)
            os.write(told, b".")
            while pause:
                signal.pause()
        at += 1
        if at == len(made):
            os._exit(0)
        playing = store.begin(player.id, CATALOGUE.drill(made[at][0]))


def kill_after(path: Path, made: list[tuple[str, list[Entry]]], count: int, pause: bool) -> int:
    """Run a child and kill it once it has told of `count` entries; how many it told of."""
    heard, told = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(heard)
            carry_on(path, made, told, pause)
        finally:
            os._exit(1)
    os.close(told)
    seen = 0
    while seen < count and (got := os.read(heard, count - seen)):
        seen += len(got)
    os.kill(child, signal.SIGKILL)
    while got := os.read(heard, 4096):
        seen += len(got)
    os.close(heard)
    os.waitpid(child, 0)
    return seen


def warm(folder: Path) -> None:
    """Do here what a child does, so that each child finds every statement compiled."""
    path = folder / "warm.db"
    for _ in range(2):
        with Store.open(path) as store:
            player = store.player("Ines") or store.add_player("Ines")
            open_runs = store.history()
            playing = (
                store.resume(open_runs[0].run, CATALOGUE.games)
                if open_runs
                else store.begin(player.id, CATALOGUE.drill("hold-the-corridor"))
            )
            playing.append(Entry(Kind.SHOT, "5", playing.run.game.outcomes()[0].shot))


@pytest.fixture(scope="module")
def apart(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., Any]]:
    """Have a function called in a fresh process: a fork of one that has run tests is dear."""
    with ProcessPoolExecutor(1, get_context("spawn")) as fresh:
        fresh.submit(warm, tmp_path_factory.mktemp("warm")).result()
        yield lambda work, *given: fresh.submit(work, *given).result()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "drillrunner.db"
    with Store.open(path) as store:
        store.add_player("Ines")
    return path


def every_entry(path: Path, made: list[tuple[str, list[Entry]]]) -> list[tuple[int, list[str]]]:
    """Kill after every entry; of each kill, how many were told of and what lies there then."""
    count = sum(len(entries) for _, entries in made)
    return [(kill_after(path, made, 1, pause=True), texts(path)) for _ in range(count)]


def full_speed(path: Path, made: list[tuple[str, list[Entry]]]) -> list[tuple[int, list[str]]]:
    """Kill at full speed until all is there, or nothing more comes; as `every_entry`."""
    count, rng, found = sum(len(entries) for _, entries in made), random.Random(3), []
    while not found or len(found[-1][1]) < count:
        found.append((kill_after(path, made, rng.randint(1, 12), pause=False), texts(path)))
        if not found[-1][0]:
            break
    return found


def test_killed_after_every_entry(path: Path, apart: Callable[..., Any]) -> None:
    made = series(1)
    whole = [entries for _, entries in made]
    flat = [entry.text for entries in whole for entry in entries]
    assert {entry.kind for entries in whole for entry in entries} == set(Kind)
    assert any(entries[-1].kind is not Kind.GIVE_UP for entries in whole)
    for done, (told, there) in enumerate(apart(every_entry, path, made), 1):
        assert told == 1
        assert there == flat[:done]
    assert on_disk(path) == whole
    with Store.open(path) as store:
        assert store.open_runs() == ()


def test_killed_while_it_writes(path: Path, apart: Callable[..., Any]) -> None:
    """Killed at full speed: whatever was told of is there, and at most one entry more."""
    made = series(2)
    whole = [entries for _, entries in made]
    flat = [entry.text for entries in whole for entry in entries]
    known = 0
    for told, there in apart(full_speed, path, made):
        assert known + told <= len(there) <= known + told + 1
        assert there == flat[: len(there)]
        known = len(there)
    assert known == len(flat)
    assert on_disk(path) == whole


def test_killed_with_the_file_held_at_random(tmp_path: Path, apart: Callable[..., Any]) -> None:
    """Runs, a session, a match and a search, typed ahead of the disk; `tests.store.kills` at large.

    A fork of that process has no other thread in it but the one that forked.
    """
    tally = apart(kills.trial, tmp_path, 8, 7, 3)
    assert tally.lost == 0
    assert tally.typed >= 8 * 3
    assert tally.locks > 0
