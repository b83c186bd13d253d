"""The other plain commands, the options that all share, and how they fail."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

import pytest

from drillrunner.catalogue.loader import NOT_ALLOWED, bundled
from drillrunner.cli import main as command_line
from drillrunner.cli.main import COMMANDS
from tests.catalogue.files import DRILL, GAME, changed, write
from tests.cli.run import Run

RUN_KEYS = [
    *("run", "drill", "player", "started", "ended_at", "finished", "ended", "score", "better"),
    *("counted", "voided", "undone", "setting"),
]


@pytest.fixture
def played(run: Run) -> None:
    """Four saved tallies of two players."""
    run("score hold-the-corridor 5 5 4 undo 4 4 void 4 4 --save --player Ana")
    run("score hold-the-corridor 5 4 4 4 --save --player Ben")
    run("score miss-total -15 +2,5 --save --player Ana")
    run("score on-the-number 44 45 --save --player Ben")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_helps(command: str, run: Run) -> None:
    said = run(command, "--help")
    assert said.code == 0
    assert said.out.startswith(f"usage: drillrunner {command}")
    assert "--db" in said.out
    assert "--games" in said.out


def test_help_lists_every_command(run: Run) -> None:
    said = run("--help")
    assert said.code == 0
    for command, (_, summary) in COMMANDS.items():
        assert f"  {command}" in said.out
        assert summary in said.out


def test_an_unknown_command_names_the_known(run: Run) -> None:
    said = run("scor 5")
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("drillrunner: no command 'scor': expected one of play, match")


@pytest.mark.parametrize("words", ["", "play hold-the-corridor", "--db x.db", "--player Ana"])
def test_without_a_terminal_the_app_does_not_open(words: str, run: Run) -> None:
    said = run(words)
    assert said.code == 2
    assert said.err == (
        "drillrunner: the app needs a terminal; `drillrunner --help` lists the plain commands\n"
    )


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("play nowhere", "no drill 'nowhere'"),
        ("play", "the following arguments are required: DRILL"),
        ("play hold-the-corridor --set lives=0", "--set: settings.lives: expected greater"),
        ("match nowhere --wait", "no drill 'nowhere'"),
        ("match --wait", "DRILL: expected the id of a drill, or --join NUMBER"),
        ("match hold-the-corridor", "expected --wait, or --join NUMBER, or --player for each"),
        ("match hold-the-corridor --player Ann --player ann", "ann twice"),
        ("match --join 12a4", "argument --join: 12a4: expected the four digits"),
        ("match --join 1234 --fair", "--join: expected no drill and no way to play it"),
        ("match --join 1234 --player Ann --player Bo", "--player: expected one of them"),
        ("match hold-the-corridor --wait --join 1234", "argument --join: not allowed with"),
    ],
)
def test_play_says_what_is_wrong_before_it_opens(words: str, reason: str, run: Run) -> None:
    said = run(words)
    assert said.code == 2
    assert said.err.startswith(f"drillrunner: {reason}")


def test_drills(run: Run, home: Path) -> None:
    write(home / "more", "broken.toml", changed("lives = 2", "lives = 0"))
    said = run(f"drills --json --games {home}/more")
    assert said.code == 0
    corridor = next(d for d in said.json["drills"] if d["id"] == "hold-the-corridor")
    assert corridor == {
        "id": "hold-the-corridor",
        "title": "Hold the corridor",
        "game": "lives",
        "club": "driver",
        "asks": "verdict",
        "better": "higher",
        "source": str(bundled("games") / "hold-the-corridor.toml"),
    }
    assert said.json["problems"] == [
        {
            "file": f"{home}/more/broken.toml",
            "line": 10,
            "field": "settings.lives",
            "reason": "expected greater than or equal to 1, not 0",
        },
    ]
    assert said.err.startswith(f"{home}/more/broken.toml:10: settings.lives: expected")
    text = run("drills")
    assert text.err == ""
    assert len(text.out.splitlines()) == 1 + len(said.json["drills"])


@pytest.mark.parametrize("where", ["before", "after", "environment", "equals"])
def test_games_and_db_stand_anywhere(
    where: str, run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(home / "more", "mine.toml", DRILL)
    options = f"--games {home}/more --db {home}/other.db"
    words = "score mine 5 4 4 --save --player Ana --json"
    if where == "before":
        said = run(options, words)
    elif where == "after":
        said = run(words, options)
    elif where == "equals":
        said = run(f"--db={home}/other.db", words, f"--games={home}/more")
    else:
        monkeypatch.setenv("DRILLRUNNER_GAMES", f"{home}/more")
        monkeypatch.setenv("DRILLRUNNER_DB", f"{home}/other.db")
        said = run(words)
    assert said.code == 0, said.err
    assert said.json["score"] == 1
    assert (home / "other.db").exists()
    assert not (home / "data").exists()


def test_db_beats_the_environment_and_takes_a_url(run: Run, home: Path) -> None:
    words = f"score on-the-number 45 --save --player Ana --db sqlite:///{home}/url.db"
    assert run(words).code == 0
    assert (home / "url.db").exists()
    assert run("best --json").code == 1
    assert len(run(f"best --json --db {home}/url.db").json) == 1


def test_check(run: Run, home: Path) -> None:
    good = write(home / "more", "mine.toml", DRILL)
    said = run(f"check {good}")
    assert (said.code, said.out) == (0, "no faults in 1 file\n")
    bad = write(home / "more", "bad.toml", changed("width = 30", "width = -3"))
    said = run(f"check {home}/more --json")
    assert said.code == 1
    assert said.json["problems"][0] == {
        "file": str(bad),
        "line": 7,
        "field": "aim.width",
        "reason": "expected greater than or equal to 0, not -3",
    }
    assert said.err.startswith(f"{bad}:7: aim.width: expected")
    assert run(f"check {home}/none").code == 2
    (home / "empty").mkdir()
    assert run(f"check {home}/empty").code == 1


def test_allow(run: Run, home: Path) -> None:
    game = write(home / "more", "count.py", GAME)
    assert run(f"check {game}").code == 1
    assert NOT_ALLOWED in run(f"drills --games {home}/more").err
    said = run(f"allow {game}")
    assert (said.code, said.err) == (0, "")
    assert run(f"check {game}").code == 0
    assert run(f"drills --games {home}/more").err == ""
    assert run(f"allow {home}/none.py").code == 2


@pytest.mark.usefixtures("played")
def test_history(run: Run) -> None:
    said = run("history --json")
    assert said.code == 0
    assert [list(one) for one in said.json] == [RUN_KEYS] * 4
    assert [(one["player"], one["drill"]) for one in said.json] == [
        ("Ben", "on-the-number"),
        ("Ana", "miss-total"),
        ("Ben", "hold-the-corridor"),
        ("Ana", "hold-the-corridor"),
    ]
    for one in said.json:
        for key in ("started", "ended_at"):
            assert datetime.fromisoformat(one[key]).tzinfo is not None
    oldest = said.json[-1]
    assert (oldest["score"], oldest["counted"], oldest["voided"], oldest["undone"]) == (2, 5, 1, 1)
    assert said.json[1]["score"] == 17.5
    assert len(run("history hold-the-corridor --json").json) == 2
    assert len(run("history --player ANA --json").json) == 2
    assert len(run("--player Ben history hold-the-corridor --json").json) == 1
    lines = run("history").out.splitlines()
    assert len(lines) == 5
    assert lines[0].split() == ["started", "player", "drill", "score", "ended", "balls", "run"]


@pytest.mark.usefixtures("played")
def test_one_run_with_its_entries(run: Run) -> None:
    id = run("history --json").json[-1]["run"]
    (one,) = run("history --json --run", id).json
    assert list(one) == [*RUN_KEYS, "entries"]
    assert [(e["seq"], e["kind"], e["text"], e["live"]) for e in one["entries"]] == [
        (1, "shot", "5", True),
        (2, "shot", "5", True),
        (3, "shot", "4", False),
        (4, "undo", "undo", False),
        (5, "shot", "4", True),
        (6, "shot", "4", True),
        (7, "void", "void", True),
        (8, "shot", "4", True),
        (9, "shot", "4", True),
    ]
    text = run("history --run", id).out
    assert text.startswith("Hold the corridor\n")
    assert "undone" in text
    assert " void" in text


@pytest.mark.usefixtures("played")
def test_best_has_the_promised_keys(run: Run) -> None:
    said = run("best --json")
    assert [list(best) for best in said.json] == [
        ["player", "drill", "setting", "score", "at", "run"]
    ] * 3
    assert [best["player"] for best in run("best --player Ben --json").json] == ["Ben", "Ben"]
    assert "40 yd wide · Driver" in run("best").out


@pytest.mark.parametrize("command", ["history", "best"])
def test_nothing_to_show(command: str, run: Run, home: Path) -> None:
    said = run(command, "--json")
    assert (said.code, said.out) == (1, "[]\n")
    assert run(command).code == 1
    assert not (home / "data").exists()
    assert run(command, "--player Zoe").code == 2


@pytest.mark.usefixtures("played")
@pytest.mark.parametrize("words", ["best --player Zoe", "history nowhere", "history --run 7"])
def test_an_unknown_name_is_wrong_input(words: str, run: Run) -> None:
    said = run(words)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("drillrunner: no ")


@pytest.mark.usefixtures("played")
def test_a_drill_that_has_gone_keeps_its_history(run: Run, home: Path) -> None:
    file = write(home / "more", "mine.toml", DRILL)
    run(f"score mine 5 4 4 --save --player Ana --games {home}/more")
    file.unlink()
    assert len(run("history mine --json").json) == 1
    assert run("history mine --json --player Ben").json == []


def test_a_database_that_is_none_gets_one_line(run: Run, home: Path) -> None:
    other = write(home, "notes.txt", "not a database, and quite long enough to look like a file")
    said = run(f"best --db {other}")
    assert (said.code, said.out) == (2, "")
    assert said.err.count("\n") == 1
    assert str(other) in said.err


def test_interrupted_without_a_traceback(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(words: list[str]) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(command_line, "_run", interrupted)
    assert run("drills").code == 130


@pytest.mark.parametrize(
    "words", ["best --player", "score on-the-number 45 --save --player", "history", "history --run"]
)
def test_bytes_that_are_no_text(words: str, run: Run) -> None:
    said = run(words, [os.fsdecode(b"\xff")])
    assert said.code == 2
    assert "expected text in UTF-8" in said.err


def test_what_starts_with_a_dash_keeps_its_name(run: Run) -> None:
    assert "no player '-x'" in run("best --player -x").err
    assert run("check -5").err.startswith("drillrunner: -5: expected a drill")
    assert "unrecognized arguments: -x;" in run("drills -x").err


def test_a_name_that_can_not_be_kept_is_told_before_the_app_opens(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drillrunner.cli.app.need_terminal", lambda: None)
    monkeypatch.setattr("drillrunner.app.app.DrillrunnerApp.run", lambda self: 1 / 0)
    for name in ("", "x" * 41):
        said = run("play hold-the-corridor", ["--player", name])
        assert said.code == 2
        assert "--player" in said.err
        assert said.err.endswith("expected 1 to 40 characters that can be printed\n")
