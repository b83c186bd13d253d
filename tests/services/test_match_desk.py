"""A match on disk: killed after every move and gone on with, and what its runs are to records."""

from __future__ import annotations

import os
import signal
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.catalogue.drill import Drill
from drillrunner.practice.matches.match import Decision, Match, Turn
from drillrunner.practice.matches.record import MatchRecord, Setup, common_unit, result
from drillrunner.rules import Entry, Kind, Refused
from drillrunner.rules.keypad import read
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.errors import BrokenGame, PlayedElsewhere, StoreError
from drillrunner.store.store import Store
from tests.practice.matches.test_match import NAMES
from tests.rules.bundled import ANSWERS
from tests.store.world import brought, catalogue, document, opened

UNDO, VOID = Entry(Kind.UNDO), Entry(Kind.VOID)
BALLS = Setup((), "ball")


def seats(store: Store, drill: Drill, count: int, start: int = 0) -> list[Seat]:
    names = NAMES[start : start + count]
    return [Seat(store.player(name) or store.add_player(name), drill) for name in names]


def started(store: Store, drill: Drill, count: int, setup: Setup = BALLS) -> MatchDesk:
    return MatchDesk.start(store, catalogue().games, seats(store, drill, count), setup)


def resumed(store: Store, desk: MatchDesk) -> MatchDesk:
    return MatchDesk.resume(store, catalogue().games, desk.info.id)


def same(one: Match, other: Match) -> bool:
    """Equal in all but the game objects, which are made anew."""

    def shape(match: Match):
        runs = {p: [(r.entries, r.live, r.state) for r in runs] for p, runs in match.runs.items()}
        moves = [(m.player, m.lap, getattr(m.what, "name", m.what)) for m in match.moves]
        seated = [e.id for e in match.entrants]
        return runs, moves, seated, match.away, dict(match.behind), match.turn, match.decision

    return shape(one) == shape(other)


@pytest.fixture
def store(tmp_path: Path):
    with opened(tmp_path / "own.db") as store:
        yield store


def typed(desk: MatchDesk, texts: str) -> None:
    for text in texts.split():
        desk.keep(read(text, desk.playing().run.game.ask))


def test_every_run_of_a_match_is_an_ordinary_one_and_a_decider_never_a_record(store):
    drill = catalogue().drill("hold-the-corridor")
    desk = started(store, drill, 2, Setup((), "run", tie="decider"))
    ines = store.player(NAMES[0])
    typed(desk, "5 4 4 4 5 4 4 4")
    assert desk.turn == Turn(ines.id, 1)
    assert store.best(ines.id, drill.fingerprint).score == 1
    typed(desk, "5 5 5 4")
    assert desk.match.decision == Decision((ines.id,), "decider")
    assert store.best(ines.id, drill.fingerprint).score == 1, "two in the decider count nowhere"
    assert store.match(desk.info.id).ended_at is not None
    assert MatchRecord.of(store.match(desk.info.id).data).result.winners == (1,)
    desk.keep(UNDO)
    assert desk.match.decision is None
    assert [match.id for match in store.open_matches()] == [desk.info.id]
    assert MatchRecord.of(store.match(desk.info.id).data).result is None
    assert same(resumed(store, desk).match, desk.match)


def test_dials_are_kept_for_each_and_one_run_of_a_drill_at_a_time(store):
    drill = catalogue().drill("hold-the-corridor")
    ines, tobi = seats(store, drill, 2)
    fair = [Seat(ines.player, drill.with_set(["aim.width=28"])), tobi]
    desk = MatchDesk.start(store, catalogue().games, fair, Setup((), fair=True, written=1))
    typed(desk, "5 5")
    back = resumed(store, desk)
    assert back.drills[ines.player.id].aim.width == 28
    assert back.as_written.fingerprint == drill.fingerprint
    before = len(store.matches())
    with pytest.raises(StoreError, match="Ines has an open run"):
        MatchDesk.start(store, catalogue().games, fair, BALLS)
    assert len(store.matches()) == before
    assert {run.match_id for run in store.open_runs()} == {desk.info.id}


def test_two_terminals_at_one_match_lose_nothing_and_take_nothing_unseen(store):
    desk = started(store, catalogue().drill("hold-the-corridor"), 3)
    other = resumed(store, desk)
    typed(desk, "5")
    with pytest.raises(PlayedElsewhere):
        typed(other, "4")
    assert same(other.match, desk.match), "the one that was too late has read again"
    typed(other, "4")
    with pytest.raises(PlayedElsewhere):
        desk.leave(desk.match.entrants[2].id)
    assert same(other.match, desk.match)
    assert sum(len(store.entries(run.run)) for run in store.history()) == 2


def test_a_failing_disk_changes_nothing_and_the_same_ball_can_be_given_again(store, monkeypatch):
    desk = started(store, catalogue().drill("hold-the-corridor"), 2)
    typed(desk, "5")
    before = desk.match, desk.info

    def fails(*_: object, **__: object) -> None:
        raise StoreError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr("drillrunner.store.matches.change_match", fails)
        with pytest.raises(StoreError, match="full"):
            typed(desk, "4")
    assert (desk.match, desk.info) == before
    typed(desk, "4")
    assert same(resumed(store, desk).match, desk.match)


def test_a_run_given_up_outside_the_match_is_put_right_when_it_goes_on(store):
    desk = started(store, catalogue().drill("hold-the-corridor"), 2)
    typed(desk, "5 4 5 4 5 4")
    assert desk.match.decision is not None
    desk.leave(desk.match.entrants[1].id)
    mine = next(run for run in store.open_runs() if run.player == NAMES[0])
    store.give_up(mine.run)
    back = resumed(store, desk)
    assert back.turn is None
    assert store.match(desk.info.id).ended_at is not None


