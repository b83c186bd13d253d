"""Needs, what practice is worth, goals and the plan, from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.run import Run

KINDS = {"driving", "60-100", "100-140", "140-180", "180+", "short", "putting"}


def rounds(run: Run, folder: Path, month: int, count: int, putts: int = 3) -> None:
    """Full cards of nine holes on the bundled course: three putts everywhere unless said."""
    file = folder / "card.csv"
    head = "hole,tee,number,approach,result,left,lie,putt,putts,penalties,score\n"
    pars = (4, 5, 3, 4, 4, 4, 3, 5, 4)
    lines = [
        f"{hole},{'' if par == 3 else 'fairway'},,{'' if par == 3 else 130},on,,,20,{putts},,"
        for hole, par in enumerate(pars, 1)
    ]
    file.write_text(head + "\n".join(lines) + "\n")
    for day in range(1, count + 1):
        date = f"2026-{month:02d}-{day:02d}"
        done = run(
            f"round larch-bottom --tee white --date {date} --player Ines --card", [str(file)]
        )
        assert done.code == 0, done.err


def test_three_putts_everywhere_are_named_from_three_rounds_on(run: Run, tmp_path: Path) -> None:
    run("best")
    assert run("needs --json").json == []
    rounds(run, tmp_path, 4, 2)
    assert "too early to tell" in run("needs --player Ines --level 15").out
    rounds(run, tmp_path, 5, 6)
    done = run("needs --player Ines --level 15 --json")
    assert done.code == 0
    assert {one["kind"] for one in done.json} == KINDS
    assert list(done.json[0]) == ["kind", "lost", "low", "high", "rounds"]
    worst = done.json[0]
    assert worst["kind"] == "putting"
    assert worst["low"] < worst["lost"] < worst["high"]
    said = run("needs --player Ines --level 15").out
    assert "putting: " in said
    assert "lengths stand in their order" in said


def test_what_costs_most_is_served_and_what_has_no_drill_is_said(run: Run, tmp_path: Path) -> None:
    rounds(run, tmp_path, 5, 8)
    plan = run("session --plan-only --player Ines --json").json
    assert list(plan) == ["minutes", "balls", "blocks"]
    assert list(plan["blocks"][0]) == [
        "kind", "title", "club", "minutes", "balls", "drill", "set", "chance", "why", "serves",
    ]  # fmt: skip
    assert plan["minutes"] <= 30
    assert plan["balls"] <= 50
    before = run("history --json").json
    assert run("session --plan-only --player Nobody --minutes 10 --balls 30 --json").json["balls"]
    assert run("history --json").json == before, "nothing is kept"


@pytest.mark.parametrize(
    ("index", "change", "strokes"),
    [
        (0, "driver-narrower", 0.35),
        (10, "approach-tighter", 0.87),
        (20, "putting-tighter", 0.60),
        (30, "fewer-bad-shots", 1.68),
    ],
)
def test_what_practice_is_worth_by_the_model(
    run: Run, index: int, change: str, strokes: float
) -> None:
    """Worked out from the same description by another program."""
    found = {one["change"]: one for one in run(f"worth --index {index} --json").json}
    assert found[change]["strokes"] == pytest.approx(strokes, abs=0.04)
    assert found[change]["low"] is None
    assert "not how much work" in run(f"worth --index {index}").out


def test_a_wider_pattern_is_worth_more(run: Run) -> None:
    for _ in range(3):
        run("score miss-total +35 -30 +25 -35 +30 -25 +35 -40 +20 -30 --save --player Ines")
        run("score miss-total +3 -2 +1 -3 +2 -1 +3 -4 +2 -3 --save --player Tobi")
    wide, tight = (
        {one["change"]: one for one in run(f"worth --player {name} --json").json}
        for name in ("Ines", "Tobi")
    )
    one, other = wide["driver-narrower"], tight["driver-narrower"]
    assert one["strokes"] > other["strokes"]
    assert one["low"] < one["strokes"] < one["high"]
    assert wide["putting-tighter"]["low"] is None
    assert run("worth --player Ines --index 3").code != 0


def test_goals_and_the_thought(run: Run) -> None:
    run("score hold-the-corridor 5 5 4 4 4 --save --player Ines")
    done = run("goal 12 --by 2999-09-01 --player Ines --json")
    assert done.json == [
        {"kind": "index", "drill": None, "value": 12, "by": "2999-09-01", "now": None}
    ]
    assert "--by 2020-01-01: the day is past" in run("goal 9 --by 2020-01-01 --player Ines").err
    assert run("goal --player Ines --json").json == done.json
    done = run("goal 9 --drill hold-the-corridor --player Ines --json")
    assert done.json[1]["now"] == 2
    assert run("goal none --player Ines --json").json[0]["kind"] == "score"
    said = run(["goal", "--thought", "Turn, do not slide.", "--player", "Ines"]).out
    assert "Turn, do not slide." in said
    plan = run("session --plan-only --player Ines --json").json
    assert "technique" in [block["kind"] for block in plan["blocks"]]
    assert "expected a score" in run("goal x --drill hold-the-corridor --player Ines").err
    assert "expected an index" in run("goal 99 --player Ines").err
