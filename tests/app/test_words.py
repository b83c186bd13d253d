"""How the screens say things."""

from __future__ import annotations

from drillrunner.app.words import whole_sentences

SAID = "For one distance. A wedge that carries 45. Count the balls until one does."


def test_sentences_are_shown_whole_and_the_first_in_any_case() -> None:
    assert whole_sentences(SAID, 80) == SAID
    assert whole_sentences(SAID, 30) == "For one distance. A wedge that carries 45."
    assert whole_sentences(SAID, 10) == "For one distance."
    assert whole_sentences(SAID, 0) == "For one distance."
    assert whole_sentences("", 80) == ""