def test_a_match_whose_game_is_gone_says_so_and_one_that_cannot_be_read(store):
    desk = started(store, catalogue().drill("miss-total"), 2)
    with pytest.raises(StoreError, match="not there any more"):
        MatchDesk.resume(store, {}, desk.info.id)
    with pytest.raises(StoreError, match="no match"):
        MatchDesk.resume(store, {}, "7")
    store.change_match(desk.info.id, {"turns": "sideways"})
    with pytest.raises(StoreError, match="can't be gone on with"):
        resumed(store, desk)


def test_a_game_that_raises_ends_the_match_and_keeps_every_entry(store, monkeypatch):
    drill = catalogue().drill("hold-the-corridor")
    desk = started(store, drill, 2)
    typed(desk, "5 5")
    after = drill.game_class.after

    def raises(self, state, shot):
        if state.held:
            raise RuntimeError("no second ball")
        return after(self, state, shot)

    monkeypatch.setattr(drill.game_class, "after", raises)
    with pytest.raises(BrokenGame, match="no second ball"):
        typed(desk, "5")
    assert store.match(desk.info.id).ended_at is not None
    assert sum(len(store.entries(run.run)) for run in store.history()) == 3
    with pytest.raises(StoreError, match="no second ball"):
        resumed(store, desk)


def test_players_of_different_units_play_the_drill_as_it_is_written():
    assert common_unit(["m", "m"], "yd") == "m"
    assert common_unit(["m", "yd"], "yd") == "yd"


ACTS = st.sampled_from(("shot",) * 8 + ("undo", "undo", "void", "give", "leave", "join"))


@settings(max_examples=30)
@given(
    st.sampled_from(["hold-the-corridor", "miss-total-five", "number-between-drives"]),
    st.integers(2, 8),
    st.sampled_from(("ball", "run")),
    st.sampled_from(("shared", "decider")),
    st.lists(st.tuples(ACTS, st.integers(0, 7)), max_size=30),
)
def test_killed_after_every_move_it_goes_on_just_as_it_was(id, count, turns, tie, story):
    drill = catalogue().drill(id).with_set(["lives=1"] if id == "hold-the-corridor" else [])
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "own.db") as store:
        desk = started(store, drill, count, Setup((), turns, tie=tie))
        for act, pick in story:
            before = desk.match
            try:
                done(desk, store, drill, act, pick)
            except Refused:
                assert desk.match is before
            again = resumed(store, desk)
            assert same(again.match, desk.match)
            assert again.info.data == desk.info.data
            assert (desk.info.ended_at is not None) == (again.turn is None)
            assert (again.info.ended_at is not None) == (again.turn is None)
            # What is kept of how it came out is what the entries say.
            assert MatchRecord.of(again.info.data).result == result(again.match, again._places())
            desk = again
        with opened(Path(folder) / "other.db") as other:
            brought(other, document(store))
            there = resumed(other, desk)
            assert same(there.match, desk.match)
            if there.turn is not None:
                done(there, other, drill, "shot", 1)
                assert same(resumed(other, there).match, there.match)


def done(desk: MatchDesk, store: Store, drill: Drill, act: str, pick: int) -> None:
    match = desk.match
    player = match.entrants[pick % len(match.entrants)].id
    if act == "leave":
        desk.leave(player)
    elif act == "join":
        if player in match.away:
            desk.join(Seat(desk.people[player], desk.drills[player]))
        else:
            desk.join(seats(store, drill, 1, pick)[0])
    elif act == "shot":
        if match.turn is not None:
            run = desk.playing().run
            text = ANSWERS[run.ask.asks][pick % 5]
            desk.keep(Entry(Kind.BETWEEN) if run.between_due else read(text, run.ask))
    else:
        desk.keep({"undo": UNDO, "void": VOID, "give": Entry(Kind.GIVE_UP)}[act])


@pytest.mark.skipif(sys.platform == "win32", reason="kills forked processes")
def test_the_process_is_killed_after_every_ball_and_no_ball_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "own.db"
    balls = list("5455445445")
    with opened(path) as store:
        id = started(store, catalogue().drill("hold-the-corridor"), 3).info.id
    for at in range(len(balls)):
        heard, told = os.pipe()
        if (child := os.fork()) == 0:
            try:
                mine = Store.open(path)
                desk = MatchDesk.resume(mine, catalogue().games, id)
                desk.keep(read(balls[len(desk.match.moves)], desk.playing().run.game.ask))
                os.write(told, b".")
                signal.pause()
            finally:
                os._exit(1)
        os.close(told)
        assert os.read(heard, 1) == b"."
        os.close(heard)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with opened(path) as store:
            desk = MatchDesk.resume(store, catalogue().games, id)
            assert [move.what.text for move in desk.match.moves] == balls[: at + 1]
            order = [entrant.id for entrant in desk.match.entrants]
            assert [move.player for move in desk.match.moves][:3] == order[: at + 1]


def test_what_is_typed_ahead_of_the_disk_is_read_for_who_will_be_to_play(store):
    drill = catalogue().drill("hold-the-corridor")
    ines, tobi = seats(store, drill, 2)
    wide = Seat(tobi.player, drill.with_set(["aim.width=60"]))
    desk = MatchDesk.start(store, catalogue().games, [ines, wide], BALLS)
    before, waiting = desk.match, []
    for width in (40, 60, 40, 60):
        ask = desk.ahead(before, waiting).game.ask
        assert ask.aim.width == width
        waiting.append(read("+25", ask))
    assert desk.match is before
    said = [desk.keep(entry).after.score for entry in waiting]
    # Twenty-five off is out of forty yards and within sixty, for each as it was typed.
    assert said == [0, 1, 0, 2]
