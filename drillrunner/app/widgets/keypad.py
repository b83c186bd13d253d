"""The number block, drawn: a click does just what the key does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Offset, Region
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.timer import Timer
from textual.widget import Widget

from drillrunner.rules.keypad import ONE_KEY, UNSIGNED
from drillrunner.rules.outcome import Asks
from drillrunner.rules.shot import WORDS
from drillrunner.rules.station import Ask


@dataclass(frozen=True, slots=True)
class Key:
    """One drawn key: the key event it stands for, and its cells in the grid of the block."""

    name: str
    character: str | None
    face: str
    column: int
    row: int
    columns: int = 1
    rows: int = 1


def _digits() -> tuple[Key, ...]:
    rows = ("789", "456", "123")
    return tuple(
        Key(digit, digit, digit, column, row + 1)
        for row, digits in enumerate(rows)
        for column, digit in enumerate(digits)
    )


BLOCK: tuple[Key, ...] = (
    Key("backspace", None, "⌫", 0, 0),
    Key("slash", "/", "/", 1, 0),
    Key("asterisk", "*", "*", 2, 0),
    Key("minus", "-", "-", 3, 0),
    *_digits(),
    Key("plus", "+", "+", 3, 1, rows=2),
    Key("enter", "\r", "Enter", 3, 3, rows=2),
    Key("0", "0", "0", 0, 4, columns=2),
    Key("full_stop", ".", ".", 2, 4),
)
"""The keys where they lie on the number block of a keyboard; Backspace takes NumLock's place."""

BAR: tuple[Key, ...] = tuple(
    Key(name, character, face, column, 0)
    for column, (name, character, face) in enumerate(
        (
            ("enter", "\r", "Enter"),
            ("asterisk", "*", "*"),
            ("slash", "/", "/"),
            ("full_stop", ".", "."),
            ("escape", None, "Esc"),
        )
    )
)
"""The keys that still mean something once a run is over, in one row."""

ANSWER = 0.15
"""Seconds that a key that was tapped stays lit."""

CORNERS = {"7": "↖", "9": "↗", "1": "↙", "3": "↘"}


ANSWERS: dict[Asks, Mapping[str, str]] = {
    "strokes": {"1": "holed", "2": "in two", "3": "three"},
    "leave": {"0": "holed"},
}
"""Words on the digits, where they answer by themselves or one of them is special."""

NO_MEANING: dict[Asks, set[str]] = {"strokes": {"0"}}
"""Digits that answer nothing."""


def meanings(ask: Ask, due: str | None = None) -> dict[str, str]:
    """What each key means while a drill asks: key name to a short word; no word, no meaning.

    due: the club of the ball in between, when that is what Enter takes now.
    """
    words = {"slash": "void", "asterisk": "undo", "full_stop": "menu", "backspace": "undo"}
    words["enter"] = due or ("" if ask.asks in ONE_KEY else "take")
    if ask.asks == "verdict":
        left, _, right = WORDS["lateral"]
        short, _, long = WORDS["depth"]
        words |= {"4": left, "5": "in", "6": right, "8": long, "2": short, "0": "out", **CORNERS}
    words |= {key: "far" for key, far in zip("79", ask.aim.fars, strict=True) if far is not None}
    words |= ANSWERS.get(ask.asks, {})
    if ask.asks not in UNSIGNED and not (ask.asks == "verdict" and len(ask.aim.judged) != 1):
        words["minus"], _, words["plus"] = WORDS[ask.direction]
    return words


