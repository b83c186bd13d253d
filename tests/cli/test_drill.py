"""`drillrunner drill`: a drill of one's own, made, changed and taken away without a screen."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillrunner.catalogue import places
from drillrunner.catalogue.fields import id_for
from drillrunner.catalogue.loader import load
from drillrunner.catalogue.making import free_id
from tests.cli.run import Run


def own(name: str) -> Path:
    return places.games_dir() / f"{name}.toml"


def test_a_drill_is_made_from_another_and_is_there_at_once(run: Run) -> None:
    words = "drill my-gate --from hold-the-corridor --set aim.width=32 --set club=7-iron"
    said = run(words, "--set lives=2", ["--title", "My gate"])
    assert (said.code, said.err) == (0, "")
    drill = load(places.folders()).drill("my-gate")
    assert (drill.title, drill.club, str(drill.aim.width)) == ("My gate", "7-iron", "32")
    assert own("my-gate").stat().st_mode & 0o777 == 0o600
    assert "my-gate" in run("drills").out
    assert run("score my-gate 5 4 4").code == 0


def test_the_drill_as_it_was_keeps_its_best(run: Run) -> None:
    run("drill my-gate --from hold-the-corridor")
    run("score my-gate 5 5 4 4 4 --save --player Ann")
    said = run("drill my-gate --set width=30")
    assert said.code == 0
    assert "counts as another drill" in said.err
    assert "Ann 2" in said.err
    assert len(list((places.games_dir() / "aside").iterdir())) == 1
    again = run(["drill", "my-gate", "--title", "Another name"])
    assert again.err == ""
    assert load(places.folders()).drill("my-gate").title == "Another name"


def test_what_is_taken_away_is_kept_aside(run: Run) -> None:
    run("drill my-gate --from hold-the-corridor")
    before = own("my-gate").read_text()
    assert run("drill my-gate --remove").code == 0
    assert not own("my-gate").exists()
    (kept,) = (places.games_dir() / "aside").iterdir()
    assert kept.read_text() == before
    assert run("drill my-gate --remove").code == 2


def test_words_dial_and_minutes_can_be_set_and_words_of_another_setting_go(run: Run) -> None:
    run("drill my-gate --from hold-the-corridor --set aim.width=32")
    drill = load(places.folders()).drill("my-gate")
    assert drill.about == "Every ball that holds scores one; every miss costs a life."
    said = run(
        ["drill", "my-gate", "--set", "about=Between the posts.", "--set", "takes.minutes=7"]
    )
    assert said.code == 0
    assert run("drill my-gate --set dial.from=20 --set aim.width=30").code == 0
    drill = load(places.folders()).drill("my-gate")
    assert (drill.about, drill.minutes) == ("Between the posts.", 7)
    assert drill.dial is not None
    assert drill.dial.low == 20
    assert "dial.step" in run("drill my-gate --set dial.step=x").err


def test_a_value_beyond_the_dial_takes_it_off(run: Run) -> None:
    said = run("drill wide --from hold-the-corridor --set aim.width=170")
    assert said.code == 0
    assert load(places.folders()).drill("wide").dial is None


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("drill hold-the-corridor --from miss-total", "there is a drill of that id already"),
        ("drill hold-the-corridor --set width=30", "not in your own folder"),
        ("drill hold-the-corridor --remove", "not in your own folder"),
        ("drill My_Gate --from hold-the-corridor", "id: expected lower-case letters"),
        ("drill ../x --from hold-the-corridor", "id: expected lower-case letters"),
        ("drill a --from hold-the-corridor --set width=-3", "aim.width: expected"),
        ("drill a --from hold-the-corridor --set widht=3", "widht: unknown field"),
        ("drill a --from nothing-like-it", "no drill 'nothing-like-it'"),
        ("drill a --remove --set width=3", "--remove: expected nothing beside it"),
    ],
)
def test_what_can_t_be_is_one_line_and_writes_nothing(run: Run, line: str, reason: str) -> None:
    said = run(line)
    assert said.code == 2
    assert reason in said.err
    assert said.err.count("\n") == 1
    assert not places.games_dir().exists() or not list(places.games_dir().glob("*.toml"))


def test_an_id_follows_from_a_title() -> None:
    assert id_for("Mein Tor, 30 m!") == "mein-tor-30-m"
    assert id_for("Fünf Eisen") == "funf-eisen"
    assert id_for("***") == "mine"
    assert free_id("Hold the corridor", load(places.folders())) == "hold-the-corridor-2"
