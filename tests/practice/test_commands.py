"""`aim` and `session` on the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.run import Run as Command

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """The command line in this process: exit code, standard output, standard error."""
    command = Command(capsys)

    def said(*words: str) -> tuple[int, str, str]:
        answer = command(list(words))
        return answer.code, answer.out, answer.err

    return said


def test_a_width_from_a_distance_and_an_angle(run: Run) -> None:
    code, out, err = run("aim", "--distance", "210", "--angle", "10", "--json")
    found = json.loads(out)
    assert (code, err) == (0, "")
    assert list(found) == ["distance", "width", "angle", "low", "high"]
    assert found["width"] == pytest.approx(36.745238680888)
    assert found["low"] < found["width"] < found["high"]


def test_an_angle_from_a_distance_and_a_width_and_how_many_fingers(run: Run) -> None:
    found = json.loads(run("aim", "--distance", "210", "--width", "40", "--json")[1])
    assert found["angle"] == pytest.approx(10.880664062011)
    assert found["low"] < found["angle"] < found["high"]
    _, out, _ = run("aim", "--distance", "210", "--width", "40")
    assert "fingers   5.7" in out
    _, out, _ = run("aim", "--distance", "210", "--width", "40", "--arm", "63")
    assert "fingers   6.0" in out


def test_other_ways_to_measure(run: Run) -> None:
    def width(*words: str) -> float:
        return float(json.loads(run("aim", *words, "--json")[1])["width"])

    assert width("--distance", "200", "--fists", "2", "--hand", "9", "--arm", "60") == 60
    assert (
        width("--distance", "200", "--posts", "2", "--spacing", "3", "--post-distance", "30") == 40
    )
    assert width("--mark", "200@-4", "--mark", "200@6") == pytest.approx(34.862297)


def test_the_nearest_gap_of_the_range(run: Run, home: Path) -> None:
    folder = home / "config" / "ranges"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(
        'id = "mine"\ntitle = "Home range"\n[[gaps]]\nname = "oaks"\ndistance = 205\nwidth = 38\n'
    )
    _, out, err = run("aim", "--distance", "210", "--width", "40")
    assert err == ""
    assert "Home range  oaks, at 205 yd: 38 yd (36 to 40), nearest to 40" in out
    (folder / "broken.toml").write_text("id = 3")
    code, out, err = run("aim", "--distance", "210", "--width", "40")
    assert code == 0
    assert "oaks" in out
    assert "broken.toml" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "expected one of --angle"),
        (("--distance", "210"), "expected one of --angle"),
        (("--distance", "210", "--angle", "4", "--width", "3"), "expected one of --angle"),
        (("--angle", "10"), "--distance missing"),
        (("--distance", "far", "--angle", "10"), "'far'"),
        (("--distance", "nan", "--angle", "10"), "'nan'"),
        (("--distance", "-210", "--angle", "10"), "distance -210"),
        (("--distance", "0", "--angle", "10"), "distance 0"),
        (("--distance", "210", "--angle", "-1"), "angle -1"),
        (("--distance", "210", "--angle", "180"), "angle 180"),
        (("--distance", "210", "--fists", "1", "--arm", "0"), "--arm 0"),
        (("--distance", "210", "--angle", "9", "--hand", "2"), "--hand"),
        (("--distance", "210", "--angle", "9", "--spacing", "2"), "--spacing: expected only"),
        (("--distance", "210", "--width", "9", "--angle-error", "2"), "--angle-error: expected"),
        (("--mark", "200@4", "--mark", "200@9", "--count-error", "1"), "--count-error: expected"),
        (("--distance", "0", "--mark", "200@4", "--mark", "200@9"), "distance 0"),
        (("--mark", "200@4"), "two marks"),
        (("--mark", "200", "--mark", "200@4"), "DISTANCE@BEARING"),
        (("--mark", "200@x", "--mark", "200@4"), "'x'"),
        (("--distance", "210", "--posts", "2"), "--spacing missing"),
    ],
)
def test_bad_input_is_one_line_and_exit_2(run: Run, words: tuple[str, ...], said: str) -> None:
    code, out, err = run("aim", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_a_broken_hand_file_is_named(run: Run, home: Path) -> None:
    (home / "config").mkdir(parents=True)
    (home / "config" / "hand.toml").write_text("arm = 5000\n")
    code, _, err = run("aim", "--distance", "210", "--fists", "1")
    assert code == 2
    assert "hand.toml:1: arm" in err


def test_the_plans(run: Run, home: Path) -> None:
    code, out, _ = run("session", "--plans", "--json")
    assert code == 0
    assert {plan["id"] for plan in json.loads(out)} == {
        "an-hour",
        "half-an-hour",
        "twenty-minutes-of-wedges",
    }
    (home / "more" / "plans").mkdir(parents=True)
    (home / "more" / "plans" / "x.toml").write_text('id = "x"\n')
    code, out, err = run("session", "--plans", "--games", str(home / "more"))
    assert code == 0
    assert "half-an-hour" in out
    assert "x.toml" in err


def test_nothing_to_show(run: Run) -> None:
    assert run("session", "--show", "last", "--json")[:2] == (1, "[]\n")
    assert run("session", "--show", "last")[:2] == (1, "no sessions yet\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--show", "nope"), "no session 'nope'"),
        (("--show", "last", "--player", "Nobody"), "no player 'Nobody'"),
        (("--minutes", "0"), "0 minutes: expected 1 to 240"),
        (("--balls", "501"), "501 balls: expected 1 to 500"),
        (("--minutes", "ten"), "--minutes"),
        (("--plan", "half-hour"), "no plan 'half-hour'"),
        (("--json",), "--show or --plans"),
        (("--minutes", "30"), "needs a terminal"),
    ],
)
def test_a_wrong_session_is_one_line_and_exit_2(
    run: Run, words: tuple[str, ...], said: str
) -> None:
    code, out, err = run("session", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
