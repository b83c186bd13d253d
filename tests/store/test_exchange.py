"""Out and in again: the identity, no doubles in a used database, and documents that lie."""

from __future__ import annotations

import json
import random
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sqlalchemy import BigInteger, Boolean, Integer

from drillrunner.rules import Entry, Kind
from drillrunner.rules.keypad import read as typed
from drillrunner.store import documents, exchange
from drillrunner.store import tables as t
from drillrunner.store.errors import StoreError
from drillrunner.store.store import Store
from tests.store.world import Ticking, brought, catalogue, document, lived, opened, stories


@contextmanager
def pair() -> Iterator[tuple[Store, Store]]:
    """Two empty databases, the second a month later."""
    with (
        tempfile.TemporaryDirectory() as folder,
        opened(Path(folder) / "a.db") as one,
        opened(Path(folder) / "b.db", Ticking("2026-04-01T09:00:00+00:00")) as other,
    ):
        yield one, other


def seen(store: Store) -> list[Any]:
    """All that the store shows of itself."""
    return [
        store.players(hidden=True),
        [store.clubs(player.id) for player in store.players(hidden=True)],
        [store.stock_carries(player.id, every=True) for player in store.players(hidden=True)],
        store.history(),
        [store.entries(run.run) for run in store.history()],
        store.bests(),
        store.sessions(),
        store.matches(),
        store.visits(),
        [store.rounds.of(player.id) for player in store.players(hidden=True)],
        [store.intents.goals(player.id) for player in store.players(hidden=True)],
        [store.intents.thoughts(player.id) for player in store.players(hidden=True)],
        [store.recent_shots(player.id, "driver") for player in store.players(hidden=True)],
    ]


@settings(max_examples=30)
@given(stories)
def test_out_and_in_again_is_the_identity_and_twice_adds_nothing(story):
    with pair() as (one, other):
        text = document(lived(one, story))
        brought(other, text)
        assert document(other) == text
        assert seen(other) == seen(one)
        again = brought(other, text)
        assert (again.added, again.notes) == ({}, [])
        assert document(other) == text


@settings(max_examples=30)
@given(stories, stories)
def test_a_used_database_keeps_what_it_has_and_takes_what_it_lacks_once(here, there):
    with pair() as (one, other):
        lived(one, here)
        lived(other, there)
        before, coming = document(one), document(other)
        runs = {run.run for run in (*one.history(), *other.history())}
        balls = sum(run.counted for store in (one, other) for run in store.history())
        brought(one, coming)
        assert {run.run for run in one.history()} == runs
        assert sum(run.counted for run in one.history()) == balls
        names = [player.name for player in one.players(hidden=True)]
        assert len(names) == len(set(names))
        old, new = documents.read(before), documents.read(document(one))
        kept = {(row["run"], row["seq"]) for row in new["entry"]}
        assert {(row["run"], row["seq"]) for row in old["entry"]} <= kept
        assert not brought(one, coming).added
        documents.check(documents.read(document(one)), catalogue().games)


def test_every_number_is_either_hundredths_or_a_count():
    """A new column has to be placed: hundredths forgotten would come out a hundredfold."""
    counts = {
        "number", "at_offset", "started_offset", "ended_offset", "seq", "match_order", "pace",
        "place", "position", "counted", "voided", "undone", "rank", "ended_by", "lateral_side",
        "depth_side", "strokes",
    }  # fmt: skip
    for table in exchange.TABLES:
        for column in table.columns:
            whole = isinstance(column.type, Integer | BigInteger)
            if whole and not isinstance(column.type, Boolean) and not column.foreign_keys:
                assert (column.name in counts) != ("hundredths" in column.info), column
    known = {*exchange.TABLES, *exchange.STAYS}
    assert known == set(t.metadata.sorted_tables), "a table is left out"


@pytest.fixture
def two():
    with pair() as stores:
        yield stores


