"""What a style sheet reads, and what it need not read again."""

from __future__ import annotations

import pytest
from textual.css import stylesheet

from drillrunner.app.themes import StyleSheet

TEXT = "Label { color: $ours; }"


def test_no_text_is_read_twice_for_the_same_colours(monkeypatch: pytest.MonkeyPatch) -> None:
    read = []
    whole = stylesheet.parse

    def counted(*of: object, **more: object) -> object:
        read.append(of)
        return whole(*of, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(stylesheet, "parse", counted)
    monkeypatch.setattr(StyleSheet, "_read", {})

    def worn(colour: str) -> tuple[StyleSheet, object]:
        sheet = StyleSheet({"ours": colour})
        sheet.add_source(TEXT, ("here", ""))
        return sheet, sheet.rules[0].styles.color

    first, red = worn("red")
    assert worn("red")[1] == red
    assert len(read) == 1
    _, blue = worn("blue")
    assert blue != red
    assert len(read) == 2
    first.set_variables({"ours": "blue"})
    first.reparse()
    assert first.rules[0].styles.color == blue
    assert worn("red")[1] == red
    assert len(read) == 2
