"""Three looks: light, dark, and one of the strongest contrast for low sun on the screen.

Colours are the palette of Okabe and Ito (Color Universal Design, 2008), which people with the
common kinds of colour blindness can tell apart; a shape or a word always stands beside a colour.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from textual.cache import LRUCache
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.theme import Theme

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
BLUISH_GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
REDDISH_PURPLE = "#CC79A7"
WHITE = "#FFFFFF"

LIGHT = Theme(
    name="light",
    dark=False,
    primary=BLUE,
    secondary="#005A8C",
    accent=REDDISH_PURPLE,
    success="#007355",
    warning="#8A5F00",
    error="#A84A00",
    foreground="#111111",
    background="#FAFAF7",
    surface="#FFFFFF",
    panel="#E4E8EC",
    text_alpha=1.0,
    variables={
        "block-cursor-background": BLUE,
        "block-cursor-foreground": WHITE,
        "block-cursor-text-style": "bold",
        "footer-key-foreground": BLUE,
        "quiet": "#4A4F55",
    },
)

DARK = Theme(
    name="dark",
    dark=True,
    primary=SKY_BLUE,
    secondary=BLUE,
    accent=REDDISH_PURPLE,
    success="#2FBF94",
    warning=ORANGE,
    error="#F07A2B",
    foreground="#F2F2EE",
    background="#121410",
    surface="#1C1F19",
    panel="#2A2E26",
    text_alpha=1.0,
    variables={
        "block-cursor-background": SKY_BLUE,
        "block-cursor-foreground": BLACK,
        "block-cursor-text-style": "bold",
        "footer-key-foreground": SKY_BLUE,
        "quiet": "#B4BCC4",
    },
)

SUNLIGHT = Theme(
    name="sunlight",
    dark=False,
    primary=BLACK,
    secondary=BLACK,
    accent=BLUE,
    success="#004D38",
    warning="#5C3D00",
    error="#7A3300",
    foreground=BLACK,
    background=WHITE,
    surface=WHITE,
    panel="#E2E2E2",
    text_alpha=1.0,
    variables={
        "block-cursor-background": BLACK,
        "block-cursor-foreground": YELLOW,
        "block-cursor-text-style": "bold",
        "footer-background": BLACK,
        "footer-foreground": WHITE,
        "footer-key-foreground": YELLOW,
        "footer-description-foreground": WHITE,
        "border": BLACK,
        "border-blurred": BLACK,
        "quiet": BLACK,
    },
)

THEMES: dict[str, Theme] = {theme.name: theme for theme in (DARK, LIGHT, SUNLIGHT)}
"""Name to theme, in the order in which the theme action walks through them; the first is ours."""


class StyleSheet(Stylesheet):
    """Reads its text again only for other colours, and no text twice for the same ones: it is long,
    asked to at every start, and one process may open many an app."""

    _read: ClassVar[dict[frozenset[tuple[str, str]], LRUCache[Any, list[RuleSet]]]] = {}
    """Colours to what was read in them. What is read is changed by nobody."""

    def __init__(self, variables: dict[str, str]) -> None:
        super().__init__(variables=variables)
        self._wear(variables)

    def set_variables(self, variables: dict[str, str]) -> None:
        if variables != self._worn:
            # What others go on reading is not to be emptied.
            self._parse_cache = LRUCache(1)
            super().set_variables(variables)
            self._wear(variables)

    def _wear(self, variables: dict[str, str]) -> None:
        self._worn = variables
        self._parse_cache = self._read.setdefault(frozenset(variables.items()), LRUCache(512))

    def reparse(self) -> None:
        self.parse()

    def read_more(self, path: Path) -> None:
        """Read a file, unless it was, whose rules are about nothing that is there yet."""
        if not self.has_source(str(path), ""):
            self.read(path)
            self.parse()
