"""`give` on the command line: what was typed under another name goes to whose it was."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from drillrunner.practice.matches.record import Setup
from drillrunner.practice.sessions.keeper import WatchReading
from drillrunner.practice.sessions.session import Limits
from drillrunner.rules.keypad import read
from drillrunner.services.ledger import Ledger
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.round_book import NewRound
from drillrunner.store.store import Store
from tests.cli.run import Run
from tests.practice.worlds import block, plan
from tests.store.world import catalogue

DRILL = "hold-the-corridor"
AT = WatchReading(datetime(2025, 5, 10, 17, 30, tzinfo=UTC), 0.0)


@pytest.fixture
def evening(home: Path) -> Path:
    """A run, a session with a run of its own, a round and a match, all typed as Ines."""
    database = home / "data" / "drillrunner.db"
    with Store.open(database, lambda: AT.at) as store:
        ines, tobi = store.add_player("Ines"), store.add_player("Tobi")
        store.add_player("Mara")
        drill = catalogue().drill(DRILL)
        play(store, ines.id, "5 5 4 4 4")
        ledger = Ledger.start(store, ines, plan(block("free", 5, 20)), Limits(5, 20), lambda: AT)
        playing = ledger.begin(drill)
        for text in ("5", "4", "4", "4"):
            playing.append(read(text, drill.game().ask))
            ledger.entered(playing)
        ledger.stop()
        store.rounds.add(
            ines.id,
            NewRound(date(2025, 5, 9), "score", data={"adjusted": 90}, told=[("finished", {})]),
        )
        seats = [Seat(player, drill) for player in (ines, tobi)]
        desk = MatchDesk.start(store, catalogue().games, seats, Setup(()))
        for text in ["5", "5", "5", "4", "4", "4", "4", "4"]:
            desk.keep(read(text, drill.game().ask))
    return database


def play(store: Store, player: str, balls: str) -> None:
    playing = store.begin(player, catalogue().drill(DRILL))
    for text in balls.split():
        playing.append(read(text, playing.drill.game().ask))


def who(database: Path) -> tuple[list[str], list[str], list[str], list[str]]:
    """Who has the runs (oldest first), the sessions, the rounds and the seats."""
    with Store.open(database) as store:
        rounds = [one.player for info in store.players() for one in store.rounds.of(info.id)]
        return (
            [run.player for run in reversed(store.history())],
            [one.player for one in store.sessions()],
            rounds,
            [seat.player for seat in store.matches()[0].players],
        )


def test_each_kind_goes_to_whose_it_was_and_stays_so_elsewhere(
    evening: Path, run: Run, tmp_path: Path
) -> None:
    assert run("give").out == "nothing was given to another player yet\n"
    first = run("history --json").json[-1]["run"]
    said = run(f"give run {first} --to Mara")
    assert said.code == 0
    assert "the run of " in said.out
    assert "is Mara's now, and was Ines's" in said.out
    assert run("give session --to Mara").code == 0
    assert run("give round --to Mara").code == 0
    assert run("give seat last --from Ines --to Mara").code == 0
    given = (["Mara", "Mara", "Mara", "Tobi"], ["Mara"], ["Mara"], ["Mara", "Tobi"])
    assert who(evening) == given
    listed = run("give").out.splitlines()
    assert [line.split()[2:5] for line in listed[1:]] == [
        [kind, "Ines", "Mara"] for kind in ("run", "session", "round", "seat")
    ]
    out = tmp_path / "all.json"
    assert run("export", ["--out", str(out)]).code == 0
    other = tmp_path / "other.db"
    assert run("import", [str(out), "--db", str(other)]).code == 0
    assert who(other) == given
    assert run("give", ["--db", str(other)]).out.splitlines() == listed
    # Given back, it is hers again: there too, once it is brought.
    assert run(f"give run {first} --to Ines").code == 0
    assert run("export", ["--out", str(tmp_path / "later.json")]).code == 0
    assert run("import", [str(tmp_path / "later.json"), "--db", str(other)]).code == 0
    assert who(other)[0] == ["Ines", "Mara", "Mara", "Tobi"] == who(evening)[0]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("give run", "--to: expected the name"),
        ("give run --to Uwe", "no player 'Uwe'"),
        ("give run nothing --to Mara", "no run nothing"),
        ("give run last --from Mara --to Tobi", "no run of Mara yet"),
        ("give session nothing --to Mara", "no session nothing"),
        ("give seat --to Mara", "--from: expected the name of who has the seat"),
        ("give seat --from Mara --to Tobi", "no seat of Mara yet"),
        ("give seat --from Ines --to Tobi", "has a seat in the match already"),
        ("give ball --to Mara", "invalid choice: 'ball'"),
    ],
)
def test_what_can_not_be_given_is_said_in_a_line(
    evening: Path, run: Run, words: str, says: str
) -> None:
    before = who(evening)
    said = run(words)
    assert (said.code, said.out) == (2, "")
    assert says in said.err
    assert said.err.count("\n") == 1
    assert who(evening) == before


def test_a_run_of_a_match_goes_with_its_seat_and_ones_own_stays(evening: Path, run: Run) -> None:
    said = run("give run last --to Mara")
    assert said.code == 2
    assert "give the seat in the match" in said.err
    assert run("give session --to Ines").out.endswith("is Ines's already\n")
