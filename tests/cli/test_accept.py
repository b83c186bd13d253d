"""Friends on the command line: a match at once, a challenge sent and accepted, or refused."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.cli import accept, match, play
from drillrunner.practice.matches.challenge import checksum, read
from drillrunner.practice.matches.record import Setup
from drillrunner.rules import Entry, Kind
from drillrunner.rules.keypad import read as typed
from drillrunner.services.match_desk import GHOST, MatchDesk, Seat
from tests.cli.run import Run, Said
from tests.store.world import catalogue, opened

DRILL = "hold-the-corridor"


@pytest.fixture
def wanted(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What the app was opened on, instead of opening it."""
    found: list[dict[str, Any]] = []

    def opens(args: Any, drill: Any = None, sets: Any = (), **more: Any) -> int:
        more.pop("catalogue", None)
        found.append({"player": args.player, "drill": drill and drill.id, **more})
        return 0

    for command in (play, match, accept):
        monkeypatch.setattr(command, "open_app", opens)
    return found


def test_a_match_starts_at_once(run: Run, wanted: list[dict[str, Any]]) -> None:
    assert run(f"play {DRILL}").code == 0
    assert run(f"play {DRILL} --player Ines").code == 0
    assert run(f"play {DRILL} --player Ines --player Tobi").code == 0
    how = "--turns run --draw --decider --fair"
    assert run(f"--player Ines play {DRILL} --player Tobi {how}").code == 0
    assert run(f"match {DRILL} --player Ines --player Tobi").code == 0
    assert wanted == [
        {"player": None, "drill": DRILL, "match": None},
        {"player": "Ines", "drill": DRILL, "match": None},
        {"player": "Ines", "drill": DRILL, "match": Setup(("Ines", "Tobi"))},
        {
            "player": "Ines",
            "drill": DRILL,
            "match": Setup(("Ines", "Tobi"), "run", True, "decider", True),
        },
        {"player": "Ines", "drill": DRILL, "match": Setup(("Ines", "Tobi"))},
    ]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ("--fair", "--fair is for a match: expected 2 to 8 times --player"),
        ("--player Ines --turns ball", "--turns is for a match"),
        ("--player Ines --player ines", "ines twice"),
        (" ".join(f"--player P{n}" for n in range(9)), "2 to 8 players, and these are 9"),
        (f"--player Ines --player {'x' * 41}", "expected 1 to 40 characters"),
        ("--player Ines --player Tobi --turns hole", "invalid choice: 'hole'"),
    ],
)
def test_a_match_that_makes_no_sense_is_refused(
    run: Run, wanted: list[dict[str, Any]], options: str, said: str
) -> None:
    found = run(f"play {DRILL} {options}")
    assert (found.code, found.out) == (2, "")
    assert said in found.err
    assert wanted == []


def sent(run: Run, tmp_path: Path, *balls: str) -> Path:
    """A challenge of a finished run, as the command writes it."""
    assert run(f"score {DRILL} --save --player Lena", list(balls)).code == 0
    (kept,) = run("history --json").json
    out = tmp_path / "challenge.json"
    assert run(f"challenge {kept['run']} --out {out}").code == 0
    return out


def test_a_challenge_is_accepted(run: Run, wanted: list[dict[str, Any]], tmp_path: Path) -> None:
    out = sent(run, tmp_path, *"554454")
    assert run(f"accept {out} --player Ines").code == 0
    (opened_on,) = wanted
    challenge, text = opened_on["against"]
    assert (opened_on["player"], challenge.name, challenge.run.score) == ("Ines", "Lena", 3)
    assert text == out.read_text("utf-8")


