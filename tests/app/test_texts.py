"""The words on the screens: the golden file, and the words that no golfer should have to know."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.app.texts import FILE, masked, screens, told

pytestmark = pytest.mark.usefixtures("counted")

WRONG = (
    r"\blateral\b",
    r"\bdials?\b",
    r"\bcaps?\b",
    r"\btolerance\b",
    r"\blength \d",
    r"\blimit \d",
    r"standard deviation",
    r"\((full|half)\)",
)
"""Words of the code that must not reach a screen."""
COUNTED = "balls|runs|shots|lives|days|minutes|matches|putts|holes|pairs|records"
ONE = rf"(?<![\d.])1 ({COUNTED})\b(?! left)"
"""A count of one as of many; a label with what is left of something stands beside a score."""


@pytest.fixture(scope="module")
def golden() -> str:
    return FILE.read_text("utf-8")


@pytest.mark.parametrize("wrong", WRONG)
def test_no_word_of_the_code_is_on_a_screen(golden: str, wrong: str) -> None:
    assert re.findall(f".*{wrong}.*", golden, re.IGNORECASE) == []


def test_nothing_is_cut_at_eighty_columns(golden: str) -> None:
    drawn = golden[golden.index("== screen:") :]
    assert [line for line in drawn.splitlines() if "…" in line] == []


def test_the_texts_without_a_screen_are_those_of_the_file(golden: str) -> None:
    """After a change of words: `python -m tests.app.texts`, and read what has changed."""
    for part in told():
        assert part in golden


async def test_the_screens_say_what_the_file_says(golden: str, home: Path) -> None:
    """After a change of words: `python -m tests.app.texts`, and read what has changed."""
    for part in await screens(str(home / "texts.db")):
        assert re.findall(ONE, part) == []
        assert masked(part) in golden
