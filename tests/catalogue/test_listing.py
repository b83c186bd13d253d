"""What is kept of the drills serves only while all it was made from is as it was."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from drillrunner.catalogue import allowed, listing, places
from drillrunner.catalogue.listing import Listing
from drillrunner.catalogue.loader import bundled, load
from drillrunner.rules.run import Run

DRILL = """
id = "own"
title = "Own"
game = "lives"
club = "driver"
aim = { width = 30 }
"""


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a drill of one's own."""
    monkeypatch.setenv("DRILLRUNNER_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("DRILLRUNNER_CONFIG", str(tmp_path / "config"))
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "own.toml").write_text(DRILL)
    (folder / "plans").mkdir()
    (folder / "plans" / "plan.toml").write_text("")
    (tmp_path / "config" / "ranges").mkdir(parents=True)
    (tmp_path / "config" / "ranges" / "range.toml").write_text("")
    return folder


def kept(own: Path) -> tuple[tuple[Path, ...], Listing]:
    folders = (places.bundled("games"), own)
    found = Listing.of(load(folders), lambda drill: drill, 0)
    listing.keep(found, folders, "yd")
    return folders, found


def test_a_listing_comes_back_as_it_was(own: Path) -> None:
    folders, found = kept(own)
    assert "Own" in [drill.title for drill in found.drills]
    assert listing.kept(folders, "yd") == found
    assert listing.kept(folders, "m") is None
    assert listing.kept(folders[:1], "yd") is None


def test_only_a_drill_whose_run_is_known_without_the_player_can_be_opened_as_listed(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (own / "mine.toml").write_text(
        DRILL.replace("own", "mine").replace("width = 30", 'carry = "stock", depth = 10')
    )
    folders, _ = kept(own)
    assert listing.lists(folders, "own")
    assert not listing.lists(folders, "mine")
    assert not listing.lists(folders, "nobody-knows-it")
    # A stranger's game may say anything of its first ball.
    begin = Run.begin
    odd = {"held": object()}
    monkeypatch.setattr(
        Run,
        "begin",
        lambda *of: replace(run := begin(*of), opening=replace(run.opening, readout=odd)),
    )
    # Nothing of it is remembered for those that come after.
    monkeypatch.setattr(listing, "_ours", listing._ours.__wrapped__)
    folders, found = kept(own)
    assert {drill.opening for drill in found.drills} == {None}
    assert not listing.lists(folders, "own")


def test_a_strangers_game_is_asked_nothing_before_it_is_played(own: Path) -> None:
    """It may take its time, and the drills are listed while somebody waits for them."""
    game = (bundled("games") / "lives.py").read_text().replace('id = "lives"', 'id = "theirs"')
    (own / "theirs.py").write_text(game)
    (own / "theirs.toml").write_text(DRILL.replace("own", "theirs").replace("lives", "theirs"))
    allowed.allow(own / "theirs.py")
    openings = {drill.id: drill.opening for drill in kept(own)[1].drills}
    assert openings["theirs"] is None
    assert openings["own"] is not None


def allow(own: Path) -> None:
    (places.config_dir() / "allowed.json").write_text("{}")


@pytest.mark.parametrize(
    "change",
    [
        lambda own: (own / "own.toml").write_text(DRILL.replace("30", "31")),
        lambda own: (own / "own.toml").unlink(),
        lambda own: (own / "more.toml").symlink_to(own / "nowhere"),
        lambda own: (own / "game.py").write_text(""),
        allow,
        lambda own: (own / "plans" / "plan.toml").write_text("longer than it was"),
        lambda own: (places.config_dir() / "ranges" / "range.toml").write_text("longer"),
        lambda own: listing._file().write_text("[[]"),
        lambda own: listing._file().write_text("[1, 2]"),
        lambda own: listing._file().write_bytes(b"\xff\xfe"),
        lambda own: listing._file().unlink(),
    ],
)
def test_a_change_of_any_file_ends_it(own: Path, change: Callable[[Path], object]) -> None:
    folders, _ = kept(own)
    change(own)
    assert listing.kept(folders, "yd") is None


def test_where_nothing_can_be_written_nothing_is_kept(own: Path) -> None:
    places.data_dir().write_text("a file in the way")
    folders, _ = kept(own)
    assert listing.kept(folders, "yd") is None


def test_the_words_of_every_bundled_drill_begin_with_what_it_is_for() -> None:
    """One plain line, which home shows whole on the narrowest window that has room for it."""
    for drill in load([bundled("games")]).drills:
        first, _, rest = drill.about.partition(". ")
        assert first.split()[0] in ("For", "To", "Against", "A"), drill.id
        assert len(first) <= 62, drill.id
        assert rest, drill.id


def test_a_strangers_settings_may_hold_what_has_no_hash(own: Path) -> None:
    game = (bundled("games") / "lives.py").read_text().replace('id = "lives"', 'id = "theirs"')
    nested = "class Bonus(pydantic.BaseModel):\n    every: int = 5\n\n\nclass LivesSettings"
    game = game.replace("class LivesSettings", "import pydantic\n\n\n" + nested, 1)
    game = game.replace("    lives: int", "    bonus: Bonus = Bonus()\n    lives: int", 1)
    (own / "theirs.py").write_text(game)
    (own / "theirs.toml").write_text(DRILL.replace("own", "theirs").replace("lives", "theirs"))
    allowed.allow(own / "theirs.py")
    assert not load((places.bundled("games"), own)).problems
    assert "theirs" in {drill.id for drill in kept(own)[1].drills}
