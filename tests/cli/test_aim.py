"""`aim` on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Told


def test_a_width_from_a_distance_and_an_angle(told: Told) -> None:
    code, out, err = told("aim", "--distance", "210", "--angle", "10", "--json")
    found = json.loads(out)
    assert (code, err) == (0, "")
    assert list(found) == ["distance", "width", "angle", "low", "high"]
    assert found["width"] == pytest.approx(36.745238680888)
    assert found["low"] < found["width"] < found["high"]


def test_an_angle_from_a_distance_and_a_width_and_how_many_fingers(told: Told) -> None:
    found = json.loads(told("aim", "--distance", "210", "--width", "40", "--json")[1])
    assert found["angle"] == pytest.approx(10.880664062011)
    assert found["low"] < found["angle"] < found["high"]
    _, out, _ = told("aim", "--distance", "210", "--width", "40")
    assert "fingers   5.7" in out
    _, out, _ = told("aim", "--distance", "210", "--width", "40", "--arm", "63")
    assert "fingers   6.0" in out


def test_other_ways_to_measure(told: Told) -> None:
    def width(*words: str) -> float:
        return float(json.loads(told("aim", *words, "--json")[1])["width"])

    assert width("--distance", "200", "--fists", "2", "--hand", "9", "--arm", "60") == 60
    assert (
        width("--distance", "200", "--posts", "2", "--spacing", "3", "--post-distance", "30") == 40
    )
    assert width("--mark", "200@-4", "--mark", "200@6") == pytest.approx(34.862297)


def test_the_nearest_gap_of_the_range(told: Told, home: Path) -> None:
    folder = home / "config" / "ranges"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text(
        'id = "mine"\ntitle = "Home range"\n[[gaps]]\nname = "oaks"\ndistance = 205\nwidth = 38\n'
    )
    _, out, err = told("aim", "--distance", "210", "--width", "40")
    assert err == ""
    assert "Home range  oaks, at 205 yd: 38 yd (36 to 40), nearest to 40" in out
    (folder / "broken.toml").write_text("id = 3")
    code, out, err = told("aim", "--distance", "210", "--width", "40")
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
def test_bad_input_is_one_line_and_exit_2(told: Told, words: tuple[str, ...], said: str) -> None:
    code, out, err = told("aim", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_a_broken_hand_file_is_named(told: Told, home: Path) -> None:
    (home / "config").mkdir(parents=True)
    (home / "config" / "hand.toml").write_text("arm = 5000\n")
    code, _, err = told("aim", "--distance", "210", "--fists", "1")
    assert code == 2
    assert "hand.toml:1: arm" in err
