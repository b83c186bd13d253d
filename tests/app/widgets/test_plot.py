"""The side of a chart tells the truth: each figure in its row, each sign at its height."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillrunner.app.widgets.plot import LINE, SCORE, UP, Canvas, axis_for, below, room_beside

heights = st.integers(3, 40)
values = st.lists(st.integers(-300, 900), min_size=1, max_size=30)


@given(values, heights)
def test_every_value_is_in_the_chart_and_the_figures_are_round(known: list[int], rows: int) -> None:
    axis = axis_for(min(known), max(known), rows)
    assert axis.bottom <= min(known) + 1e-9
    assert max(known) <= axis.top + 1e-9
    figures = axis.figures()
    assert len(figures) >= 2
    for row, figure in figures.items():
        assert axis.row(figure) == pytest.approx(row)
        assert figure % axis.step == 0
    assert str(axis.step).rstrip("0") in ("1", "2", "5")


@given(values, heights)
def test_a_score_is_within_a_sixth_of_a_row_of_its_value(known: list[int], rows: int) -> None:
    axis = axis_for(min(known), max(known), rows)
    canvas = Canvas(20, axis, 0, 10)
    for value in known:
        _, up = canvas.place((5, value))
        assert (up - 1) / UP == pytest.approx(axis.row(value), abs=1 / 6 + 1e-9)
        assert 0 <= up // UP < rows


def test_sixteen_is_not_on_the_line_of_twenty() -> None:
    axis = axis_for(0, 20, 8)
    canvas = Canvas(30, axis, 0.5, 3.5)
    canvas.score((2, 16), "foreground")
    canvas.line([(1, 20), (3, 20)], LINE, "primary")
    rows = [line.plain for line in canvas.lines()]
    (of_score,) = [row for row in rows if any(sign in row for sign in SCORE)]
    (of_twenty,) = [row for row in rows if row.strip().startswith("20┤")]
    assert LINE[1] in of_twenty
    assert of_score != of_twenty
    figures = sorted(axis.figures().items())
    under = max(value for row, value in figures if row <= axis.row(16))
    assert rows.index(of_score) <= next(i for i, row in enumerate(rows) if f"{under}┤" in row)


def test_dates_do_not_run_into_each_other() -> None:
    said = below([(1, "9 Mar"), (2, "10 Mar"), (9, "30 Apr")], 20, 0, 10, 3).plain
    assert said.split()[:2] == ["9", "Mar"]
    assert "10 Mar" not in said
    assert said.endswith("30 Apr")
    assert len(said) <= 23
    assert room_beside(axis_for(0, 120, 9)) == 4
