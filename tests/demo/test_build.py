"""The throw-away copy: every run of the journal, folded and stored, up to yesterday."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.demo import JOURNAL, build, parse
from drillrunner.store.store import Store

TODAY = date(2031, 2, 3)


@pytest.fixture(scope="module")
def copy(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    build(path, TODAY)
    return path


def test_the_copy_holds_every_run_with_the_score_that_its_entries_give(copy):
    text = (bundled("demo_data") / JOURNAL).read_text(encoding="utf-8")
    journal = parse(text, load([bundled("games")]))
    with Store.open(copy) as store:
        stored = store.history()[::-1]
        assert [player.name for player in store.players()] == [p.name for p in journal.players]
        assert len(store.bests()) > 8
    assert len(stored) == len(journal.runs)
    for played, kept in zip(journal.runs, stored, strict=True):
        run = played.run()
        assert (kept.player, kept.drill) == (played.player, played.drill.id)
        assert (kept.score, kept.ended, kept.counted) == (run.score, run.ended, run.counted)


def test_the_copy_ends_yesterday_with_one_open_run_and_each_hour_of_the_day_kept(copy):
    with Store.open(copy) as store:
        (open_run,) = store.open_runs()
        first = store.history()[-1]
    assert open_run.started.date() == TODAY - timedelta(days=1)
    assert (first.started.hour, first.started.utcoffset()) == (17, timedelta(hours=2))


def test_the_command_names_no_database_but_its_own(tmp_path):
    """In a terminal of its own, quit at once: nothing is left of it, and no other file is made."""
    pty = pytest.importorskip("pty")
    own, temporary = tmp_path / "own.db", tmp_path / "tmp"
    temporary.mkdir()
    env = {
        **os.environ,
        "DRILLRUNNER_DB": str(own),
        "DRILLRUNNER_DATA": str(tmp_path / "data"),
        "DRILLRUNNER_CONFIG": str(tmp_path / "config"),
        "TMPDIR": str(temporary),
        "TERM": "xterm-256color",
    }
    script = (
        "import sys\n"
        "from drillrunner.app.app import DrillrunnerApp\n"
        "def look(self):\n"
        "    from pathlib import Path\n"
        "    Path(sys.argv[1]).write_text(f'{self.database} {self.demo}')\n"
        "DrillrunnerApp.run = look\n"
        "from drillrunner.cli.main import main\n"
        "sys.exit(main(['--db', sys.argv[2], 'demo']))\n"
    )
    leader, follower = pty.openpty()
    try:
        done = subprocess.run(
            [sys.executable, "-c", script, str(tmp_path / "seen"), str(own)],
            env=env,
            stdin=follower,
            stdout=follower,
            stderr=subprocess.PIPE,
            timeout=60,
        )
    finally:
        os.close(leader)
        os.close(follower)
    assert done.returncode == 0, done.stderr.decode()
    database, demo = (tmp_path / "seen").read_text().split()
    assert database.startswith(str(temporary))
    assert demo == "True"
    assert list(temporary.iterdir()) == []
    assert not own.exists()
    assert not (tmp_path / "data").exists()


def test_without_a_terminal_it_says_so_in_one_line():
    done = subprocess.run(
        [sys.executable, "-m", "drillrunner", "demo"], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
