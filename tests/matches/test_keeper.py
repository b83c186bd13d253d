"""A match on disk: killed after every move and gone on with, and what its runs are to records."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.catalogue.drill import Drill
from drillrunner.practice import match_keeper
from drillrunner.practice.match import Decision, Match, Turn
from drillrunner.practice.match_keeper import MatchKeeper, Seat
from drillrunner.rules import Entry, Kind, Refused
from drillrunner.rules.keypad import read
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.exchange.world import brought, catalogue, document, opened
from tests.matches.test_match import NAMES, TEXTS

UNDO, VOID = Entry(Kind.UNDO), Entry(Kind.VOID)


def seats(store: Store, drill: Drill, count: int, start: int = 0) -> list[Seat]:
    names = NAMES[start : start + count]
    return [Seat(store.player(name) or store.add_player(name), drill) for name in names]


def resumed(store: Store, keeper: MatchKeeper) -> MatchKeeper:
    return match_keeper.resume(store, keeper.id, catalogue().games)


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


def typed(keeper: MatchKeeper, texts: str) -> None:
    for text in texts.split():
        turn = keeper.match.turn
        ask = keeper.match.entrant(turn.player).game.ask
        keeper.add(turn.player, read(text, ask))


def test_every_run_of_a_match_is_an_ordinary_one_and_a_decider_never_a_record(store):
    drill = catalogue().drill("hold-the-corridor")
    people = seats(store, drill, 2)
    keeper = match_keeper.begin(store, people, "run", "decider")
    ines = people[0].player
    typed(keeper, "5 4 4 4 5 4 4 4")
    assert keeper.match.turn == Turn(ines.id, 1)
    assert store.best(ines.id, drill.fingerprint).score == 1
    typed(keeper, "5 5 5 4")
    assert keeper.match.decision == Decision((ines.id,), "decider")
    assert store.best(ines.id, drill.fingerprint).score == 1, "two in the decider count nowhere"
    assert store.match(keeper.id).ended_at is not None
    keeper.add("", UNDO)
    assert keeper.match.decision is None
    assert [open_match.id for open_match in store.open_matches()] == [keeper.id]
    assert same(resumed(store, keeper).match, keeper.match)


def test_a_fair_match_has_a_drill_for_each_and_one_run_of_a_drill_at_a_time(store):
    drill = catalogue().drill("hold-the-corridor")
    ines, tobi = seats(store, drill, 2)
    fair = [Seat(ines.player, drill.with_set(["aim.width=28"])), tobi]
    keeper = match_keeper.begin(store, fair)
    typed(keeper, "5 5")
    back = resumed(store, keeper)
    assert back.seats[ines.player.id].drill.aim.width == 28
    with pytest.raises(StoreError, match="Ines has an open run"):
        match_keeper.begin(store, fair)


def test_a_match_whose_game_is_gone_says_so(store):
    keeper = match_keeper.begin(store, seats(store, catalogue().drill("miss-total"), 2))
    with pytest.raises(StoreError, match="gone or changed"):
        match_keeper.resume(store, keeper.id, {})
    with pytest.raises(StoreError, match="no match"):
        match_keeper.resume(store, "7", {})


ACTS = st.sampled_from(("shot",) * 8 + ("undo", "undo", "void", "give", "leave", "join"))


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["hold-the-corridor", "miss-total-five", "number-between-drives"]),
    st.integers(2, 8),
    st.sampled_from(("ball", "run")),
    st.sampled_from(("shared", "decider")),
    st.lists(st.tuples(ACTS, st.integers(0, 7)), max_size=35),
)
def test_killed_after_every_move_it_goes_on_just_as_it_was(id, count, turns, tie, story):
    drill = catalogue().drill(id).with_set(["lives=1"] if id == "hold-the-corridor" else [])
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "own.db") as store:
        keeper = match_keeper.begin(store, seats(store, drill, count), turns, tie)
        for act, pick in story:
            before = keeper.match
            try:
                done(keeper, store, drill, act, pick)
            except Refused:
                assert keeper.match is before
            again = resumed(store, keeper)
            assert same(again.match, keeper.match)
            assert (store.match(keeper.id).ended_at is not None) == (again.match.turn is None)
            keeper = again
        with opened(Path(folder) / "other.db") as other:
            brought(other, document(store))
            assert same(resumed(other, keeper).match, keeper.match)


def done(keeper: MatchKeeper, store: Store, drill: Drill, act: str, pick: int) -> None:
    match = keeper.match
    player = match.entrants[pick % len(match.entrants)].id
    if act == "leave":
        keeper.leave(player)
    elif act == "join":
        keeper.join(
            keeper.seats[player] if player in match.away else seats(store, drill, 1, pick)[0]
        )
    elif act == "shot":
        if match.turn is not None:
            run = match.runs[match.turn.player]
            game = match.entrant(match.turn.player).game
            due = match.turn.lap < len(run) and run[match.turn.lap].between_due
            text = TEXTS[game.asks][pick % 3]
            entry = Entry(Kind.BETWEEN) if due else read(text, game.ask)
            keeper.add(match.turn.player, entry)
    else:
        keeper.add(player, {"undo": UNDO, "void": VOID, "give": Entry(Kind.GIVE_UP)}[act])
