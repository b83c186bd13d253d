"""`session` on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Told


def test_the_plans(told: Told, home: Path) -> None:
    code, out, _ = told("session", "--plans", "--json")
    assert code == 0
    assert {plan["id"] for plan in json.loads(out)} == {
        "an-hour",
        "half-an-hour",
        "half-an-hour-on-the-green",
        "twenty-minutes-of-wedges",
    }
    (home / "more" / "plans").mkdir(parents=True)
    (home / "more" / "plans" / "x.toml").write_text('id = "x"\n')
    code, out, err = told("session", "--plans", "--games", str(home / "more"))
    assert code == 0
    assert "half-an-hour" in out
    assert "x.toml" in err


def test_nothing_to_show(told: Told) -> None:
    assert told("session", "--show", "last", "--json")[:2] == (1, "[]\n")
    assert told("session", "--show", "last")[:2] == (1, "no sessions yet\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--show", "nope"), "no session 'nope'"),
        (("--show", "last", "--player", "Nobody"), "no player 'Nobody'"),
        (("--minutes", "0"), "0 minutes: expected 1 to 240"),
        (("--balls", "501"), "501 balls: expected 1 to 500"),
        (("--minutes", "ten"), "--minutes: expected a whole number, not 'ten'"),
        (("--chance", "half"), "--chance 'half': expected a number"),
        (("--chance", "50"), "needs a terminal"),
        (("--plan", "half-hour"), "no plan 'half-hour'"),
        (("--json",), "--show or --plans"),
        (("--minutes", "30"), "needs a terminal"),
    ],
)
def test_a_wrong_session_is_one_line_and_exit_2(
    told: Told, words: tuple[str, ...], said: str
) -> None:
    code, out, err = told("session", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
