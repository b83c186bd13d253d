"""A challenge file: what it holds, what adds up, and every way in which it is refused."""

from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.practice.matches import challenge
from drillrunner.practice.matches.challenge import BadChallenge, Challenge, checksum, read, write
from drillrunner.practice.matches.match import Entrant, Match
from drillrunner.rules import Entry, Kind, Refused, Run
from drillrunner.rules.keypad import read as typed
from tests.rules.bundled import ANSWERS
from tests.shipped import CATALOGUE

AT = datetime(2026, 4, 2, 18, 30, tzinfo=timezone(timedelta(hours=2)))


def played(id: str, texts: str, tally: bool = False) -> Run:
    drill = CATALOGUE.drill(id)
    run = Run.begin(drill.game(), drill.between, tally)
    for text in texts.split():
        if run.between_due:
            run = run.add(Entry(Kind.BETWEEN))
        run = run.add(typed(text, run.game.ask, sure=True))
    return run


@cache
def sent(id: str = "hold-the-corridor", texts: str = "5 4 * 5 / 5 4 6 0") -> str:
    return write("Ines", AT, CATALOGUE.drill(id), played(id, texts))


def altered(text: str, **fields: object) -> str:
    """The file with fields changed by someone who knows how the checksum is made."""
    body = {**json.loads(text), **fields}
    return json.dumps({**body, "checksum": checksum(body)})


def test_what_was_written_is_read_and_folds_to_the_same_run():
    got = read(sent(), CATALOGUE.games)
    assert (got.name, got.at, got.drill.id) == ("Ines", AT, "hold-the-corridor")
    assert (got.run.score, got.run.ended, got.run.voided, got.run.undone) == (
        2,
        "out of lives",
        1,
        1,
    )
    assert [ball.text for ball in got.balls] == ["5", "5", "4", "6", "0"]


@settings(max_examples=150)
@given(
    st.sampled_from([drill.id for drill in CATALOGUE.drills]),
    st.lists(st.sampled_from(("0", "1", "2", "3", "4", "*", "/", "note", "between")), max_size=60),
    st.booleans(),
)
def test_every_finished_run_survives_the_way_there(id, story, tally):
    drill = CATALOGUE.drill(id)
    run = Run.begin(drill.game(), drill.between, tally)
    for act in (*story, *"0123401234" * 50):
        if run.over:
            break
        try:
            if act == "note":
                run = run.add(Entry(Kind.NOTE, "wind ¾ off the left «gusts»"))
            elif run.between_due and act.isdigit():
                run = run.add(Entry(Kind.BETWEEN))
            else:
                words = ANSWERS[run.ask.asks]
                run = run.add(typed(words[int(act)] if act.isdigit() else act, run.ask, True))
        except Refused:
            continue
    if not run.finished:
        with pytest.raises(BadChallenge, match="not finished"):
            write("Ines", AT, drill, run)
        return
    got = read(write("Ines", AT, drill, run), CATALOGUE.games)
    assert (got.run.entries, got.run.state, got.run.score) == (run.entries, run.state, run.score)
    assert got.drill.fingerprint == drill.fingerprint


def test_its_balls_play_in_a_match_as_if_in_the_next_bay():
    got = read(sent(), CATALOGUE.games)
    game = got.drill.game()
    match = Match.begin([Entrant("away", got.name, got.run.game), Entrant("me", "Tobi", game)])
    for theirs, mine in zip(got.balls, ("5", "5", "5", "4", "4"), strict=True):
        match = match.add("away", theirs).add("me", typed(mine, game.ask))
    assert match.decision is not None
    assert match.decision.winners == ("me",)
    assert match.runs["away"][0].score == got.run.score


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"score": 3}, r"does not add up: its entries give 2 \(out of lives\), and it says 3"),
        ({"score": None}, "does not add up"),
        ({"ended": "out of balls"}, "does not add up"),
        ({"fingerprint": "0" * 64}, "drill was changed"),
        ({"entries": [{"kind": "shot", "text": "5"}]}, "not finished"),
        ({"entries": [{"kind": "shot", "text": "wide"}]}, "do not make a run: 'wide'"),
        ({"entries": [{"kind": "shot", "text": "*"}]}, "is no shot"),
        ({"entries": [{"kind": "undo", "text": "*"}]}, "nothing to undo"),
        ({"entries": [{"kind": "cheat", "text": "5"}]}, r"entries\.0\.kind"),
        ({"entries": 3}, "entries: "),
        ({"entries": []}, "entries: "),
        ({"name": ""}, "name: "),
        ({"name": "a\x1b[2Jb"}, "name: "),
        ({"name": "a\u202eb"}, "name: .*can be printed"),
        ({"at": "2026-04-02T18:30:00"}, "at: "),
        ({"more": 1}, "more: "),
        ({"version": 2}, "expected version 1 of a challenge, not 2"),
        ({"format": "other"}, "expected a challenge written by"),
        ({"drill": {}}, "the game None, which is not here"),
    ],
)
def test_a_file_that_does_not_add_up_is_refused_with_the_reason(change, said):
    with pytest.raises(BadChallenge, match=said):
        read(altered(sent(), **change), CATALOGUE.games)


def test_a_game_that_is_not_here_and_a_drill_that_was_made_easier_are_refused():
    text = sent()
    with pytest.raises(BadChallenge, match="'lives', which is not here"):
        read(text, {})
    drill = json.loads(text)["drill"]
    wider = altered(text, drill={**drill, "aim": {"width": 90}})
    with pytest.raises(BadChallenge, match="drill was changed"):
        read(wider, CATALOGUE.games)
    with pytest.raises(BadChallenge, match="can't be played here"):
        read(altered(text, drill={**drill, "settings": {"lives": 0}}), CATALOGUE.games)


@settings(max_examples=300)
@given(st.data())
def test_one_damaged_character_anywhere_is_found(data):
    text = sent()
    at = data.draw(st.integers(0, len(text) - 1))
    other = data.draw(st.characters(codec="utf-8").filter(lambda c: c != text[at]))
    damaged = text[:at] + other + text[at + 1 :]
    try:
        same = json.loads(damaged) == json.loads(text)
    except ValueError:
        same = False
    if same:  # white space between the values says nothing
        assert isinstance(read(damaged, CATALOGUE.games), Challenge)
    else:
        with pytest.raises(BadChallenge):
            read(damaged, CATALOGUE.games)


@settings(max_examples=200)
@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(max_size=8) | st.integers(),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
        max_leaves=8,
    ),
    st.sampled_from(["", *(name for name in json.loads(sent()) if name != "checksum")]),
)
def test_anything_else_is_refused_in_one_line(junk, name):
    text = altered(sent(), **{name: junk}) if name else json.dumps(junk)
    try:
        read(text, CATALOGUE.games)
        refused = ""
    except BadChallenge as error:
        refused = str(error)
    assert "\n" not in refused
    assert refused or name in ("name", "at", "tally") or junk == json.loads(text)[name]


def test_the_schema_in_the_repo_is_the_one_that_files_are_checked_by():
    published = Path(challenge.__file__).with_name("challenge.schema.json").read_text()
    assert published == challenge.schema()
    assert set(json.loads(sent())) == set(json.loads(published)["properties"])
