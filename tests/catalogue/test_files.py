"""A file is there whole and for its owner alone, or it is not there."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillrunner.catalogue.files import write_whole


def broken() -> Iterator[str]:
    yield "half a "
    raise OSError("the disk is full")


def test_whole_for_the_owner_alone_and_new(tmp_path: Path) -> None:
    file = tmp_path / "export.json"
    write_whole(file, ["one\n", "two\n"])
    assert file.read_bytes() == b"one\ntwo\n"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    with pytest.raises(FileExistsError):
        write_whole(file, ["other"])
    assert file.read_text() == "one\ntwo\n"


@pytest.mark.parametrize("over", [False, True])
def test_what_fails_half_way_leaves_nothing_behind(tmp_path: Path, over: bool) -> None:
    file = tmp_path / "export.json"
    if over:
        write_whole(file, ["as it was"])
    with pytest.raises(OSError, match="full"):
        write_whole(file, broken(), over)
    assert [one.name for one in tmp_path.iterdir()] == (["export.json"] if over else [])
    if over:
        assert file.read_text() == "as it was"


def test_a_link_that_leads_nowhere_is_something_there(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "a", ["one"])
    assert not (tmp_path / "b").exists()
