"""`drillrunner strokes`: the table of expected strokes, asked without a screen."""

from __future__ import annotations

import pytest

from tests.cli.run import Run


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("400", "tee", "--index", "18"), 5.34),
        (("150", "fairway", "--index", "10"), 3.44),
        (("10", "green", "--index", "0"), 1.70),
        (("400", "tee", "--index", "19"), (5.34 + 5.49) / 2),
    ],
)
def test_the_strokes_of_an_index(run: Run, words: tuple[str, ...], expected: float) -> None:
    """Values worked out from the same description by another program."""
    done = run("strokes", *words, "--json")
    assert done.code == 0
    assert done.json["expected"] == pytest.approx(expected, abs=0.02)


def test_women_have_a_table_of_their_own(run: Run) -> None:
    men = run("strokes 350 tee --index 18 --json")
    women = run("strokes 350 tee --index 18 --women --json")
    assert women.json["expected"] > men.json["expected"] + 0.2
    said = run("strokes 350 tee --index 18 --women").out
    assert "known for men only" in said


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("400", "bunker", "--index", "18"), "LIE: expected one of tee, fairway, rough, sand"),
        (("900", "tee", "--index", "18"), "DISTANCE: expected 0 to 660 yards"),
        (("400", "tee", "--index", "99"), "--index: expected -10 to 54"),
        (("x", "tee", "--index", "18"), "DISTANCE: expected 0 to 660 yards, not 'x'"),
    ],
)
def test_wrong_words_are_one_line(run: Run, words: tuple[str, ...], reason: str) -> None:
    done = run("strokes", *words)
    assert done.code == 2
    assert reason in done.err
    assert done.err.count("\n") == 1
