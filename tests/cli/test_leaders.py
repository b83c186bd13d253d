"""`leaders` and `share` on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from drillrunner.rules.keypad import read
from drillrunner.store.store import Store
from tests.cli.conftest import Told
from tests.store.world import catalogue


@pytest.fixture
def three(home: Path) -> None:
    """Ines and Tobi with 2 each, Mara with 1; Mara said nothing."""
    with Store.open(home / "data" / "drillrunner.db") as store:
        drill = catalogue().drill("hold-the-corridor")
        for name, balls in (("Ines", "55444"), ("Tobi", "5454444"), ("Mara", "5444")):
            playing = store.begin(store.add_player(name).id, drill)
            for ball in balls[: 3 + balls.count("5")]:
                playing.append(read(ball, drill.game().ask))


@pytest.mark.usefixtures("three")
def test_only_who_agreed_stands_there_and_no_takes_it_back(told: Told) -> None:
    assert told("leaders", "hold-the-corridor")[0] == 1
    assert told("share", "Mara")[1] == "Mara does not stand on the boards that everyone can see\n"
    for name in ("Ines", "tobi"):
        assert told("share", name, "yes")[0] == 0
    found = json.loads(told("leaders", "hold-the-corridor", "--json")[1])
    assert [(one["player"], one["score"]) for one in found] == [("Ines", 2), ("Tobi", 2)]
    assert set(found[0]) == {"player", "score", "at", "run"}
    lines = told("leaders", "hold-the-corridor")[1].splitlines()[1:]
    assert [line.split()[:3] for line in lines] == [["1", "Ines", "2"], ["1", "Tobi", "2"]]
    assert json.loads(told("share", "Ines", "no", "--json")[1]) == {
        "player": "Ines",
        "shares": False,
    }
    found = json.loads(told("leaders", "hold-the-corridor", "--json")[1])
    assert [one["player"] for one in found] == ["Tobi"]


@pytest.mark.usefixtures("three")
def test_another_setting_a_later_day_and_a_stranger(told: Told) -> None:
    told("share", "Ines", "yes")
    for more in (("--since", "2999-01-01"), ("--unit", "m"), ("--set", "aim.width=30")):
        assert told("leaders", "hold-the-corridor", *more)[0] == 1
    assert told("leaders", "hold-the-corridor", "--since", "2000-01-01")[0] == 0
    code, _, said = told("leaders", "no-such-drill")
    assert (code, said.count("\n")) == (2, 1)
    code, _, said = told("share", "Nobody", "yes")
    assert (code, said.count("\n")) == (2, 1)
