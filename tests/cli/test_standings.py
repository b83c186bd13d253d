"""`standings` on the command line, over matches in the records."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drillrunner.practice.matches.record import Setup
from drillrunner.rules.keypad import read
from drillrunner.services.match_desk import MatchDesk, Seat
from drillrunner.store.store import Store
from tests.cli.conftest import Told
from tests.store.world import catalogue


@pytest.fixture
def season(home: Path) -> None:
    """Two matches in the records: Ines wins one, one is shared."""
    with Store.open(home / "data" / "drillrunner.db") as store:
        drill = catalogue().drill("hold-the-corridor")
        people = [Seat(store.add_player(name), drill) for name in ("Ines", "Tobi")]
        for balls in ("5 4 4 4 4 4 4", "5 5 4 4 4 4 4 4"):
            desk = MatchDesk.start(store, catalogue().games, people, Setup(()))
            for text in balls.split():
                desk.keep(read(text, drill.game().ask))


@pytest.mark.usefixtures("season")
def test_the_command_tells_them(told: Told) -> None:
    code, out, _ = told("standings")
    assert code == 0
    assert out.split("\n")[1].split() == ["Ines", "2", "1", "1", "0"]
    code, out, _ = told("standings", "--json", "--since", "2000-01-01")
    found = json.loads(out)
    assert found["matches"] == 2
    assert found["players"][0] == {
        "player": "Ines",
        "played": 2,
        "won": 1,
        "shared": 1,
        "run": 0,
        "drills": {"hold-the-corridor": {"played": 2, "won": 1, "shared": 1}},
    }
    assert found["head_to_head"] == [
        {"one": "Ines", "other": "Tobi", "won": 1, "lost": 0, "level": 1}
    ]
    assert told("standings", "--until", "2000-01-01")[:2] == (1, "no matches then\n")
    code, _, err = told("standings", "--since", "yesterday")
    assert code == 2
    assert "expected a day as" in err


def test_without_matches_there_is_nothing_to_show(told: Told) -> None:
    assert told("standings") == (1, "no matches decided yet\n", "")
    assert told("standings", "--json") == (1, "[]\n", "")
