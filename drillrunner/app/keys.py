"""The keys of the whole app: one table, and a binding made from a row of it.

Outside an answer a key has one meaning on every screen. Where an answer is typed or counted, a
keypad is drawn and says what its own keys mean; Enter, `*` and `.` mean the same there too. The
number block comes first, since it is all that a gloved hand and a phone have: what has only a
letter stands in the menu (`.`), each row with its key.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, NamedTuple

from textual.binding import Binding


class Meaning(NamedTuple):
    """What a key means: its names in terminals, how it is drawn, and its name on the screen.

    own: screens give it their own word, since what it does follows from what stands there (Enter
    on a row); any other is called the same wherever it is shown.
    """

    keys: str
    drawn: str
    name: str
    says: str
    own: bool = False


TABLE: dict[str, Meaning] = {
    # the number block
    "do": Meaning(
        "enter", "Enter", "Open", "What stands under the cursor, or comes next", own=True
    ),
    "go": Meaning("5", "5", "Go", "Start what this screen is for", own=True),
    "up": Meaning("8,up", "8", "Up", "Back up"),
    "down": Meaning("2,down", "2", "Down", "Further down"),
    "page_up": Meaning("9,pageup", "9", "Page up", "A page up"),
    "page_down": Meaning("3,pagedown", "3", "Page down", "A page down"),
    "first": Meaning("7,home", "7", "First", "To the beginning"),
    "last": Meaning("1,end", "1", "Last", "To the end"),
    "next": Meaning("6,right", "4 6", "Turn", "The one after; 4 is the one before", own=True),
    "previous": Meaning("4,left", "4", "Turn back", "The one before", own=True),
    "undo": Meaning("asterisk,multiply,backspace", "*", "Undo", "Take the latest back"),
    "back": Meaning("slash,divide", "/", "Back", "Go back; nothing is lost"),
    "leave": Meaning("escape", "Esc", "Back", "Go back; nothing is lost", own=True),
    "menu": Meaning(
        "full_stop,decimal,comma,separator,delete,f10",
        ".",
        "Menu",
        "Everything that can be done here",
    ),
    "history": Meaning("0,h", "0", "History", "What was played"),
    "session": Meaning("plus,add,s", "+", "Session", "A timed session"),
    "match": Meaning("minus,subtract,m", "-", "Match", "Play with friends"),
    # letters
    "pattern": Meaning("a", "a", "Pattern", "Where your shots finish"),
    "beside": Meaning("b", "b", "Beside", "Two runs side by side"),
    "stock": Meaning("c", "c", "Stock carries", "What each swing of each club carries"),
    "how_hard": Meaning("d", "d", "How hard", "How hard the drill is for you, and what would fit"),
    "everyone": Meaning("e", "e", "Everyone", "Everyone's, or yours alone"),
    "which": Meaning("f", "f", "Which", "Choose what is shown"),
    "gap": Meaning("g", "g", "Gap", "Play through a gap of your range"),
    "index": Meaning("i", "i", "Index", "Your handicap index, and what brings it to your goal"),
    "people": Meaning("j", "j", "Join or leave", "Somebody joins or leaves"),
    "calendar": Meaning("k", "k", "Calendar", "Balls by day and week"),
    "lost": Meaning("l", "l", "Lost ball", "The ball is lost"),
    "note": Meaning("n", "n", "Note", "Keep a note"),
    "then": Meaning("o", "o", "Then and now", "Your older balls beside your newer ones"),
    "players": Meaning("p,f2", "p", "Players", "Who plays, and what is kept about them"),
    "where_lost": Meaning("q", "q", "Where strokes go", "What each kind of shot costs a round"),
    "rounds": Meaning("r", "r", "Rounds", "Your rounds on the course"),
    "holes": Meaning(
        "equals_sign", "=", "Holes", "Which club and which line from the tees of a course"
    ),
    "goals": Meaning(
        "exclamation_mark", "!", "Goals", "What you want by a day, and the one thing you work on"
    ),
    "join": Meaning(
        "number_sign", "#", "Join a match", "A match that waits in another bay, by its number"
    ),
    "leaders": Meaning("at", "@", "Leaders", "The best scores of all who agreed to stand there"),
    "what_next": Meaning(
        "greater_than_sign", ">", "What next", "Play what is next, and why it is said on the screen"
    ),
    "standings": Meaning("t", "t", "Standings", "Who has beaten whom"),
    "settings": Meaning("u", "u", "Settings side by side", "The drill as it was set each time"),
    "make": Meaning("f11", "F11", "Make a drill", "A drill of your own from this one"),
    "width": Meaning("w", "w", "How wide?", "How wide a target is"),
    "not_me": Meaning("y", "y", "Not me", "Give it to the player whose it was"),
    "give_up": Meaning("x", "x", "Give up", "End the run here"),
    # keys of the upper row
    "help": Meaning("question_mark,f1", "?", "Help", "What this screen shows, and every key"),
    "skip": Meaning("f3", "F3", "Skip block", "Go on without this block; it can be brought back"),
    "look": Meaning("f4", "F4", "Look", "The next look"),
    "pause": Meaning(
        "f5", "F5", "Pause, or go on", "Stop the session's clock: no balls, or the range is picked"
    ),
    "more": Meaning("f6", "F6", "More time", "Two minutes and five balls more for this block"),
    "put_back": Meaning(
        "f7", "F7", "Put back", "Do this block after the next one; it keeps the time it has left"
    ),
    "next_block": Meaning(
        "f8", "F8", "Next block", "This block is done; a game in play is left open"
    ),
    "stop": Meaning("f9", "F9", "Stop session", "End the session at once; everything is kept"),
    "bring_back": Meaning(
        "v", "v", "Bring back", "Do a block that was skipped or dropped after all, next"
    ),
    "bell": Meaning("f12", "F12", "Bell on or off", "Whether a bell rings when time is up"),
    "faults": Meaning("z", "z", "Faults in files", "The files that can't be used, and why"),
    "quit": Meaning("ctrl+q", "^q", "Quit", "Leave; nothing is lost"),
}
"""Each meaning by its name in the code. All letters are taken."""

FACES = {means: row.drawn for means, row in TABLE.items()}
"""What stands on the key of each meaning: texts on screens take it from here."""


def in_words(text: str) -> str:
    """A text with each `<meaning>` in it as the face of its key."""
    return re.sub(r"<(\w+)>", lambda match: FACES[match[1]], text)


def key(
    means: str,
    id: str,
    action: str = "",
    name: str = "",
    *,
    shown: bool = False,
    tip: str = "",
    priority: bool = False,
) -> Binding:
    """A binding of what `means` (names of `TABLE`, the drawn one first) to an action.

    action: that of the first meaning's name unless given. name: the table's unless the meaning is
    a screen's own. tip: the first line of the action's docstring unless given (see `Keyed`).
    """
    rows = [TABLE[word] for word in means.split()]
    first = rows[0]
    if name and not first.own:
        raise ValueError(f"{id}: {means} is called {first.name} on every screen")
    return Binding(
        ",".join(row.keys for row in rows),
        action or means.split()[0],
        name or first.name,
        show=shown,
        key_display=first.drawn,
        priority=priority,
        tooltip=tip,
        id=id,
    )


def drawn_key(
    key: str, action: str, id: str, name: str, *, face: str = "", tip: str = ""
) -> Binding:
    """A binding that holds only where a keypad is drawn, which says what its keys mean."""
    return Binding(key, action, name, show=False, key_display=face or key, tooltip=tip, id=id)


class Keyed:
    """A screen, widget or app with keys: what a key does is told by the docstring of its action.

    Comes before Textual's own class, so that the bindings are told of before they are merged.
    """

    def __init_subclass__(cls, **kwargs: Any) -> None:
        own = vars(cls).get("BINDINGS")
        if own is not None:
            cls.BINDINGS = [_told(cls, binding) for binding in own]  # type: ignore[attr-defined]
        super().__init_subclass__(**kwargs)


def _told(cls: type, binding: Binding) -> Binding:
    if binding.tooltip:
        return binding
    act = getattr(cls, f"action_{binding.action}", None)
    ours = getattr(act, "__module__", "").startswith("drillrunner.")
    doc = (getattr(act, "__doc__", None) or "").strip().partition("\n")[0].removesuffix(".")
    first = binding.key.split(",")[0]
    says = next(row.says for row in TABLE.values() if first in row.keys.split(","))
    return replace(binding, tooltip=doc if ours and doc else says)