def hit(store: Store, name: str, texts: str, id: str = "hold-the-corridor") -> str:
    """One more entry after another in the player's open run, or a new one."""
    player = store.player(name) or store.add_player(name)
    found = store.open_run(player.id, id)
    if found:
        playing = store.resume(found.run, catalogue().games)
    else:
        playing = store.begin(player.id, catalogue().drill(id))
    for text in texts.split():
        playing.append(typed(text, playing.run.game.ask))
    return playing.id


def test_what_is_older_than_the_index_in_force_is_said_to_be_left_out(two):
    there, here = two
    for store, values in ((there, (18, 17)), (here, (20, 16))):
        player = store.add_player("Ines")
        for value in values:
            store.change_player(player.id, index=Decimal(value))
    said = brought(here, document(there)).notes
    assert "handicap: 2 left out, older than the one in force here" in said
    assert here.player("Ines").index == 16
    again = brought(here, document(here))
    assert (again.added, again.notes) == ({}, [])


def test_a_run_that_went_on_elsewhere_goes_on_here_and_never_backwards(two):
    one, other = two
    run = hit(one, "Ines", "5 5 4")
    first = document(one)
    brought(other, first)
    hit(other, "Ines", "4 5 4")
    brought(one, document(other))
    assert (one.run(run).score, one.run(run).ended) == (3, "out of lives")
    assert one.best(one.player("Ines").id, one.run(run).fingerprint).run == run
    brought(one, first)
    assert one.run(run).ended == "out of lives"
    assert document(one) == document(other)


def test_a_run_that_went_on_differently_stays_as_it_is_here(two):
    one, other = two
    run = hit(one, "Ines", "5 5")
    brought(other, document(one))
    hit(one, "Ines", "5")
    hit(other, "Ines", "4 4")
    before = document(one)
    assert "went on differently" in brought(one, document(other)).notes[0]
    assert document(one) == before
    assert one.run(run).score == 3


def test_of_two_open_runs_the_one_here_stays_open_and_the_other_is_given_up(two):
    one, other = two
    mine, theirs = hit(one, "Ines", "5 5"), hit(other, " ines ", "5 4 5")
    notes = brought(one, document(other)).notes
    assert len(notes) == 2, "the same name is the same person, and a run was given up"
    assert one.open_run(one.player("Ines").id, "hold-the-corridor").run == mine
    assert (one.run(theirs).ended, one.run(theirs).counted) == ("given up", 3)
    assert one.entries(theirs)[-1].kind is Kind.GIVE_UP
    assert not brought(one, document(other)).added
    assert len(one.players()) == 1


def test_the_earlier_of_equal_scores_keeps_the_best(two):
    one, other = two
    first = hit(one, "Ines", "5 4 4 4")
    second = hit(other, "Ines", "5 4 4 4")
    brought(one, document(other))
    fingerprint = one.run(first).fingerprint
    assert one.best(one.player("Ines").id, fingerprint).run == first != second


def test_the_best_is_the_best_whether_more_or_less_is_better(two):
    one, other = two
    for texts in ("5 4 4 4", "5 5 5 4 4 4", "5 5 4 4 4"):
        hit(one, "Ines", texts)
    for texts in ("-5 0 0 0 0", "0 0 0 0 0", "-15 0 0 0 0"):
        hit(one, "Ines", texts, "miss-total-five")
    brought(other, document(one))
    assert [best.score for best in other.bests()] == [3, 0]
    assert other.bests() == one.bests()


def test_a_day_of_one_player_is_one_visit(two):
    one, other = two
    hit(one, "Ines", "5")
    other.clock.now = one.clock.now
    hit(other, "Ines", "0", "miss-total-five")
    brought(one, document(other))
    assert len({run.visit_id for run in one.history()}) == len(one.visits()) == 1


