"""The throw-away copy: every run of the journal, folded and stored, up to yesterday."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import bundled, load
from drillrunner.practice.carries.stock import table
from drillrunner.practice.matches.record import MatchRecord, result
from drillrunner.practice.sessions.session import fold
from drillrunner.services.demo import HandClock, Teller, build
from drillrunner.services.demo_journal import JOURNAL, BadJournal, parse_journal
from drillrunner.services.ledger import events_of, look_back
from drillrunner.services.match_desk import MatchDesk
from drillrunner.services.needs import player_needs
from drillrunner.services.rounds import player_rounds
from drillrunner.store.store import Store

TODAY = date(2031, 2, 3)


@pytest.fixture(scope="module")
def copy(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    build(path, TODAY)
    return path


def test_the_copy_holds_every_run_with_the_score_that_its_entries_give(copy):
    text = (bundled("demo_data") / JOURNAL).read_text(encoding="utf-8")
    journal = parse_journal(text, load([bundled("games")]))
    with Store.open(copy) as store:
        every = store.history()[::-1]
        stored = [run for run in every if run.session_id is None and run.match_id is None]
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
    text = (bundled("demo_data") / JOURNAL).read_text(encoding="utf-8")
    told = parse_journal(text, load([bundled("games")])).runs[0].at
    assert first.started.timetz() == told.timetz()
    assert first.started.utcoffset() == timedelta(hours=2)


def test_the_half_hour_was_played_to_its_end_and_found_a_stock_carry_but_for_one_mishit(copy):
    with Store.open(copy) as store:
        assert store.open_sessions() == ()
        latest = store.sessions()[0]
        came_to = look_back(store, latest, changes=False)
        runs = [run for run in store.history() if run.session_id == latest.id]
        (found,) = [s for s in store.stock_carries(latest.player_id) if s.session_id == latest.id]
    session = fold(events_of(latest))
    assert session.over == "all done"
    assert 25 * 60 < session.spent <= session.limits.seconds
    assert session.pauses == ()
    assert {state.standing for state in session.blocks} == {"done"}
    assert {state.block.kind for state in session.blocks} >= {"warm-up", "find", "drill"}
    assert len(runs) == 3
    assert all(run.finished for run in runs)
    assert found.data["kept"].count(False) == 1
    assert len(came_to.games) >= 4


def test_the_stock_carries_of_one_player_show_gaps_an_overlap_and_a_stale_one(copy):
    now = datetime(TODAY.year, TODAY.month, TODAY.day, tzinfo=UTC)
    with Store.open(copy) as store:
        rows = table(store.stock_carries(store.player("Ines").id), now)
    assert sum(row.stale for row in rows) == 1
    assert any(row.overlaps for row in rows)
    assert any(row.uncovered for row in rows)


def test_each_match_is_over_and_its_result_is_what_its_runs_give(copy):
    catalogue = load([bundled("games")])
    with Store.open(copy) as store:
        assert store.open_matches() == ()
        matches = store.matches()
        records = [MatchRecord.of(match.data) for match in matches]
        for match, record in zip(matches, records, strict=True):
            desk = MatchDesk.resume(store, catalogue.games, match.id)
            places = {seat.player_id: seat.place for seat in match.players}
            assert result(desk.match, places) == record.result
            assert len(record.result.winners) == 1
        decider = [run for run in store.history() if run.decider]
    assert [(record.turns, record.result.by) for record in records] == [
        ("ball", "decider"),
        ("run", "score"),
        ("ball", "score"),
    ]
    assert [len(match.players) for match in matches] == [2, 3, 2]
    assert decider


def test_the_rounds_make_an_index_and_say_where_the_strokes_go(copy):
    with Store.open(copy) as store:
        told, sure = {}, {}
        for player in store.players():
            found = player_rounds(store, player)
            assert all(one.card.finished for one in found.rounds)
            told[player.name] = [one.form for one in found.rounds]
            assert found.record.index is not None
            assert abs(found.record.index - player.index) < 4
            (goal,) = store.intents.goals(player.id)
            assert goal.value < found.record.index
            sure[player.name] = {
                need.kind for need in player_needs(store, player).needs if need.sure
            }
    assert {form for forms in told.values() for form in forms} == {"full", "putts", "score"}
    # Bands are ranked from ten rounds on; somebody has as many, and somebody has fewer.
    assert sum(len(forms) >= 10 for forms in told.values()) == 1
    assert "short" in sure["Ines"]
    assert "driving" in sure["Tobi"]


def build_of(text: str, path: Path) -> None:
    """Play a text as the demo's journal is."""
    catalogue = load([bundled("games")])
    journal = parse_journal(text, catalogue)
    clock = HandClock(journal.parts[0].at)
    with Store.open(path, clock, throwaway=True) as store:
        people = {name: store.add_player(name) for name in ("Ines", "Tobi")}
        for part in journal.parts:
            Teller(store, catalogue, clock, people).tell(part, timedelta())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("session 2026-03-02T17:29:00+02:00 Ines plan\nblock free 5 5\n 3 5", "line 5: '5': no"),
        ("session 2026-03-02T17:29:00+02:00 Ines plan\nblock free 5 1\n 3 ball\n 9 ball", "line 6"),
        ("match 2026-03-02T17:29:00+02:00 miss-total ball shared Ines Tobi\n 3 15x", "line 4"),
        ("match 2026-03-02T17:29:00+02:00 miss-total ball shared Ines\n 3 +15", "line 3"),
    ],
)
def test_what_cannot_be_played_is_named_with_its_line(text, said, tmp_path):
    with pytest.raises(BadJournal, match=said):
        build_of(f"player Ines\nplayer Tobi\n{text}\n", tmp_path / "own.db")


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
        "    Path(sys.argv[1]).write_text(f'{self.records.database} {self.demo}')\n"
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
