"""The target from above: every ball stands where it finished, and nothing stands where none did."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillrunner.app.widgets.canvas import CellCanvas
from drillrunner.app.widgets.keypad import BAR, BLOCK, Keypad, meanings
from drillrunner.app.widgets.readout import BLOCKS, pips, value_words
from drillrunner.app.widgets.target import _draw, draw, half_across
from drillrunner.app.words import SPANS
from drillrunner.rules import Aim, Ball
from drillrunner.rules.keypad import ZONES, read
from drillrunner.rules.station import Ask

CORRIDOR = Ask("verdict", Aim(width=Decimal(40)), Decimal(5))
WINDOW = Ask("verdict", Aim(width=Decimal(16), depth=Decimal(10)), Decimal(5))
DEPTH = Ask("verdict", Aim(depth=Decimal(10)), Decimal(5), direction="depth")
MISS = Ask("miss", Aim(), Decimal(5), lost_counts=Decimal(40))
NUMBER = Ask("carry", Aim(carry=Decimal(45)), Decimal(1), direction="depth")
ASKS = [CORRIDOR, WINDOW, DEPTH, MISS, NUMBER]
TROUBLE = Ask("verdict", Aim(width=Decimal(40), far_left=Decimal(35)), Decimal(5))
BAND = Ask("miss", Aim(width=Decimal(30)), Decimal(1), lost_counts=Decimal(30), inner=Decimal(5))
LINES = [CORRIDOR, MISS, NUMBER, TROUBLE, BAND]


def balls(ask: Ask, typed: str) -> list[Ball]:
    """The balls typed so."""
    found = [read(text, ask).shot for text in typed.split()]
    return [Ball(shot, ask) for shot in found if shot is not None]


def drawn(ask: Ask, typed: str, width: int = 61, height: int = 10) -> CellCanvas:
    """The picture of balls typed so."""
    return draw(ask, balls(ask, typed), width, height)


def columns(canvas: CellCanvas, shapes: str) -> list[int]:
    """The columns in which these shapes stand under the line of counts."""
    return sorted(x for (x, y), c in canvas.cells.items() if y > 0 and c.character in shapes)


def test_a_typed_miss_stands_at_its_distance() -> None:
    # 61 columns over -40 to +40: column = 30 + miss * 60 / 80.
    canvas = drawn(MISS, "-40 -20 0 +20 +40")
    assert columns(canvas, "◀") == [0, 15]
    assert columns(canvas, "●") == [30]
    assert columns(canvas, "▶") == [45, 60]


def test_a_carry_stands_short_or_long_of_its_number() -> None:
    # 49 columns over 45 - 12 to 45 + 12: two columns a yard.
    canvas = drawn(NUMBER, "44 45 48", width=49)
    assert (columns(canvas, "◀"), columns(canvas, "●"), columns(canvas, "▶")) == ([22], [24], [30])
    last = canvas.text().splitlines()[-1].split()
    assert last == ["33", "39", "45", "51", "57"]


def test_an_inner_band_is_drawn_and_counted() -> None:
    # 61 columns over -30 to +30: the inner band ends 5 yards from the middle, the outer one 15.
    ask = Ask("miss", Aim(width=Decimal(30)), Decimal(1), lost_counts=Decimal(30), inner=Decimal(5))
    canvas = drawn(ask, "-5 0 +6 +20")
    assert columns(canvas, "┃") == sorted([15, 45] * 8)
    assert {25, 35} <= set(columns(canvas, "│"))
    assert "in 3 · inner 2" in canvas.text().splitlines()[0]


def test_a_verdict_stands_in_its_zone_and_leans_to_no_side() -> None:
    canvas = drawn(CORRIDOR, "5 5 5 4 6 6")
    edges = columns(canvas, "┃")
    left, right = edges[0], edges[-1]
    assert (left, right) == (15, 45)
    ins = columns(canvas, "●")
    assert len(ins) == 3
    assert sum(ins) / 3 == pytest.approx(30, abs=1)
    assert all(x < left for x in columns(canvas, "◀"))
    assert len(columns(canvas, "▶")) == 2
    assert all(x > right for x in columns(canvas, "▶"))


def test_a_number_against_the_corridor_is_judged_by_its_edges() -> None:
    canvas = drawn(CORRIDOR, "+20 +25 -10")
    assert columns(canvas, "●") == [23, 45]
    assert len(columns(canvas, "▶")) == 1
    assert "in 2" in canvas.text()


def test_balls_on_the_same_place_pile_up() -> None:
    canvas = drawn(MISS, "-15 -15 -15")
    places = [(x, y) for (x, y), c in canvas.cells.items() if c.character == "◀"]
    assert len({x for x, _ in places}) == 1
    assert sorted(y for _, y in places) == [6, 7, 8]


def test_a_side_that_was_not_seen_is_drawn_on_both_or_only_counted() -> None:
    canvas = drawn(MISS, "15")
    assert [x - 30 for x in columns(canvas, "◇")] == [-15, 15]
    assert "side not seen 1" in canvas.text()
    counted = drawn(CORRIDOR, "0 5")
    assert "side not seen 1" in counted.text()
    assert len(columns(counted, "●◀▶◇✕")) == 1
    assert "out, side not seen 1" in drawn(WINDOW, "0").text()


def test_a_lost_ball_stands_at_the_end_of_its_side() -> None:
    assert columns(drawn(MISS, "-"), "✕") == [0]
    assert columns(drawn(MISS, "lost"), "✕") == [0, 60]


def test_nine_zones_lie_as_the_block_does() -> None:
    for key, (lateral, depth) in ZONES.items():
        canvas = drawn(WINDOW, key, width=60, height=15)
        ((x, y),) = [place for place, cell in canvas.cells.items() if cell.latest]
        assert (x // 20 - 1, 1 - y // 5) == (lateral, depth), key


def test_a_depth_alone_has_three_bands() -> None:
    text = drawn(DEPTH, "8 5 2 2 +15").text()
    assert [text.index(words) for words in ("long 2", "in 1", "short 2")] == sorted(
        text.index(words) for words in ("long 2", "in 1", "short 2")
    )


@pytest.mark.parametrize("ask", ASKS)
@pytest.mark.parametrize("size", [(61, 10), (38, 3), (38, 4), (130, 40), (9, 2), (3, 1), (0, 0)])
def test_the_latest_ball_is_marked_at_every_size(ask: Ask, size: tuple[int, int]) -> None:
    typed = {"verdict": "5 4 6", "miss": "-15 +5 0", "carry": "44 45 46"}[ask.asks]
    canvas = drawn(ask, typed, *size)
    assert all(0 <= x < size[0] and 0 <= y < size[1] for x, y in canvas.cells)
    if size[0] >= 38:
        assert sum(cell.latest for cell in canvas.cells.values()) == 1


@settings(max_examples=60)
@given(st.sampled_from(ASKS), st.data(), st.integers(9, 90), st.integers(2, 30))
def test_any_balls_at_any_size(ask: Ask, data: st.DataObject, width: int, height: int) -> None:
    texts = {
        "verdict": st.sampled_from("0123456789"),
        "miss": st.from_regex(r"[+-]?[0-9]{1,2}|lost|[+-]", fullmatch=True),
        "carry": st.from_regex(r"[0-9]{1,2}", fullmatch=True),
    }
    shots = balls(ask, " ".join(data.draw(st.lists(texts[ask.asks], max_size=80))))
    density = data.draw(st.none() | st.lists(st.floats(0, 1), max_size=40))
    canvas = draw(ask, shots, width, height, density)
    assert all(0 <= x < width and 0 <= y < height for x, y in canvas.cells)
    if ask.asks != "verdict":
        assert half_across(ask, shots) in SPANS


@settings(max_examples=100)
@given(st.sampled_from(LINES), st.data(), st.integers(9, 90), st.integers(2, 12))
def test_a_ball_is_drawn_onto_the_picture_of_those_before_it(
    ask: Ask, data: st.DataObject, width: int, height: int
) -> None:
    """As all at once, and no line is another one but those that are named."""
    texts = {
        "verdict": st.sampled_from("04567899"),
        "miss": st.from_regex(r"[+-]?[0-3]?[0-9]|lost|[+-]", fullmatch=True),
        "carry": st.from_regex(r"[3-6][0-9]", fullmatch=True),
    }
    shots = balls(ask, " ".join(data.draw(st.lists(texts[ask.asks], min_size=1, max_size=60))))
    hill = data.draw(st.none() | st.just((0.0, 0.5, 1.0, 0.5, 0.0)))
    first = data.draw(st.integers(0, len(shots) - 1))
    canvas, line = _draw(ask, shots[:first], width, height, hill)
    assert line is not None
    for at, ball in enumerate(shots[first:], first):
        whole = draw(ask, shots[: at + 1], width, height, hill)
        if line.takes(ball):
            before = dict(canvas.cells)
            changed = line.add(ball)
            assert {y for (_, y), _ in before.items() ^ canvas.cells.items()} <= changed
            assert canvas.cells == whole.cells
        else:
            assert half_across(ask, shots[:at]) < half_across(ask, shots[: at + 1])
            canvas, line = _draw(ask, shots[: at + 1], width, height, hill)
            assert line is not None


def test_a_ball_at_another_target_is_no_part_of_the_picture() -> None:
    line = _draw(NUMBER, balls(NUMBER, "44 45"), 61, 10, None)[1]
    far = Ask("carry", Aim(carry=Decimal(90)), Decimal(1), direction="depth")
    assert line is not None
    assert line.takes(balls(NUMBER, "46")[0])
    assert not line.takes(balls(far, "46")[0])


def test_the_pattern_stands_behind_the_balls() -> None:
    hill = [0.0, 0.5, 1.0, 0.5, 0.0]
    canvas = draw(CORRIDOR, balls(CORRIDOR, "5"), 61, 10, hill)
    shaded = [sum(canvas.cells.get((x, y)) is not None for y in range(1, 9)) for x in (2, 16, 29)]
    assert shaded == sorted(shaded)
    assert shaded[2] > shaded[0]
    assert len(columns(canvas, "●")) == 1
    assert draw(CORRIDOR, [], 61, 10, [0.0, 0.0]).text() == draw(CORRIDOR, [], 61, 10).text()


@pytest.mark.parametrize("ask", ASKS)
def test_every_drawn_word_is_what_the_key_means(ask: Ask) -> None:
    said = meanings(ask)
    if ask.asks == "verdict":
        for key in "46825":
            shot = read(key, ask).shot
            assert shot is not None
            assert said[key] == shot.words()
    for name, sign in (("minus", "-"), ("plus", "+")):
        if name in said:
            shot = read(f"{sign}25", ask).shot
            assert shot is not None
            assert shot.words().endswith(said[name])


@pytest.mark.parametrize("keys", [BLOCK, BAR])
def test_drawn_keys_do_not_overlap(keys: tuple) -> None:  # type: ignore[type-arg]
    cells = [
        (column, row)
        for key in keys
        for column in range(key.column, key.column + key.columns)
        for row in range(key.row, key.row + key.rows)
    ]
    assert len(cells) == len(set(cells))
    assert Keypad(keys).keys == keys


def test_a_readout_in_words_and_shapes() -> None:
    assert value_words(Decimal("60.50")) == "60.5"
    assert value_words("none") == "none"
    assert pips(2, 3) == "●●○"
    assert pips(0, 3) == "○○○"
    assert pips(12, 20) == ""
    assert pips(Decimal(2), 3) == ""
    assert pips(4, 3) == ""
    for rows in (figure.split() for figure in BLOCKS.values()):
        assert len(rows) == 5
        assert len(set(map(len, rows))) == 1
