"""Range profiles: read and checked like every file, and the gap that comes closest."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from drillrunner.catalogue.ranges import gap_words, load_hand, load_ranges
from drillrunner.catalogue.width import Hand

RIVER = """
id = "by-the-river"
title = "By the river"

[[marks]]
name = "white post"
distance = 200
bearing = 356

[[marks]]
name = "oak"
distance = 200
bearing = 6

[[gaps]]
name = "the two poplars"
distance = 210
width = 43.4

[[gaps]]
name = "the green"
distance = 90
width = 40
error = 1
"""


def write(folder: Path, text: str, name: str = "one.toml") -> Path:
    (folder / "ranges").mkdir(exist_ok=True)
    (folder / "ranges" / name).write_text(text)
    return folder / "ranges"


def test_no_folder_is_no_profile(tmp_path: Path) -> None:
    assert load_ranges(tmp_path / "ranges") == ((), ())
    assert load_hand(tmp_path / "hand.toml") == (Hand(), ())


def test_the_gap_that_comes_closest_is_named_with_its_whole_yard(tmp_path: Path) -> None:
    (river,), problems = load_ranges(write(tmp_path, RIVER))
    assert problems == ()
    assert len(river.gaps()) == 3
    any_distance = river.nearest(Decimal(40))
    assert any_distance is not None
    assert (any_distance.name, any_distance.whole) == ("the green", 40)
    far = river.nearest(Decimal(40), "yd", Decimal(200))
    assert far is not None
    assert (far.name, far.whole) == ("the two poplars", 43)
    assert gap_words(far, Decimal(40), "yd") == (
        "the two poplars, at 210 yd: 43 yd (41 to 46), nearest to 40"
    )
    narrow = river.nearest(Decimal(30), "yd", Decimal(200))
    assert narrow is not None
    assert (narrow.name, narrow.whole) == ("white post to oak", 35)
    assert river.nearest(Decimal(40), "yd", Decimal(150)) is None


def test_a_profile_in_yards_serves_a_player_in_metres(tmp_path: Path) -> None:
    (river,), _ = load_ranges(write(tmp_path, RIVER))
    gap = river.nearest(Decimal(40), "m", Decimal(185))
    assert gap is not None
    assert gap.width.value == pytest.approx(43.4 * 0.9144)
    assert gap.whole == 40


@pytest.mark.parametrize(
    ("old", "new", "line", "field"),
    [
        ("distance = 210", "distance = -1", 17, "gaps.0.distance"),
        ("width = 40", 'width = "40"', 23, "gaps.1.width"),
        ("bearing = 6", "bearing = 400", 13, "marks.1.bearing"),
        ("bearing = 6", "bearing = nan", 13, "marks.1.bearing"),
        ('name = "oak"', 'nam = "oak"', 11, "marks.1.nam"),
        ('title = "By the river"', 'titel = "x"', 3, "titel"),
        ("[[marks]]", "[[marks]", 5, None),
    ],
)
def test_a_broken_profile_is_named_by_file_line_and_field(
    tmp_path: Path, old: str, new: str, line: int, field: str | None
) -> None:
    found, problems = load_ranges(write(tmp_path, RIVER.replace(old, new)))
    assert found == ()
    assert any((p.line, p.field) == (line, field) for p in problems), problems
    assert all(p.file.endswith("one.toml") and "\n" not in str(p) for p in problems)


def test_other_profiles_still_work_and_an_id_is_taken_once(tmp_path: Path) -> None:
    write(tmp_path, "nonsense", "a.toml")
    write(tmp_path, RIVER, "b.toml")
    found, problems = load_ranges(write(tmp_path, RIVER, "c.toml"))
    assert [profile.source[-6:] for profile in found] == ["b.toml"]
    assert [Path(p.file).name for p in problems] == ["a.toml", "c.toml"]


def test_a_profile_without_any_gap_is_a_problem(tmp_path: Path) -> None:
    mark = '[[marks]]\nname = "m"\ndistance = {}\nbearing = 4\n'
    for marks in ("", mark.format(200), mark.format(200) + mark.format(210)):
        _, problems = load_ranges(write(tmp_path, f'id = "x"\ntitle = "X"\n{marks}'))
        assert "expected a gap, or two marks" in problems[0].reason


def test_the_measured_hand(tmp_path: Path) -> None:
    file = tmp_path / "hand.toml"
    file.write_text("arm = 64.5\nfist = 10\n")
    assert load_hand(file) == (Hand(arm=64.5, fist=10), ())
    file.write_text("arm = 64.5\nfist = 100\n")
    hand, problems = load_hand(file)
    assert hand == Hand()
    assert [(p.line, p.field) for p in problems] == [(2, "fist")]
