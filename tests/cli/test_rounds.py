"""Rounds and the index from the command line: cards, lists of scores, what is refused and why."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillrunner.cli import confirm
from tests.cli.run import Run

CARD = """hole,tee,number,approach,result,left,lie,putt,putts,penalties,score
1,fairway,,150,on,,,20,2,,
2,left,3,160,short,15,sand,12,2,,
3,,,,on,,,30,2,,
4,penalty,,120,on,,,10,2,1,
5,fairway,,90,left,12,rough,9,1,,
6,right,,140,on,,,25,3,,5
7,,,,long-left,,,15,2,,
8,lost,,170,short,20,fairway,8,2,,
9,fairway,,150,on,,,40,2,,
"""
NINE_OVER = "\n".join(
    f"{number},{par + 1}"
    for number, par in enumerate([4, 5, 3, 4, 4, 4, 3, 5, 4, 4, 4, 3, 5, 4, 4, 3, 4, 5], 1)
)
SCORES = """date,gross,rating,slope,pcc,holes,differential
2026-04-02,94,73.0,125,,,
2026-03-01,92,71.7,134,0,18,
2026-05-03,,,,,,22.4
2026-05-03,96,71.5,125,,18,
"""


def written(folder: Path, text: str) -> str:
    path = folder / "given.csv"
    path.write_text(text)
    return str(path)


def test_a_whole_card_is_kept_listed_and_rated(run: Run, tmp_path: Path) -> None:
    card = written(tmp_path, f"hole,score\n{NINE_OVER}\n")
    said = run("round larch-bottom --tee white --date 2026-05-01 --player Ines --card", [card])
    assert said.code == 0
    assert "90; differential 18.2" in said.out
    (one,) = run("rounds --json").json
    assert list(one) == [
        "round", "course", "tee", "date", "holes", "score", "differential", "form",
    ]  # fmt: skip
    assert (one["holes"], one["score"], one["form"]) == (18, 90, "score")
    # 113 / 124 x (90 - 70.0)
    assert one["differential"] == 18.2
    assert "18.2" in run("rounds").out


def test_a_full_card_of_nine_fills_in_the_scores_that_follow(run: Run, tmp_path: Path) -> None:
    said = run("round larch-bottom --player Ines --card", [written(tmp_path, CARD)])
    assert said.code == 0
    assert "no differential" in said.out
    (one,) = run("rounds --json").json
    assert (one["holes"], one["form"], one["differential"]) == (9, "full", None)
    assert one["score"] == 4 + 6 + 3 + 5 + 4 + 5 + 4 + 8 + 4


def test_putts_in_metres_are_kept_in_feet(run: Run, tmp_path: Path) -> None:
    run("round larch-bottom --player Ines --putts-in m --card", [written(tmp_path, CARD)])
    assert '"putt": 65.62' in run("export").out


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("1,fairway,,150,on,,,20,2,,", "1,fairway,,150,on,,,20,2,,3", "hole 1, score: expected 4"),
        ("1,fairway", "1,bunker", "hole 1, tee: expected one of fairway, left"),
        ("2,left,3,160", "2,left,3,far", "hole 2, approach: expected a length, not 'far'"),
        ("9,fairway,,150,on,,,40,2,,", "", "hole 9, score: missing"),
        ("9,fairway", "8,fairway", "hole 8, hole: it is in the card twice"),
        ("9,fairway", "19,fairway", "line 10, hole: expected 1 to 18, not '19'"),
        ("3,,,,on,,,30,2,,", "3,,,,,,,30,2,,", "hole 3, score: missing"),
        ("4,penalty,,120,on,,,10,2,1,", "4,penalty,,120,on,,,10,2,0,", "hole 4, penalties: "),
        ("penalties", "drops", "column 'drops': expected one of hole, tee"),
        (
            "1,fairway,,150,on,,,20,2,,",
            "1,fairway,,150,5,on,,,20,2,,4",
            "hole 1, cells: expected 11",
        ),
    ],
)
def test_a_card_that_does_not_add_up_is_refused_and_nothing_kept(
    run: Run, tmp_path: Path, old: str, new: str, reason: str
) -> None:
    card = written(tmp_path, CARD.replace(old, new))
    said = run("round larch-bottom --player Ines --card", [card])
    assert said.code == 2
    assert reason in said.err
    assert run("rounds --json").json == []


def test_every_fault_of_a_card_is_named(run: Run, tmp_path: Path) -> None:
    card = written(tmp_path, CARD.replace("fairway,,150", "lake,,x"))
    said = run("round larch-bottom --player Ines --card", [card])
    assert said.err.count("\n") == 4


def test_the_same_round_twice_needs_a_word(run: Run, tmp_path: Path) -> None:
    card = written(tmp_path, f"hole,score\n{NINE_OVER}\n")
    words = "round larch-bottom --date 2026-05-01 --player Ines --card"
    assert run(words, [card]).code == 0
    again = run(words, [card])
    assert again.code == 2
    assert "2026-05-01 on Larch Bottom, white, is here already" in again.err
    assert len(run("rounds --json").json) == 1
    assert run(words, [card, "--yes"]).code == 0
    assert len(run("rounds --json").json) == 2
    assert run(words, [card, "--tee", "yellow"]).code == 0


@pytest.mark.parametrize(("answer", "kept"), [("y", 2), ("YES ", 2), ("n", 1), ("", 1), ("?", 1)])
def test_somebody_at_a_terminal_is_asked_about_the_same_round(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, answer: str, kept: int
) -> None:
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        return answer

    monkeypatch.setattr(confirm, "interactive", lambda: True)
    monkeypatch.setattr(confirm, "ask", ask)
    card = written(tmp_path, f"hole,score\n{NINE_OVER}\n")
    words = "round larch-bottom --date 2026-05-01 --player Ines --card"
    assert run(words, [card]).code == 0
    assert asked == []
    assert run(words, [card]).code == (0 if kept == 2 else 1)
    (question,) = asked
    assert "keep this one as another? [y/N]" in question
    assert len(run("rounds --json").json) == kept
    # A list of scores asks the same, once for all of them.
    path = written(tmp_path, "date,gross,rating,slope\n2026-05-01,90,70.0,124\n")
    assert run("round --player Ines --scores", [path]).code == (0 if kept == 2 else 1)
    assert len(asked) == 2
    assert len(run("rounds --json").json) == (3 if kept == 2 else 1)


def test_a_list_of_scores_makes_an_index(run: Run, tmp_path: Path) -> None:
    path = written(tmp_path, SCORES)
    assert run("round --player Ines --scores", [path]).code == 0
    kept = run("index --player Ines --json").json
    assert kept == run("index --scores", [path, "--json"]).json
    # Rules of Handicapping: 17.1, 19.0, 22.4 as shown, 22.1; of four the lowest, less 1.
    assert [one["differential"] for one in kept["scores"]] == [17.1, 19, 22.4, 22.1]
    assert [one["counts"] for one in kept["scores"]] == [True, False, False, False]
    assert list(kept) == ["index", "low", "scores", "needed", "chance"]
    assert (kept["index"], kept["needed"], kept["chance"]) == (16.1, None, [])
    again = run("round --player Ines --scores", [path])
    assert again.code == 2
    assert "4 scores of a day, course and tee" in again.err


def test_what_the_next_round_needs_and_how_likely_it_is(run: Run, tmp_path: Path) -> None:
    path = written(tmp_path, SCORES)
    found = run("index --goal 15.5 --rounds 4 --scores", [path, "--json"]).json
    # Of five the lowest alone.
    assert found["needed"] == 15.5
    assert len(found["chance"]) == 4
    assert found["chance"] == sorted(found["chance"])
    said = run("index --goal 15.5 --course larch-bottom --tee white --scores", [path])
    alone = run("index --goal 15.5 --tee white --scores", [path])
    assert (alone.code, alone.out) == (2, "")
    assert "--tee white: expected --course beside it" in alone.err
    # 70.0 + 15.54 x 124 / 113
    (line,) = [line for line in said.out.splitlines() if "highest gross" in line]
    assert line.endswith(" 87")
    assert "the index that your club keeps is the one that counts" in said.out


def test_a_rolled_chance_makes_nothing_certain(run: Run, tmp_path: Path) -> None:
    path = written(tmp_path, SCORES)
    for goal, said, sure in (("1", "<1 %", 0.0), ("50", ">99 %", 1.0)):
        given = [goal, "--scores", path]
        assert run("index --json --rounds 2 --goal", given).json["chance"][-1] == sure
        lines = run("index --rounds 2 --goal", given).out.splitlines()
        told = [line for line in lines if "chance" in line]
        assert len(told) == 2
        assert all(line.endswith(f" {said}") for line in told)


def test_a_plus_index_is_typed_with_its_sign(run: Run, tmp_path: Path) -> None:
    path = written(tmp_path, SCORES)
    plus, minus = (
        run("index --goal", [goal, "--scores", path, "--json"]).json["needed"]
        for goal in ("+1.2", "-1.2")
    )
    # Of five scores the lowest alone counts, and one so far below the index takes 2 off it.
    assert plus == minus == 0.8
    strokes = [
        run("strokes 150 tee --json --index", [index]).json["expected"] for index in ("+2", "0")
    ]
    assert strokes[0] < strokes[1]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2026-13-01,90,72,113,,,", "line 2, date: expected a day"),
        ("2026-05-01,90,72,,,,", "line 2, slope: missing"),
        ("2026-05-01,90,72,200,,,", "line 2, slope: expected 55 to 155, not '200'"),
        ("2026-05-01,60,50,113,,13,", "line 2, differential: missing: of 13 holes"),
        ("2026-05-01,90,72,113,9,,", "line 2, pcc: expected -1 to 3"),
        ("2026-05-01,x,72,113,,,", "line 2, gross: expected 18 to 300, not 'x'"),
        ("2026-05-01,,,,,,+1.2", "line 2, differential: expected -54 to 150, - for under"),
        ("2026-05-01,,,,,,-55", "line 2, differential: expected -54 to 150"),
        ("2026-05-01,90,72,1,113,,,9", "line 2, cells: expected 7 cells, as there are heads"),
    ],
)
def test_a_score_that_can_not_be_is_refused(run: Run, tmp_path: Path, row: str, reason: str):
    path = written(tmp_path, SCORES.partition("\n")[0] + f"\n{row}\n")
    for words in ("round --player Ines --scores", "index --scores"):
        said = run(words, [path])
        assert said.code == 2
        assert reason in said.err
    assert run("rounds --json").json == []


def test_nine_holes_wait_for_nine_others_and_it_is_said(run: Run, tmp_path: Path) -> None:
    head, nine = SCORES.partition("\n")[0], "2026-05-0{day},45,35.2,120,,9,\n"
    one = written(tmp_path, f"{head}\n{nine.format(day=1)}")
    assert "wait for nine others" in run("round --player Ines --scores", [one]).out
    assert "wait for nine others" in run("index --player Ines").out
    other = written(tmp_path, f"{head}\n{nine.format(day=2)}")
    assert "wait" not in run("round --player Ines --scores", [other]).out
    # 113 / 120 x 9.8, twice, unrounded before the sum: 18.457
    (score,) = run("index --player Ines --json").json["scores"]
    assert score["differential"] == 18.5


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("round", "COURSE: expected the id of a course"),
        ("round nowhere --card x", "no course 'nowhere': expected one of larch-bottom"),
        ("round larch-bottom --tee red --card x", "no tee 'red' on larch-bottom"),
        ("round larch-bottom --card nothing.csv", "nothing.csv: No such file"),
        ("round larch-bottom --date yesterday", "expected a day as 2026-05-01"),
        ("round larch-bottom --date 2999-05-01", "--date: expected a day that has come, not 2999"),
        ("round larch-bottom --scores x", "--scores: expected no COURSE"),
        ("index --goal low", "--goal: expected an index from -20 to 54"),
        ("index --rounds 0", "--rounds: expected 1 to 200"),
        ("rounds --player Nobody", "no player 'Nobody'"),
    ],
)
def test_wrong_words_are_one_line(run: Run, words: str, reason: str) -> None:
    said = run(words)
    assert said.code == 2
    assert reason in said.err
    assert said.err.count("\n") == 1


def test_nothing_yet_is_said(run: Run) -> None:
    assert run("rounds").code == 1
    found = run("index --json")
    assert found.code == 1
    assert found.json == {"index": None, "low": None, "scores": [], "needed": None, "chance": []}


def test_a_day_that_has_not_come_is_refused_where_it_would_be_kept(run: Run, tmp_path: Path):
    path = written(tmp_path, "date,gross,rating,slope\n2999-05-01,90,72,113\n")
    said = run("round --player Ines --scores", [path])
    assert said.code == 2
    assert "line 2, date: expected a day that has come, not 2999-05-01" in said.err
    # What if: nothing is kept.
    assert run("index --json --scores", [path]).json["scores"][0]["differential"] == 18


@pytest.mark.parametrize(
    "text",
    ["", "\n\n", "hole,score\n", "a,b\n1,2\n", "hole,tee\n1,fairway\n", "hole,score\n1,4,5\n"],
)
def test_a_card_that_is_none_keeps_nothing_not_even_the_player(
    run: Run, tmp_path: Path, text: str
) -> None:
    said = run("round larch-bottom --player New --card", [written(tmp_path, text)])
    assert said.code == 2
    assert said.err.startswith("drillrunner: ")
    assert said.err.count("\n") == 1
    assert "no player 'New'" in run("rounds --player New").err


def test_cards_of_other_machines_are_read_alike(run: Run, tmp_path: Path) -> None:
    rows = [line.split(",") for line in NINE_OVER.splitlines()]
    plain = "hole,putt,putts,score\n" + "".join(f"{n},20.5,2,{score}\n" for n, score in rows)
    ways = {
        "plain": plain.encode(),
        "windows": plain.replace("\n", "\r\n").encode("utf-8-sig"),
        "semicolons": plain.replace(",", ";").replace(".", ",").encode(),
        "tabs": plain.replace(",", "\t").encode("utf-16"),
    }
    for name, content in ways.items():
        path = tmp_path / f"{name}.csv"
        path.write_bytes(content)
        words = f"round larch-bottom --date 2026-05-01 --player {name} --card"
        assert run(words, [str(path)]).code == 0, name
    kept = [run(f"rounds --json --player {name}").json[0] for name in ways]
    assert {(one["score"], one["differential"], one["form"]) for one in kept} == {
        (90, 18.2, "putts")
    }
