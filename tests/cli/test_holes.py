"""`drillrunner holes`: a row a hole, one hole alone, and what stands behind the figures."""

from __future__ import annotations

import pytest

from drillrunner.catalogue import places
from tests.cli.run import Run


def test_a_row_a_hole_and_its_options(run: Run) -> None:
    found = run("holes larch-bottom --json").json
    assert [row["hole"] for row in found] == list(range(1, 19))
    keys = {"hole", "club", "aim", "expected", "middle", "options"}
    assert all(set(row) == keys for row in found)
    for row in found:
        assert all(set(option) == {"club", "aim", "expected"} for option in row["options"])
        expected = [option["expected"] for option in row["options"]]
        assert expected == sorted(expected)
        assert (row["club"], row["expected"]) == (row["options"][0]["club"], expected[0])
        assert row["expected"] <= row["middle"]
    # Out on both sides from 27 of 346 yards: not the driver. And what is always hit is always hit.
    assert found[4]["club"] != "driver"
    assert [option["club"] for option in found[16]["options"]] == ["5-iron"]


def test_who_is_not_known_counts_as_twenty_and_is_told_so(run: Run) -> None:
    said = run("holes larch-bottom --hole 5").out
    assert "no index is known: it counts as 20" in said
    assert "no pattern of yours is known yet" in said
    assert "the choice is yours" in said
    assert "under 0.05 strokes is no difference" in said


def test_with_shots_of_ones_own_only_those_clubs_are_looked_at(run: Run) -> None:
    typed = " ".join("5" if at % 3 else "6" for at in range(20))
    assert (
        run(
            f"score hold-the-corridor --save --player Ines --set balls=20 --set lives=9 {typed}"
        ).code
        == 0
    )
    found = run("holes larch-bottom --player Ines --hole 4 --json").json
    assert [option["club"] for option in found[0]["options"]] == ["driver"]
    # A third to the right, where out begins: further left of the middle.
    assert found[0]["aim"] < 0
    said = run("holes larch-bottom --player Ines --hole 4").out
    assert "no pattern of yours" not in said


def test_who_is_known_by_the_driver_alone_is_not_sent_to_a_short_hole_with_it(run: Run) -> None:
    typed = "5 5 6 5 4 5 5 5 5"
    run(f"score hold-the-corridor --save --player Ines --set balls=9 {typed}")
    found = run("holes larch-bottom --player Ines --json").json
    assert {row["club"] for row in found if row["hole"] in (3, 7, 12)}.isdisjoint({"driver"})
    assert {row["club"] for row in found if row["hole"] in (1, 2, 4)} == {"driver"}
    said = run("holes larch-bottom --player Ines").out
    assert "holes 3, 7, 12, 17: no pattern of yours with such a club" in said


def test_what_was_played_is_told_as_it_was_when_the_course_changes(run: Run) -> None:
    """The run keeps the corridor and where its far troubles began; the course file keeps nothing.

    Hole 1 has water from 40 on the left and ends the ground at 35 on the right.
    """
    folder = places.config_dir()
    (folder / "courses").mkdir(parents=True)
    (folder / "games").mkdir()
    hole = "[[holes]]\npar = 4\nlength = 372\nwidth = 34\nleft_water = 40\nright_out = 35\n"
    text = 'id = "mine"\ntitle = "Mine"\n[[tees]]\nname = "w"\nrating = 35\nslope = 120\npar = 36\n'
    holes = "".join(f"{hole}index = {at}\n" for at in range(1, 10))
    course = folder / "courses" / "mine.toml"
    course.write_text(text + holes)
    drill = 'id = "my-tees"\ntitle = "My tees"\ngame = "holes"\ncourse = "mine"\n'
    (folder / "games" / "my-tees.toml").write_text(drill)
    assert run("score my-tees --save --player Ines 9 7 6 4 5 5 5 5 5").code == 0
    before = run("history --player Ines --json").json
    course.write_text((text + holes).replace("right_out = 35", "right_rough = 60"))
    assert run("history --player Ines --json").json == before
    assert before[0]["setting"]["aim"] == {"width": 34, "far_left": 40, "far_right": 35}
    assert run("best --player Ines --json").json[0]["setting"] == before[0]["setting"]
    # All of it goes along where it is exported to, without the course.
    (folder / "all.json").write_text(run("export").out)
    course.unlink()
    other = str(folder / "other.db")
    assert run(f"import {folder}/all.json --yes --db {other}").code == 0
    assert run(f"history --player Ines --json --db {other}").json == before


def test_a_club_is_not_looked_at_from_a_tee_where_it_makes_no_sense(run: Run) -> None:
    for club in ("driver", "7-iron", "lob-wedge"):
        sets = f"--set club={club} --set balls=9 --set lives=9"
        assert (
            run(f"score hold-the-corridor --save --player Ines {sets} 5 5 5 6 5 5 4 5 5").code == 0
        )
    options = {
        row["hole"]: {option["club"] for option in row["options"]}
        for row in run("holes larch-bottom --player Ines --json").json
    }
    assert options[5] == {"driver", "7-iron"}, "346 yards: a wedge leaves most of it"
    assert options[3] == {"7-iron"}, "158 yards: a driver flies far over"


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        ("holes nowhere", "no course 'nowhere': expected one of larch-bottom"),
        ("holes larch-bottom --hole 19", "--hole: expected 1 to 18, not '19'"),
        ("holes larch-bottom --hole x", "--hole: expected 1 to 18, not 'x'"),
        ("holes larch-bottom --tee pink", "no tee 'pink' on larch-bottom"),
        ("holes larch-bottom --player Nobody", "Nobody"),
    ],
)
def test_what_can_t_be_is_said_in_a_line(run: Run, words: str, reason: str) -> None:
    done = run(words)
    assert done.code == 2
    assert reason in done.err
    assert done.out == ""


def test_calls_are_told_with_the_pattern_of_the_club(run: Run) -> None:
    typed = "70:60 68:61 66:62 69:60 70:66 62:60 61:59 60:60 59:60 61:60"
    assert run(f"score call-the-number --save --player Ines {typed}").code == 0
    said = run("pattern sand-wedge --player Ines").out
    assert "off what was called" in said
    assert "you call it too far" in said
    assert "no change that is sure" not in said.split("off what was called")[0]
    assert "off what was called" not in run("pattern driver --player Ines").out
