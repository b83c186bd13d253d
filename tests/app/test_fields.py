"""What the shell says and takes, without a screen."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from textual.app import App

from drillrunner.app import words
from drillrunner.app.fields import (
    bad_carry,
    bad_index,
    bad_name,
    bad_pace,
    carry_of,
    index_of,
)
from drillrunner.app.widgets.lists import BlockList, ListRow, heading
from drillrunner.catalogue.loader import Catalogue
from drillrunner.practice.rounds.words import index_text


@pytest.mark.parametrize(
    ("typed", "index"),
    [("18.4", "18.4"), ("18,4", "18.4"), ("0", "0"), ("+1.2", "-1.2"), ("54", "54"), (" 9 ", "9")],
)
def test_an_index_and_its_text(typed: str, index: str) -> None:
    assert bad_index(typed) is None
    assert index_of(typed) == Decimal(index)
    assert bad_index(index_text(index_of(typed))) is None


@pytest.mark.parametrize("typed", ["54.1", "-3", "x", "1.23", "+", "1e1", "18.4.2", "٣"])
def test_what_is_no_index(typed: str) -> None:
    assert "expected an index up to 54" in (bad_index(typed) or "")


def test_an_empty_index_or_carry_is_none() -> None:
    assert bad_index("") is None
    assert index_of(" ") is None
    assert index_text(None) == ""
    assert bad_carry("") is None
    assert carry_of("") is None


@pytest.mark.parametrize("typed", ["601", "1.5", "-1", "soon"])
def test_what_is_no_pace(typed: str) -> None:
    assert "expected whole seconds" in (bad_pace(typed) or "")


@pytest.mark.parametrize("typed", ["0", "401", "-5", "12.345", "far"])
def test_what_is_no_carry(typed: str) -> None:
    assert "expected a carry" in (bad_carry(typed) or "")


@pytest.mark.parametrize("typed", ["", "  ", "a\nb", "\x1b[2J"])
def test_what_is_no_name(typed: str) -> None:
    assert "expected a name" in (bad_name(typed) or "")


def test_a_drill_as_it_is_set_in_words(catalogue: Catalogue) -> None:
    drill = catalogue.drill("hold-the-corridor")
    assert words.setting(drill.setting()) == "40 yd wide"
    narrow = drill.with_set(["lives=1", "aim.width=32", "between=putter"])
    assert words.setting(narrow.setting()) == "32 yd wide · 1 life · putter in between"
    assert words.takes(drill) == "about 15 balls, 10 min"


def test_a_time_in_words() -> None:
    now = datetime(2025, 5, 10, 17, 30, tzinfo=UTC)
    assert words.when(now - timedelta(hours=2), now) == "today 15:30"
    assert words.when(now - timedelta(days=3), now) == "Wed 7 May"
    assert words.when(now - timedelta(days=300), now) == "14 Jul 2024"


@pytest.mark.parametrize(
    ("width", "lines"),
    [
        (60, [f"{'Hold the corridor':<53}best 14", f"{'  40 yd wide':<55}l 3 9"]),
        (40, [f"{'Hold the corridor':<33}best 14"]),
        (20, [f"{'Hold the':<13}best 14", f"{'  corridor':<20}"]),
    ],
)
async def test_a_row_gives_way_on_the_left(width: int, lines: list[str]) -> None:
    row = ListRow("Hold the corridor", "best 14", "40 yd wide", "l 3 9")

    class Bare(App[None]):
        def compose(self):
            yield BlockList()

    async with Bare().run_test(size=(width, 10)) as pilot:
        found = pilot.app.query_one(BlockList)
        from textual.visual import Visual

        strips = Visual.to_strips(found, row, width, None, found.visual_style)
        assert [strip.text for strip in strips] == lines
        assert row.get_height(found.styles, width) == len(lines)


def test_settings_in_words() -> None:
    said = words.setting(
        {
            "unit": "m",
            "aim": {"carry": 60.5},
            "settings": {"balls": 10, "cap": 40.0, "axis": "depth"},
        }
    )
    assert said == "carry 60.5 m · 10 balls · counts at most 40 · short and long"


async def test_a_filled_list_stays_on_its_row() -> None:
    from textual.widgets.option_list import Option

    class Bare(App[None]):
        def compose(self):
            yield BlockList()

    async with Bare().run_test() as pilot:
        rows = pilot.app.query_one(BlockList)
        rows.fill([heading("a"), Option("1", id="1"), Option("2", id="2")])
        assert rows.highlighted == 1
        rows.highlighted = 2
        rows.fill([heading("a"), Option("0", id="0"), Option("1", id="1"), Option("2", id="2")])
        assert rows.highlighted == 3
        rows.fill([heading("a"), Option("0", id="0")])
        assert rows.highlighted == 1
