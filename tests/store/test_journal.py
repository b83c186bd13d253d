"""Runs as they are played: durable, reopened by undo and void, given up, broken, gone."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import Catalogue, LoadedGame
from drillrunner.rules.game import Game
from drillrunner.rules.run import Entry, Kind, Refused, Run
from drillrunner.rules.settings import Settings
from drillrunner.rules.shot import Shot
from drillrunner.store.errors import BrokenGame, Conflict, PlayedElsewhere, StoreError
from drillrunner.store.records import typed
from drillrunner.store.shapes import PlayerInfo
from drillrunner.store.store import Store
from tests.store.conftest import SUMMER, entries, entry

CORRIDOR, MISSES, NUMBER = "hold-the-corridor", "miss-total", "number-between-drives"


def play(store: Store, player: PlayerInfo, drill, words: str, **about):
    playing = store.begin(player.id, drill, **about)
    for each in entries(words, playing.run.game.ask):
        playing.append(each)
    return playing


def test_a_run_exists_from_its_first_entry(store, ines, catalogue):
    playing = store.begin(ines.id, catalogue.drill(CORRIDOR))
    assert store.history() == ()
    playing.append(entry("5", playing.run.game.ask))
    (stored,) = store.history()
    assert (stored.run, stored.ended, stored.score, stored.counted) == (playing.id, None, 1, 1)
    assert store.open_run(ines.id, CORRIDOR) == stored
    assert store.open_runs() == (stored,)
    assert stored.started.utcoffset() == SUMMER.utcoffset(None)


def test_what_is_stored_of_the_drill(store, ines, catalogue):
    drill = catalogue.drill(MISSES).with_set(["balls=3", "cap=40"])
    playing = play(store, ines, drill, "-15, lost, 0")
    stored = store.run(playing.id)
    assert stored is not None
    assert stored.as_set == drill.as_set()
    assert stored.setting == drill.setting()
    assert stored.fingerprint == drill.fingerprint
    assert (stored.game, stored.game_hash) == ("miss_total", drill.game_hash)
    assert (stored.score, stored.finished, stored.ended) == (55, True, "all balls played")
    assert (stored.better, stored.asks, stored.direction) == ("lower", "miss", "lateral")
    assert json.loads(stored.as_set)["settings"] == {"axis": "lateral", "balls": 3, "cap": 40}


def test_shots_come_back_as_they_were_typed(store, ines, catalogue):
    words = "-15, +35, 0, 12, +12.5, 7,55, note wind got up, undo, void, -, lost"
    words = words.replace("7,55", "7.55")
    drill = catalogue.drill(MISSES).with_set(["cap=40", "balls=30"])
    playing = play(store, ines, drill, words)
    stored = store.entries(playing.id)
    assert typed(stored) == playing.run.entries
    assert [e.live for e in stored] == list(playing.run.live)
    assert [e.counts for e in stored] == list(playing.run.counts)
    assert [e.void for e in stored] == list(playing.run.voids)
    assert {(e.club, e.swing, e.aim) for e in stored if e.shot} == {("driver", "full", drill.aim)}
    assert [e.seq for e in stored] == list(range(1, len(stored) + 1))


def test_balls_in_between_are_kept_with_their_club(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(NUMBER), "41, between, 44.5")
    (_, between, _) = store.entries(playing.id)
    assert (between.kind, between.club, between.shot) == (Kind.BETWEEN, "driver", None)


def test_the_end_is_written_with_the_entry_that_ends_it_and_cleared_by_undo(
    store, ines, catalogue, clock
):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5, 4, 4, 6")
    stored = store.run(playing.id)
    assert (stored.ended, stored.finished, stored.ended_at) == ("out of lives", True, clock.now)
    playing.append(Entry(Kind.NOTE, "cold"))
    assert store.run(playing.id).ended_at == stored.ended_at
    playing.append(Entry(Kind.UNDO))
    assert store.run(playing.id).ended == "out of lives", "only the note was undone"
    playing.append(Entry(Kind.UNDO))
    reopened = store.run(playing.id)
    assert (reopened.ended, reopened.finished, reopened.ended_at) == (None, False, None)
    assert (reopened.counted, reopened.undone, reopened.score) == (3, 2, 1)
    assert store.best(ines.id, stored.fingerprint) is None
    playing.append(entry("4", playing.run.game.ask))
    playing.append(Entry(Kind.VOID))
    assert store.run(playing.id).voided == 1
    assert store.open_run(ines.id, CORRIDOR) is not None


def test_a_finished_run_is_reopened_from_disk(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5, 4, 4, 6")
    again = store.resume(playing.id, catalogue.games)
    assert again.run.entries == playing.run.entries
    assert again.run.state == playing.run.state
    assert again.drill.fingerprint == playing.drill.fingerprint
    assert again.drill.as_set() == playing.drill.as_set()
    again.append(Entry(Kind.VOID))
    assert store.run(playing.id).ended is None


def test_refused_entries_change_nothing(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5, 4, 4, 6")
    for refused in (Entry(Kind.SHOT, "5", Shot()), Entry(Kind.GIVE_UP), Entry(Kind.SHOT, "5")):
        with pytest.raises(Refused):
            playing.append(refused)
    assert len(store.entries(playing.id)) == 4 == len(playing.run.entries)


@pytest.mark.parametrize("text", ["half \ud83d a character", "a \0 b"])
def test_text_that_no_database_holds_is_refused(store, ines, catalogue, text):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5")
    with pytest.raises(Refused):
        playing.append(Entry(Kind.NOTE, text))
    assert len(store.entries(playing.id)) == 1


def test_several_entries_are_all_kept_or_none(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    playing = store.begin(ines.id, drill, tally=True)
    with pytest.raises(Refused):
        playing.append_all(entries("4, 4, 4, 4", drill.game().ask))
    assert store.history() == ()
    playing.append_all(entries("4, 4, 4", drill.game().ask))
    (stored,) = store.history()
    assert (stored.tally, stored.counted, stored.ended) == (True, 3, "out of lives")


def test_a_tally_that_ends_may_stand_beside_an_open_run(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    play(store, ines, drill, "5")
    with pytest.raises(StoreError, match="is open"):
        store.begin(ines.id, drill)
    tally = store.begin(ines.id, drill, tally=True)
    tally.append_all(entries("5, 5, give up", drill.game().ask))
    assert [run.ended for run in store.history()] == ["given up", None]


def test_two_open_runs_of_one_drill_are_refused(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    one, two = store.begin(ines.id, drill), store.begin(ines.id, drill)
    one.append(entry("5", drill.game().ask))
    with pytest.raises(PlayedElsewhere, match="this run is being played elsewhere"):
        two.append(entry("5", drill.game().ask))
    assert not two.begun
    assert len(store.history()) == 1
    store.begin(ines.id, drill, decider=True).append(entry("5", drill.game().ask))
    assert len(store.open_runs()) == 1


def test_reopening_beside_another_open_run_is_refused(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    ended = play(store, ines, drill, "4, 4, 4")
    play(store, ines, drill, "5")
    before = ended.run
    with pytest.raises(StoreError, match="another run of Hold the corridor is open"):
        ended.append(Entry(Kind.UNDO))
    assert ended.run is before
    assert len(store.entries(ended.id)) == 3


def test_the_terminal_that_loses_reads_again_and_applies_nothing(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    here = play(store, ines, drill, "5")
    there = store.resume(here.id, catalogue.games)
    there.append(entry("4", drill.game().ask))
    with pytest.raises(PlayedElsewhere, match="this run is being played elsewhere"):
        here.append(entry("6", drill.game().ask))
    assert [e.text for e in here.run.entries] == ["5", "4"]
    assert [e.text for e in store.entries(here.id)] == ["5", "4"]
    here.append(entry("6", drill.game().ask))
    assert [e.text for e in store.entries(here.id)] == ["5", "4", "6"]
    with pytest.raises(PlayedElsewhere):
        there.append(Entry(Kind.UNDO))


def test_losing_to_the_entry_that_ended_the_run(store, ines, catalogue):
    drill = catalogue.drill(CORRIDOR)
    here = play(store, ines, drill, "4, 4")
    there = store.resume(here.id, catalogue.games)
    there.append(entry("4", drill.game().ask))
    with pytest.raises(PlayedElsewhere):
        here.append(entry("5", drill.game().ask))
    assert here.run.ended == "out of lives"
    ended = store.run(here.id).ended_at
    here.append(Entry(Kind.NOTE, "so be it"))
    assert store.run(here.id).ended_at == ended


def test_a_run_is_given_up_without_its_game(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5, 5, undo")
    with pytest.raises(StoreError, match=r"not there any more.*can be given up"):
        store.resume(playing.id, {})
    other = {"lives": replace(catalogue.games["lives"], hash="0" * 64)}
    with pytest.raises(StoreError, match=r"has changed since.*can be given up"):
        store.resume(playing.id, other)
    given = store.give_up(playing.id)
    assert (given.ended, given.finished, given.score, given.counted) == ("given up", False, 1, 1)
    assert given.undone == 1
    assert [e.kind for e in store.entries(playing.id)][-1] is Kind.GIVE_UP
    again = store.resume(playing.id, catalogue.games)
    assert again.run.given_up
    again.append(Entry(Kind.UNDO))
    assert store.run(playing.id).ended is None
    store.give_up(playing.id)
    with pytest.raises(StoreError, match="has ended already"):
        store.give_up(playing.id)


def test_giving_up_is_the_same_with_and_without_the_game(store, catalogue):
    drill = catalogue.drill(CORRIDOR)
    rows = []
    for name in ("With", "Without"):
        player = store.add_player(name)
        playing = play(store, player, drill, "5, 4, void")
        if name == "With":
            playing.append(Entry(Kind.GIVE_UP))
        else:
            store.give_up(playing.id)
        stored = store.run(playing.id)
        rows.append((stored.ended, stored.score, stored.counted, stored.voided, stored.finished))
    assert rows[0] == rows[1]


class Fragile(Game[Settings, int]):
    """Raises on the third ball, or wherever it is told to."""

    id, title, summary, asks, better = "fragile", "Fragile", "It breaks.", "verdict", "higher"
    Settings = Settings
    fails: str | None = None

    def start(self):
        return 0

    def after(self, state, shot):
        if state == 2:
            raise ZeroDivisionError("the third ball")
        return state + 1

    def over(self, state):
        return False

    def score(self, state):
        return Decimal("0.123") if type(self).fails == "score" else state

    def ended(self, state):
        return None

    def readout(self, state):
        if type(self).fails == "readout":
            raise KeyError("balls")
        return {"balls": state}


@pytest.fixture
def fragile(catalogue: Catalogue):
    drill = replace(catalogue.drill(CORRIDOR), game_class=Fragile, settings=Settings(), id="frail")
    Fragile.fails = None
    return drill


def test_a_game_that_raises_ends_its_run_with_the_entries_kept(store, ines, fragile):
    playing = play(store, ines, fragile, "5, 4")
    with pytest.raises(BrokenGame) as raised:
        playing.append(entry("6", playing.run.game.ask))
    assert Path(raised.value.file).name == "test_journal.py"
    assert raised.value.line
    assert raised.value.reason == "ZeroDivisionError: the third ball"
    assert "\n" not in str(raised.value)
    stored = store.run(playing.id)
    assert (stored.ended, stored.finished, stored.score) == ("broken", False, None)
    assert stored.broken == playing.broken == str(raised.value)
    assert [e.text for e in store.entries(playing.id)] == ["5", "4", "6"]
    assert stored.counted == 3
    assert store.open_runs() == () == store.bests()
    with pytest.raises(Refused):
        playing.append(Entry(Kind.NOTE, "hm"))
    with pytest.raises(StoreError, match="the game raised ZeroDivisionError"):
        store.resume(playing.id, {"fragile": LoadedGame(Fragile, "", "")})
    assert len(store.recent_shots(ines.id, "driver")) == 3


@pytest.mark.parametrize("fails", ["readout", "score"])
def test_a_game_that_can_not_be_shown_breaks_at_the_entry(store, ines, fragile, fails):
    playing = play(store, ines, fragile, "5")
    Fragile.fails = fails
    with pytest.raises(BrokenGame):
        playing.append(entry("6", playing.run.game.ask))
    assert store.run(playing.id).ended == "broken"
    assert len(store.entries(playing.id)) == 2


def test_a_game_that_raises_at_the_start_leaves_nothing(store, ines, fragile):
    Fragile.fails = "readout"
    with pytest.raises(BrokenGame, match="it can't be played so"):
        store.begin(ines.id, fragile)
    assert store.history() == ()


def test_a_game_that_raises_on_the_screen_ends_an_open_run_only(store, ines, fragile, catalogue):
    playing = play(store, ines, fragile, "5")
    told = playing.fail(ValueError("drawing"))
    assert isinstance(told, BrokenGame)
    assert store.run(playing.id).ended == "broken"
    finished = play(store, ines, catalogue.drill(CORRIDOR), "4, 4, 4")
    finished.fail(ValueError("drawing"))
    assert store.run(finished.id).ended == "out of lives"


def test_a_game_that_raises_on_resuming_ends_the_open_run(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5, 4, 5")
    lives = catalogue.games["lives"]

    class Moody(lives.cls):
        def after(self, state, shot):
            raise OSError("no mood")

    with pytest.raises(BrokenGame):
        store.resume(playing.id, {"lives": replace(lives, cls=Moody)})
    stored = store.run(playing.id)
    assert (stored.ended, stored.counted) == ("broken", 3)


def test_the_first_run_of_the_day_makes_a_visit(store, ines, catalogue, clock):
    one = play(store, ines, catalogue.drill(CORRIDOR), "4, 4, 4")
    two = play(store, ines, catalogue.drill(MISSES), "5")
    clock.now = clock.now.replace(day=2)
    three = play(store, ines, catalogue.drill(CORRIDOR), "5")
    ids = [store.run(playing.id).visit_id for playing in (one, two, three)]
    assert ids[0] == ids[1] != ids[2]
    later, earlier = store.visits(ines.id)
    assert (earlier.id, earlier.day, later.day) == (ids[0], "2026-06-01", "2026-06-02")
    assert earlier.place is None
    store.change_visit(ids[0], place="by the river", wind="from the left")
    assert store.visits()[1].wind == "from the left"
    with pytest.raises(StoreError, match="a visit has no weather"):
        store.change_visit(ids[0], weather="wet")
    with pytest.raises(StoreError, match="no visit"):
        store.change_visit("nowhere", place="x")


def test_the_swing_is_the_players_own_name_for_it(store, ines, catalogue):
    playing = play(store, ines, catalogue.drill(CORRIDOR), "5", swing="three quarters")
    assert store.run(playing.id).swing == "three quarters"
    assert store.resume(playing.id, catalogue.games).drill.swing == "three quarters"
    assert store.recent_shots(ines.id, "driver") == ()
    assert len(store.recent_shots(ines.id, "driver", "three quarters")) == 1


def test_every_stored_end_follows_from_the_entries(store, catalogue, clock):
    """Play many runs of every bundled drill at random; fold again what lies on disk."""
    import random

    rng = random.Random(7)
    player = store.add_player("Tobi")
    for drill in catalogue.drills:
        if drill.stock:
            drill = drill.with_stock(Decimal(60))
        shots = [outcome.shot for outcome in drill.game().outcomes()]
        for _ in range(4):
            playing = store.begin(player.id, drill)
            while not playing.run.over or rng.random() < 0.5:
                due, over = playing.run.between_due, playing.run.over
                given = [Entry(Kind.NOTE, "n"), Entry(Kind.UNDO), Entry(Kind.VOID)]
                if not over:
                    ball = Entry(Kind.SHOT, "?", rng.choice(shots))
                    given += [Entry(Kind.BETWEEN) if due else ball] * 20 + [Entry(Kind.GIVE_UP)]
                try:
                    playing.append(rng.choice(given))
                except Refused:
                    continue
            if playing.run.entries and not playing.run.over:
                playing.append(Entry(Kind.GIVE_UP))
    runs = store.history()
    assert len(runs) == 4 * len(catalogue.drills)
    for stored in runs:
        again = store.resume(stored.run, catalogue.games).run
        seen = store.entries(stored.run)
        assert (stored.ended, stored.finished) == (again.ended, again.finished)
        assert stored.score == again.score
        assert (stored.counted, stored.voided, stored.undone) == (
            again.counted,
            again.voided,
            again.undone,
        )
        assert stored.ended_at == _ended_at(again, [entry.at for entry in seen])
        assert [e.live for e in seen] == list(again.live)
        assert [e.counts for e in seen] == list(again.counts)
        assert [e.void for e in seen] == list(again.voids)


def _ended_at(run: Run, times):
    """When the run last turned from open to over."""
    ended, step = None, Run.begin(run.game, run.between, run.tally)
    for entry_, at in zip(run.entries, times, strict=True):
        was, step = step.over, step.add(entry_)
        ended = None if not step.over else ended if was else at
    return ended


def test_names_of_players_that_went(store, catalogue):
    gone = store.add_player("Gone")
    ghost = replace(gone, id="nobody")
    with pytest.raises(StoreError, match="no player nobody"):
        store.begin(ghost.id, catalogue.drill(CORRIDOR))
    with pytest.raises(StoreError, match="no run x"):
        store.resume("x", {})
    with pytest.raises(Conflict):
        store.add_player(" gone ")