def test_what_was_never_said_here_of_a_person_or_a_day_is_taken_over(two):
    here, there = two
    there.clock.now = here.clock.now
    for store in two:
        hit(
            store, "Ines", "5", "hold-the-corridor" if store is here else "hold-the-narrow-corridor"
        )
    mine, theirs = (store.player("Ines").id for store in two)
    here.change_visit(here.visits(mine)[0].id, wind="calm")
    there.change_visit(there.visits(theirs)[0].id, wind="left", place="top bays")
    there.change_player(theirs, hand="left")
    for _ in range(2):
        brought(here, document(there))
        (visit,) = here.visits(mine)
        assert (visit.wind, visit.place) == ("calm", "top bays")
        assert here.player("Ines").hand == "left"


def test_what_is_kept_of_a_match_follows_the_entries_that_come_in(two):
    one, other = two
    drill = catalogue().drill("hold-the-corridor")
    people = [one.add_player(name).id for name in ("Ines", "Tobi")]
    match = one.add_match(drill.id, [(id, {}) for id in people], {"moves": 1})
    one.begin(people[0], drill, match_id=match.id).append(typed("5", drill.game().ask))
    brought(other, document(one))
    other.begin(people[1], drill, match_id=match.id).append(typed("4", drill.game().ask))
    other.change_match(match.id, {"moves": 2, "winner": "Ines"}, ends=True)
    brought(one, document(other))
    assert one.match(match.id).data == {"moves": 2, "winner": "Ines"}
    assert one.match(match.id).ended_at is not None
    orders = [e.match_order for r in one.history(match_id=match.id) for e in one.entries(r.run)]
    assert sorted(orders) == [1, 2]
    assert document(one) == document(other)


# ---------------------------------------------------------------- documents that lie


@pytest.fixture(scope="module")
def text(tmp_path_factory) -> str:
    with opened(tmp_path_factory.mktemp("world") / "a.db") as store:
        hit(store, "Ines", "5 4 5 4 4")
        hit(store, "Ines", "-5 +7.5 -", "miss-total-five")
        playing = store.resume(hit(store, "Tobi", "44 45", "on-the-number"), catalogue().games)
        playing.append(Entry(Kind.NOTE, "calm"))
        player = store.player("Ines").id
        session = store.add_session(player, {"minutes": 30})
        store.append_event(session.id, 1, "start", {"block": 1})
        store.add_match("miss-total", [(player, {}), (store.player("Tobi").id, {})], {})
        return document(store)


@pytest.mark.parametrize(
    ("table", "change", "said"),
    [
        ("run", {"score": 3}, "run 1: it does not add up: its entries give another score"),
        ("run", {"ended": "out of balls"}, "give another ended"),
        ("run", {"counted": 4}, "give another counted"),
        ("run", {"ended_by": 77}, "its end does not fit"),
        ("run", {"ended_at": None}, "its end does not fit"),
        ("run", {"finished": 1}, "finished: expected true or false, not 1"),
        ("run", {"player": "nobody"}, "run 1: player: no such player"),
        ("run", {"id": None}, "id: missing"),
        ("run", {"started": "today"}, "started: .*today"),
        ("run", {"started": "2026-05-01T10:00:00"}, "started: expected a time with its zone"),
        ("run", {"surprise": 1}, "unknown field 'surprise'"),
        ("entry", {"kind": "cheat"}, "kind: expected one of shot"),
        ("entry", {"seq": True}, "seq: expected a whole number"),
        ("entry", {"seq": 2}, "it is in the document twice"),
        ("entry", {"lateral_side": 4}, "lateral_side: expected one of"),
        ("entry", {"aim_width": "40"}, "aim_width: expected a number"),
        ("entry", {"aim_width": 40.123}, "aim_width: .*two decimals"),
        ("entry", {"text": "\ud800"}, "text: .*half a character"),
        ("entry", {"kind": "undo"}, "do not make a run: nothing to undo"),
        ("drill_as_set", {"as_set": []}, "as_set: expected an object"),
        ("drill_as_set", {"as_set": {}}, "run 1: its entries do not make a run"),
        ("drill_as_set", {"setting": [1]}, "setting: expected an object"),
        ("session", {"plan": []}, "plan: expected an object"),
        ("session_event", {"data": [1]}, "data: expected an object"),
        ("drill_as_set", {"fingerprint": "0"}, "another drill"),
        ("player", {"name": ""}, "player"),
        ("player", {"unit": "ft"}, "unit: expected one of yd, m"),
        ("player", {"name": "TOBI"}, "player: two are called 'tobi'"),
    ],
)
def test_a_document_that_does_not_add_up_is_refused_and_nothing_is_added(
    text, table, change, said, tmp_path
):
    found = json.loads(text)
    found[table][0].update(change)
    with opened(tmp_path / "b.db") as store:
        before = document(store)
        with pytest.raises(StoreError, match=said) as refused:
            brought(store, json.dumps(found))
        assert "\n" not in str(refused.value)
        assert document(store) == before


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[]", "null", '{"format": "drillrunner export"}', '{"a": NaN}', "[" * 100_000,
     '{"format": "drillrunner export", "version": 1, "run": 3}',
     '{"format": "drillrunner export", "version": 1, "run": [3]}',
     '{"format": "drillrunner export", "version": 1, "run": [{}]}'],
)  # fmt: skip
def test_what_is_no_export_is_refused_in_one_line(text):
    with pytest.raises(StoreError) as refused:
        documents.read(text)
    assert "\n" not in str(refused.value)


JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=9),
    st.just([]), st.just({}), st.just(10**400),
)  # fmt: skip


@settings(max_examples=100)
@given(st.integers(0, 2**32), JUNK, st.booleans())
def test_one_changed_value_anywhere_is_refused_or_comes_in_whole(text, seed, junk, drop):
    """No traceback, and what was taken is in the database just as the document has it."""
    rng, found = random.Random(seed), json.loads(text)
    table = rng.choice([name for name, rows in found.items() if isinstance(rows, list) and rows])
    row = rng.choice(found[table])
    name = rng.choice(list(row))
    if drop:
        del row[name]
    else:
        row[name] = junk
    try:
        changed = json.dumps(found)
    except ValueError:
        return
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "b.db") as store:
        refused = ""
        try:
            brought(store, changed)
        except StoreError as error:
            refused = str(error)
        if refused:
            assert "\n" not in refused
            assert not store.history()
            return
        again = document(store)
        documents.check(documents.read(again), catalogue().games)
        assert seen(store)


# ---------------------------------------------------------------- entries, line by line

RESTS = (
    '"kind": "shot", "text": "5", "club": "driver", "aim_width": 24.5, "lateral_side": -1}',
    '"kind": "shot", "text": "-5", "lateral_size": 5, "lateral_grid": 1, "out": false}',
    '"kind": "note", "text": "run \\"run\\" at"}',
    '"kind": "note", "text": "at"}',
    '"kind": "note", "text": "other", "run": "b"}',
    '"kind": "note", "text": "other", "r\\u0075n": "b", "seq": 7}',
    '"kind": "note", "text": "later", "seq": 7}',
    '"kind": "note", "text": "zone", "at": "2026-05-01T10:00:00+02:00"}',
    '"kind": "note", "text": "nobody\'s", "player": 1}',
    '"kind": "cheat", "text": "5"}',
    '"kind": "note"}',
    '"kind": "note", "text": NaN}',
    '"kind": "note", "text": "5"',
    "}",
)
SOUND = 8
"""The first so many can be read."""
MOMENTS = ["2026-05-01T10:00:00+02:00", "2026-05-01T08:00:00.000001+00:00"]
NO_MOMENTS = [
    "2026-05-01T10:00:00", "2026-13-01T10:00:00+00:00", "0001-01-01T00:00:00+05:00", "today"
]  # fmt: skip
RUNS, NUMBERS = ['"a"', '"7f-3"', '"b\\u0061"'], ["1", "2", "20"]
PLACES = st.tuples(*map(st.sampled_from, (RUNS, NUMBERS, MOMENTS)))
ODD_PLACES = st.one_of(
    PLACES,
    st.tuples(*map(st.sampled_from, (["3", '""'], NUMBERS, MOMENTS))),
    st.tuples(*map(st.sampled_from, (RUNS, ["-1", "01", "2147483649", "1.5", '"1"'], MOMENTS))),
    st.tuples(*map(st.sampled_from, (RUNS, NUMBERS, NO_MOMENTS))),
)


