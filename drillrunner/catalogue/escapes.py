"""Characters that a terminal obeys and does not show, and how they are shown instead."""

from __future__ import annotations

import re

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
"""C0, DEL and C1 (ECMA-48), the separators of lines and paragraphs, and what turns the direction of
text (Unicode Standard Annex 9). None of them takes a column."""

CONTROL_IN_LINES = re.compile(CONTROL.pattern.replace("\x00-\x1f", "\x00-\x09\x0b-\x1f"))
"""The same but for the end of a line."""


def escaped(text: str, lines: bool = False) -> str:
    r"""The text with each control character as `\u001b`. lines: the ends of lines stay."""
    pattern = CONTROL_IN_LINES if lines else CONTROL
    return pattern.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def without(text: str) -> str:
    """The text without control characters: as wide as it was, and nothing to obey."""
    return CONTROL.sub("", text)