class Keypad(Widget):
    """Draws keys as blocks of equal cells and posts `Keypad.Pressed` when one is clicked."""

    can_focus = False
    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "keypad--key",
        "keypad--enter",
        "keypad--idle",
        "keypad--down",
    }

    words: reactive[Mapping[str, str]] = reactive(dict)
    """Key name to the word under its face."""
    idle: reactive[frozenset[str]] = reactive(frozenset())
    """Names of the keys that mean nothing now; they are drawn faint and still answer."""
    down: reactive[str] = reactive("")
    """Name of the key under the finger."""

    class Pressed(Message):
        """A drawn key was clicked: the same two things that a key event carries."""

        def __init__(self, key: str, character: str | None) -> None:
            super().__init__()
            self.key = key
            self.character = character

    def __init__(self, keys: tuple[Key, ...] = BLOCK, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.keys = keys
        self._from_left = sorted(keys, key=lambda key: key.column)
        self._columns = max(key.column + key.columns for key in keys)
        self._rows = max(key.row + key.rows for key in keys)
        self._release: Timer | None = None
        self._asked: tuple[Ask, str | None] | None = None
        self._finger: Key | None = None
        """The key on which a finger came down and was not lifted yet."""

    def asking(self, ask: Ask, due: str | None = None) -> None:
        """Draw the words for what the drill asks now."""
        if (ask, due) == self._asked:
            return
        self._asked = ask, due
        self.words = meanings(ask, due)
        signs = {"plus", "minus"} - self.words.keys()
        self.idle = frozenset(signs | NO_MEANING.get(ask.asks, set()))

    def _places(self) -> Iterator[tuple[Key, Region]]:
        """Where each key lies in the widget, from left to right."""
        width, height = self.size
        columns, rows = self._columns, self._rows
        for key in self._from_left:
            left, right = key.column * width, (key.column + key.columns) * width
            top, bottom = key.row * height, (key.row + key.rows) * height
            corners = left // columns, top // rows, right // columns, bottom // rows
            yield key, Region.from_corners(*corners)

    def centre(self, name: str) -> Offset:
        """The middle of a key, relative to the widget."""
        place = next(place for key, place in self._places() if key.name == name)
        return Offset((place.x + place.right - 1) // 2, (place.y + place.bottom - 1) // 2)

    def key_at(self, x: int, y: int) -> Key | None:
        """The key at a place in the widget."""
        return next((key for key, place in self._places() if place.contains(x, y)), None)

    def on_mouse_down(self, event: events.MouseDown) -> None:
        key = self._finger = self.key_at(event.x, event.y)
        self.down = key.name if key else ""
        if self._release is not None:
            self._release.stop()
        self._release = self.set_timer(ANSWER, self._let_go)

    def on_mouse_up(self) -> None:
        # A tap is shorter than a frame: the answer stays long enough to be seen.
        if self._release is None:
            self._let_go()

    def _let_go(self) -> None:
        self.down, self._release = "", None

    def on_leave(self) -> None:
        self.on_mouse_up()

    def on_click(self, event: events.Click) -> None:
        event.stop()
        # Lifting what never came down on this key is no press: Textual makes a click of it.
        key, self._finger = self._finger, None
        if key is not None and key == self.key_at(event.x, event.y):
            self.post_message(self.Pressed(key.name, key.character))

    def render_line(self, y: int) -> Strip:
        ground = self.rich_style
        segments: list[Segment] = []
        x = 0
        for key, place in self._places():
            if not place.y <= y < place.bottom:
                continue
            if place.x > x:
                segments.append(Segment(" " * (place.x - x), ground))
            segments.extend(self._key_line(key, y - place.y, place.height, place.width, ground))
            x = place.right
        return Strip(segments).adjust_cell_length(self.size.width, ground)

    def _style(self, key: Key) -> Style:
        if key.name == self.down:
            return self.get_component_rich_style("keypad--down")
        if key.name in self.idle:
            return self.get_component_rich_style("keypad--idle")
        kind = "keypad--enter" if key.name == "enter" else "keypad--key"
        return self.get_component_rich_style(kind)

    def _key_line(self, key: Key, y: int, height: int, width: int, ground: Style) -> list[Segment]:
        """One line of one key. A gap of one cell on the right and half a line below parts keys."""
        style = self._style(key)
        word = self.words.get(key.name, "")
        body = max(width - 1, 0)
        gap = Segment(" ", ground)
        if height > 1 and y == height - 1:
            edge = Style(color=style.bgcolor, bgcolor=ground.bgcolor)
            return [Segment("▀" * body, edge), gap]
        room = max(height - 1, 1)
        middle = (room - 1) // 2
        plain = style + Style(bold=False)
        if room == 1:
            both = f"{key.face} {word}".strip()
            close = f"{key.face}{word}"
            line = next((said for said in (both, close) if len(said) <= body), key.face)
            return [Segment(f"{line:^{body}}"[:body], style), gap]
        if y == middle:
            return [Segment(f"{key.face:^{body}}"[:body], style), gap]
        if y == middle + 1 and word:
            return [Segment(f"{word[:body]:^{body}}", plain), gap]
        return [Segment(" " * body, style), gap]