def test_it_is_played_ball_by_ball_and_goes_on_after_a_kill(run: Run, tmp_path: Path) -> None:
    text = sent(run, tmp_path, *"554454").read_text("utf-8")
    challenge = read(text, catalogue().games)
    with opened(tmp_path / "other.db") as store:
        seat = Seat(store.add_player("Ines"), challenge.drill)
        desk = MatchDesk.start(
            store, catalogue().games, [seat], Setup(("Ines",)), (challenge, text)
        )
        theirs = []
        for ball in "54544":
            desk.keep(typed(ball, challenge.drill.game().ask))
            theirs.append(desk.match.runs[GHOST][0].score)
            again = MatchDesk.resume(store, catalogue().games, desk.info.id)
            assert [line.run.entries for line in again.board] == [
                line.run.entries for line in desk.board
            ]
        assert theirs == [1, 2, 2, 2, 3], "after the end here, the rest of it at once"
        assert [line.won for line in desk.board] == [False, True]
        desk.keep(Entry(Kind.UNDO, "*"))
        assert desk.match.runs[GHOST][0].score == 2
        assert desk.turn is not None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"score": 9}, "it does not add up: its entries give 3 (out of lives), and it says 9"),
        ({"fingerprint": "0" * 64}, "its drill was changed"),
        ({"entries": [{"kind": "shot", "text": "5"}]}, "not finished"),
        ({"version": 2}, "expected version 1"),
        ({"drill": {"game": "no_such_game"}}, "which is not here"),
    ],
)
def test_a_file_that_does_not_add_up_is_refused_before_any_screen(
    run: Run, wanted: list[dict[str, Any]], tmp_path: Path, change: dict[str, Any], said: str
) -> None:
    out = sent(run, tmp_path, *"554454")
    document = json.loads(out.read_text("utf-8")) | change
    out.write_text(json.dumps({**document, "checksum": checksum(document)}), "utf-8")
    refused(run(f"accept {out}"), said)
    out.write_text(json.dumps(document | {"name": "Leni"}), "utf-8")
    refused(run(f"accept {out}"), "checksum" if "version" not in change else "version")
    assert wanted == []


def test_what_is_no_file_of_ours_is_refused(
    run: Run, wanted: list[dict[str, Any]], tmp_path: Path
) -> None:
    refused(run(f"accept {tmp_path / 'none.json'}"), "No such file")
    refused(run(f"accept {tmp_path}"), "Is a directory")
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\x00")
    refused(run(f"accept {tmp_path / 'bytes.json'}"), "no text in UTF-8")
    assert wanted == []


def refused(found: Said, why: str) -> None:
    assert (found.code, found.out) == (2, "")
    assert why in found.err
    assert found.err.count("\n") == 1


@pytest.fixture(scope="module")
def whole() -> dict[str, Any]:
    """The document of a challenge, to be damaged."""
    from datetime import UTC, datetime

    from drillrunner.practice.matches.challenge import write
    from drillrunner.rules import Run as Played

    drill = catalogue().drill(DRILL)
    balls = [typed(ball, drill.game().ask) for ball in "554454"]
    played = Played.fold(drill.game(), balls)
    return json.loads(write("Lena", datetime(2025, 5, 1, tzinfo=UTC), drill, played))


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@settings(max_examples=150)
@given(data=st.data())
def test_any_one_thing_changed_is_refused_in_a_line_or_makes_the_same_run(whole, data) -> None:
    """Even with the checksum put right: whatever is accepted adds up."""
    from drillrunner.practice.matches.challenge import BadChallenge

    field = data.draw(st.sampled_from(sorted(set(whole) - {"checksum"})))
    document = {**whole, field: data.draw(ANY)}
    text = json.dumps({**document, "checksum": checksum(document)})
    try:
        challenge = read(text, catalogue().games)
    except BadChallenge as error:
        challenge, said = None, str(error)
    if challenge is None:
        assert said
        assert "\n" not in said
        return
    assert challenge.run.score == whole["score"] == document["score"]
    assert field in ("name", "at", "tally", "score", "ended")
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "own.db") as store:
        seat = Seat(store.add_player("Ines"), challenge.drill)
        against = challenge, text
        MatchDesk.start(store, catalogue().games, [seat], Setup(("Ines",)), against)