def in_lines(entries: list[str], end: str = "]\n}\n") -> documents.Lines:
    """An export of nothing but these entries, begun to be read."""
    head = [f'{{"format": "{exchange.FORMAT}", "version": {exchange.VERSION},\n']
    empty = [f'"{table.name}": [],\n' for table in exchange.TABLES[:-1]]
    body = ['"entry": [\n', ",\n".join(entries), end]
    lines = documents.Lines(iter("".join((*head, *empty, *body)).splitlines(keepends=True)))
    lines.document()
    return lines


@settings(max_examples=300)
@given(
    st.lists(st.tuples(PLACES, st.sampled_from(RESTS[:SOUND])), min_size=1, max_size=6),
    st.lists(st.tuples(ODD_PLACES, st.sampled_from(RESTS)), max_size=1),
)
@example([(('"a"', "1", MOMENTS[0]), RESTS[0])], [(('"a"', "2", NO_MOMENTS[0]), RESTS[0])])
@example([(('"a"', "1", MOMENTS[0]), RESTS[0])], [(('"a"', "2", NO_MOMENTS[2]), RESTS[0])])
def test_what_is_remembered_of_other_entries_changes_none(sound, odd):
    """An entry after others reads as it does by itself, or is refused in the same words."""
    texts = [
        f'{{"run": {run}, "seq": {seq}, "at": "{at}", {rest}'
        for (run, seq, at), rest in sound + odd
    ]
    for lines in (texts, texts * 2):
        expected: Any = []
        try:
            for at, text in enumerate(lines, 1):
                found = json.loads(text, parse_float=Decimal, parse_constant=int)
                row = exchange.read_row(t.entry, found, at)
                expected.append(documents.entry_read(row))
        except (ValueError, StoreError) as error:
            expected = error
        try:
            read: Any = list(in_lines(lines).entries())
        except (documents.NotInLines, StoreError) as error:
            read = error
        if isinstance(expected, StoreError):
            assert (type(read), str(read)) == (StoreError, str(expected))
        elif isinstance(expected, ValueError):
            assert isinstance(read, documents.NotInLines)
        else:
            assert read == expected


def test_more_is_said_than_is_remembered(monkeypatch):
    monkeypatch.setattr(documents, "_REMEMBERED", 3)
    texts = [
        f'{{"run": "a", "seq": {seq}, "at": "2026-05-01T10:00:00+00:00", '
        f'"kind": "note", "text": "{seq % 5}"}}'
        for seq in range(1, 41)
    ]
    read = list(in_lines(texts).entries())
    assert [(entry.seq, dict(zip(entry.names, entry.values, strict=True))) for entry in read] == [
        (seq, {"kind": "note", "text": str(seq % 5)}) for seq in range(1, 41)
    ]


@pytest.mark.parametrize(
    "end", ["]\n", "\n}\n", ",]\n}\n", "]]\n}\n", "],\n}\n", "]\xa0\n}\n", "]\n}\n}\n", ",\n]\n}\n"]
)
def test_entries_that_do_not_end_as_an_export_does_are_not_read_in_lines(end):
    texts = [
        f'{{"run": "a", "seq": {seq}, "at": "{MOMENTS[0]}", "kind": "note", "text": "5"}}'
        for seq in (1, 2)
    ]
    assert [entry.seq for entry in in_lines(texts).entries()] == [1, 2]
    with pytest.raises(documents.NotInLines):
        list(in_lines(texts, end).entries())
