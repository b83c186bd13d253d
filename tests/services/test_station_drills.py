"""Drills whose target moves, all the way: challenge, match, report, export and import, a crash."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.cli.layout import setting_words
from drillrunner.practice.looking_back.report.page import page
from drillrunner.practice.looking_back.report.parts import Covered
from drillrunner.practice.looking_back.run_words import last_words, resumed_words
from drillrunner.practice.matches import challenge
from drillrunner.practice.matches.record import Setup
from drillrunner.rules import Entry, Kind, Run
from drillrunner.rules.keypad import read
from drillrunner.services import report
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.store import Store
from tests.practice.worlds import NO_DRILLS
from tests.store.world import brought, catalogue, document, opened

NOW = datetime(2026, 5, 2, 18, tzinfo=UTC)
LADDER, NARROWING = "ladder-of-wedges", "narrowing-fairway"
CLIMB = "44 52 49 61 66 70 80"
"""What is typed: 44 and 52 are rungs of 40 and 50, 49 is not the 60 that is due then."""


def played(id: str, texts: str) -> Run:
    """A run, each text read as the station that is due asks."""
    drill = catalogue().drill(id)
    run = Run.begin(drill.game())
    for text in texts.split():
        run = run.add(read(text, run.ask))
    return run


def stored(store: Store, player: str, id: str, texts: str) -> str:
    playing = store.begin(player, catalogue().drill(id))
    for text in texts.split():
        playing.append(read(text, playing.run.ask))
    return playing.id


@pytest.mark.parametrize(
    ("id", "texts", "score"),
    [(LADDER, CLIMB, 7), (NARROWING, "5 5 4 * 4 5 6 4", 3), ("wedges-up-and-back", None, None)],
)
def test_a_challenge_reads_each_ball_as_its_station_asked(id, texts, score):
    run = played(id, texts or "")
    while texts is None and not run.over:
        run = run.add(read(str(run.ask.aim.carry), run.ask))
    text = challenge.write("Ines", NOW, catalogue().drill(id), run)
    got = challenge.read(text, catalogue().games)
    assert got.run.entries == run.entries
    assert [ball.ask for ball in got.run.balls] == [ball.ask for ball in run.balls]
    assert score is None or got.run.score == score


def test_a_match_on_a_ladder_asks_each_player_for_their_own_rung(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        drill = catalogue().drill(LADDER)
        seats = [Seat(store.add_player(name), drill) for name in ("Ines", "Tobi")]
        desk = MatchDesk.start(store, catalogue().games, seats, Setup((), "ball"))
        asked = []
        for text in ("44", "30", "52", "40", "58"):
            run = desk.playing().run
            asked.append(run.ask.aim.carry)
            desk.keep(read(text, run.ask))
        assert asked == [40, 40, 50, 40, 60]
        assert desk.last == "Ines: 58 yd, aimed at 60"
        again = MatchDesk.resume(store, catalogue().games, desk.info.id)
        assert again.playing().run.ask == desk.playing().run.ask
        assert again.playing().run.ask.aim.carry == 50


def test_the_last_ball_says_which_number_it_was_aimed_at():
    run = played(LADDER, "44 49")
    assert resumed_words(run) == "49 yd, aimed at 50"
    undone = run.add(Entry(Kind.UNDO))
    assert last_words(run, undone) == "undone: 49 yd, aimed at 50"
    assert undone.ask.aim.carry == 50
    assert last_words(undone, undone.add(Entry(Kind.UNDO))) == "undone: 44 yd, aimed at 40"
    assert resumed_words(played("on-the-number", "49")) == "49 yd", "one number, said above it"


def test_a_crash_on_a_rung_goes_on_there_and_an_import_brings_every_rung(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        ines = store.add_player("Ines")
        run = stored(store, ines.id, LADDER, "44 52 49")
    with opened(tmp_path / "own.db") as store:
        playing = store.resume(run, catalogue().games)
        assert playing.run.ask.aim.carry == 60
        assert playing.run.ask.swing == "three-quarter"
        for text in ("61", "70", "80"):
            playing.append(read(text, playing.run.ask))
        assert playing.run.score == 6
        shots = store.recent_shots(ines.id, "gap-wedge", "full")
        told = document(store)
    with opened(tmp_path / "other.db") as other:
        brought(other, told)
        (there,) = other.history()
        assert (there.score, there.ended) == (6, "all rungs climbed")
        player = other.player("Ines")
        assert player is not None
        assert [ball[1:] for ball in other.recent_shots(player.id, "gap-wedge", "full")] == [
            ball[1:] for ball in shots
        ]
        assert [ball.aim.carry for ball in shots] == [Decimal(80)]


def test_runs_and_patterns_of_a_drill_are_found_by_each_of_its_clubs(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        ines = store.add_player("Ines")
        stored(store, ines.id, LADDER, CLIMB)
        stored(store, ines.id, NARROWING, "5 5 4 4 4")
        for club in ("sand-wedge", "gap-wedge"):
            assert [run.drill for run in store.history(None, ines.id, club=club)] == [LADDER]
            assert [run.drill for run in store.settings(None, ines.id, club=club)] == [LADDER]
        assert [run.drill for run in store.history(None, ines.id, club="driver")] == [NARROWING]
        assert store.history(None, ines.id, club="putter") == ()
        assert store.history()[1].swings == (
            ("sand-wedge", "half"),
            ("sand-wedge", "three-quarter"),
            ("gap-wedge", "three-quarter"),
            ("gap-wedge", "full"),
        )


def test_a_report_shows_the_pattern_of_each_club_and_swing_of_a_ladder(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        ines = store.add_player("Ines")
        stored(store, ines.id, LADDER, CLIMB)
        found = report.gather(store, ines, Covered(), NOW, NO_DRILLS)
    # Short and long are told at one number, the one that was asked last: 50 of 40 and 50.
    assert [(part.club, part.swing, part.side.shots) for part in found.patterns] == [
        ("gap-wedge", "full", 2),
        ("gap-wedge", "three-quarter", 1),
        ("sand-wedge", "half", 1),
        ("sand-wedge", "three-quarter", 2),
    ]


def test_a_report_shows_the_calls_of_a_club_beside_their_carries(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        ines = store.add_player("Ines")
        texts = "70:61 70:62 71:60 69:61 70:63 64:61 63:61 62:60 64:62 62:61"
        stored(store, ines.id, "call-the-number", texts)
        found = report.gather(store, ines, Covered(), NOW, catalogue())
        (calls,) = [part.side for part in found.patterns if part.side.calls]
        assert calls.shots == 10
        assert calls.bias.median < 0, "called too far: the carry is short of the call"
        assert [part.side.calls for part in found.patterns] == [False, True]
        text = page(found, setting_words)
    assert "Sand wedge, off your calls" in text
    assert "nearer than before: 2.0 yd off lately, 8.6 before" in text
