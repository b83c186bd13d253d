"""On a disk that is really full what reads still works, and what writes says so in one line."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillrunner.rules.keypad import read
from drillrunner.store.store import Store
from tests.cli.run import Run
from tests.store.world import catalogue

DRILL = "hold-the-corridor"


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """A disk of two megabytes, in memory."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=2m", "none", str(disk)]
    try:
        subprocess.run(mount, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this user may not mount a small disk")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)


def filled(disk: Path) -> Path:
    """Take all the room that is left."""
    path = disk / "fill"
    with path.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"\0" * 4096)
        except OSError:
            return path


def test_what_reads_works_and_what_writes_says_so(small: Path, run: Run, tmp_path: Path) -> None:
    database = small / "bay.db"
    with Store.open(database) as store:
        playing = store.begin(store.add_player("Ada").id, catalogue().drill(DRILL))
        for text in "55444":
            playing.append(read(text, playing.run.ask))
    fill = filled(small)
    at = ["--db", str(database)]
    assert run("history", at).code == 0
    assert run("best", at).code == 0
    assert run("pattern driver --player Ada", at).code == 0
    assert run("export", at).code == 0
    assert run("backup --out", [str(tmp_path / "copy.db")], at).code == 0
    for words in (
        ["goal", "12", "--player", "Ada", "--by", "2099-01-01"],
        ["forget", "Ada", "--yes"],
        ["export", "--out", str(small / "all.json")],
        ["backup", "--out", str(small / "copy.db")],
        ["report", "--player", "Ada", "--out", str(small / "page.html")],
    ):
        said = run(words, at)
        assert said.code == 2, (words, said)
        assert said.err.count("\n") == 1
        assert "full" in said.err or "No space left" in said.err
    assert {path.name.partition("-")[0] for path in small.iterdir()} == {"bay.db", "fill"}
    fill.unlink()
    assert run("forget Ada --yes", at).code == 0
