"""Find: a stock carry from a handful of shots, whose numbers stay hidden until the reveal."""

from __future__ import annotations

from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from drillrunner.app import words
from drillrunner.app.dialog import Choice, Question
from drillrunner.app.keys import drawn_key, key
from drillrunner.app.screens.typing import KeypadScreen
from drillrunner.app.widgets.keypad import Keypad
from drillrunner.app.widgets.line import TextLine
from drillrunner.app.widgets.readout import LargeDigits
from drillrunner.practice.carries import stock
from drillrunner.rules import keypad
from drillrunner.rules.run import Entry, Refused
from drillrunner.rules.shot import Aim
from drillrunner.rules.station import Ask
from drillrunner.rules.units import spoken, text

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillrunner.app.session_desk import Desk
    from drillrunner.practice.sessions.session import BlockState

TYPING = {
    "enter": "take",
    "asterisk": "undo",
    "backspace": "undo",
    "slash": "correct",
    "plus": "reveal",
    "minus": "show",
    "full_stop": "menu",
}
AFTER = {"enter": "next", "full_stop": "menu"}
OUT = Decimal(0)
"""What is typed for a ball that was hit and does not count, while it is corrected."""


class FindScreen(KeypadScreen, inherit_bindings=False):
    """The search of the block in hand: typed blind, corrected if need be, revealed at the end."""

    topic = "find"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("do", "find.next", "next", "Next block", shown=True),
        drawn_key("plus,add", "reveal", "find.reveal", "Reveal", face="+"),
        drawn_key("slash,divide", "correct", "find.correct", "Correct", face="/"),
        key("undo", "find.take_back", "take_back", shown=True),
        drawn_key("minus,subtract", "peek", "find.peek", "Show", face="-"),
        key("leave", "find.back", "back", shown=True),
        key("menu", "find.menu", shown=True),
    ]

    place = "find"

    def __init__(self) -> None:
        super().__init__()
        desk = self.drillrunner.sessions.desk
        assert desk is not None
        self.desk: Desk = desk
        """The session that this screen is of, also once it has been put away."""
        self._open = False
        """Whether what is being typed can be seen; it is hidden again once it is in."""
        state = self.state
        if state is not None:
            block = state.block
            self.title = f"Find · {words.club(block.club or '')}, {block.swing}"

    @property
    def state(self) -> BlockState | None:
        """The block in hand, if it is a search."""
        state = self.desk.block
        return state if state is not None and state.block.kind == "find" else None

    @property
    def ahead(self) -> BlockState | None:
        """The search as it will stand once all that was typed is on disk."""
        state = self.desk.ahead.now
        return state if state is not None and state.block.kind == "find" else None

    @property
    def ask(self) -> Ask:
        """What is typed here."""
        return Ask("carry", Aim(), Decimal(1), self.desk.player.unit, "depth")

    # ---- what is shown ----

    def body(self) -> ComposeResult:
        with Container(id="bay"):
            with Vertical(id="look"):
                yield Static("", id="find-head", markup=False)
                yield LargeDigits("", id="digits")
                with VerticalScroll(id="found", can_focus=False):
                    yield Static("", id="found-text")
            with Vertical(id="hand"):
                yield TextLine(id="typed")
                yield Keypad(id="keypad")

    def on_mount(self) -> None:
        self.show()

    def changed(self) -> None:
        self.show()

    def show(self) -> None:
        """Show the search as it stands."""
        state, desk = self.state, self.desk
        if state is None:
            return
        digits, head = self.query_one(LargeDigits), self.query_one("#find-head", Static)
        pad = self.query_one(Keypad)
        found = state.found(desk.player.unit)
        if found is None:
            count, shots = len(state.typed), state.block.shots or stock.MOST
            dots = " ".join("●" * count + "○" * (shots - count))
            head.update(f"{dots}\n{count} of {shots} typed, and hidden")
            digits.display = False
            self._tell(self._to_do(count, shots))
            pad.words = TYPING
            pad.idle = frozenset()
        else:
            unit = desk.player.unit
            head.update(
                f"stock carry {text(found.whole)} {unit} "
                f"({found.low:.0f} to {found.high:.0f}, 8 in 10)"
            )
            digits.display = True
            digits.update(text(found.whole))
            digits.fit(self.size)
            self._tell(_found_words(found))
            pad.words = AFTER
            pad.idle = frozenset("0123456789") | {"minus", "plus", "slash", "asterisk", "backspace"}
        self._draw_typed()
        self.refresh_bindings()

    def _to_do(self, count: int, shots: int) -> str:
        if count >= shots:
            return "All are in. + reveals them; / corrects one first."
        if count >= stock.FEWEST:
            return "Enough to reveal: +. More make it surer."
        usual = stock.what_shots_can_do(shots, self.desk.player.unit)
        least = f"At least {stock.FEWEST} are needed. {usual}."
        if count:
            return least
        return f"Blind: let somebody else type, or cover what shows you the carry. {least}"

    def _tell(self, said: str | Content) -> None:
        self.query_one("#found-text", Static).update(said)

    def _draw_typed(self) -> None:
        line = self.query_one("#typed", TextLine)
        state = self.state
        asked = f"carry in {spoken(self.ask.unit)}, Enter"
        if state is not None and state.revealed:
            asked = "saved: Enter goes on"
        line.show(f"{self._typed_as_shown}▏" if self.typed else asked)
        line.set_class(bool(self.typed), "-typing")

    @property
    def _typed_as_shown(self) -> str:
        return self.typed if self._open else "●" * len(self.typed)

    def on_resize(self) -> None:
        self.query_one(LargeDigits).fit(self.size)

    # ---- what is typed ----

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        state = self.state
        if state is None:
            return action not in ("reveal", "correct", "take_back", "peek", "next")
        if action == "reveal":
            return None if len(state.typed) < stock.FEWEST else not state.revealed
        if action in ("correct", "take_back", "peek"):
            return not state.revealed
        if action == "next":
            return state.revealed
        return True

    def press(self, key: str, character: str | None) -> None:
        state = self.ahead
        if keypad.is_modifier(key):
            return
        if state is None or self.desk.unsettled:
            self.desk.say_waiting()
            return
        sign = keypad.NAMES.get(key, character)
        if state.revealed and sign not in (".", ","):
            if key in ("enter", "return", "kp_enter"):
                self.action_next()
            elif sign in ("8", "2"):
                by = -2 if sign == "8" else 2
                self.query_one("#found").scroll_relative(y=by, animate=False, immediate=True)
            else:
                self.say("the carries are revealed: Enter goes on")
            return
        if sign == "+" and not self.typed:
            self.action_reveal()
            return
        if sign == "-":
            self.action_peek()
            return
        pressed = keypad.press(self.typed, key, character, self.ask)
        said = pressed.say or ""
        self.say(said.replace(self.typed, self._typed_as_shown) if self.typed else said)
        self.typed = pressed.typed
        if pressed.submit is not None:
            self._submit(pressed.submit)
        elif pressed.command == "menu":
            self.action_menu()
        elif pressed.command == "undo":
            self.action_take_back()
        elif pressed.command == "void":
            self.action_correct()
        self._draw_typed()

    def _submit(self, typed: str) -> None:
        entry = self.entry(typed, self.ask)
        self._open = entry is None
        if entry is not None:
            count = 1 + (len(self.ahead.typed) if self.ahead is not None else 0)
            said = f"shot {count} is in"
            self._write(partial(self.desk.ledger.carry, str(_carry_of(entry))), said)

    def _write(self, do: Callable[[], object], said: str) -> None:
        """Do something to the search, and show it once it is on disk."""

        def kept() -> None:
            if self in self.app.screen_stack:
                self.show()
                state = self.drillrunner.records.unwritten
                self.say(said if state.kept else f"{said}; {state}")

        self.desk.attempt(do, kept)

    def waits(self) -> None:
        self.desk.say_waiting()

    def _shots(self) -> int:
        """How many carries are in; where there is none, that is said."""
        state = self.ahead
        if state is not None and not state.typed:
            self.hint("nothing typed yet")
        return 0 if state is None else len(state.typed)

    def action_take_back(self) -> None:
        """Take the latest carry out."""
        if shot := self._shots():
            self._write(partial(self.desk.ledger.correct, shot, None), f"shot {shot} is taken out")

    def action_correct(self) -> None:
        """Type one of the hidden carries anew, or take it out."""
        rows = [(str(at), f"shot {at}  ●", "") for at in range(1, self._shots() + 1)]
        if rows:
            said = "The carries stay hidden."
            self.app.push_screen(
                Choice("Correct", rows, said, current=str(len(rows))), self._correct_shot
            )

    def _correct_shot(self, shot: str | None) -> None:
        if shot is None:
            return

        def wrong(typed: str) -> str | None:
            if not typed:
                return None
            try:
                _carry(typed, self.ask)
            except Refused as refused:
                return str(refused)
            return None

        def answered(typed: str | None) -> None:
            if not typed:
                return
            carry = _carry(typed, self.ask)
            self._write(
                partial(
                    self.desk.ledger.correct,
                    int(shot),
                    None if carry == OUT else str(carry),
                    hit=True,
                ),
                f"shot {shot} " + ("does not count" if carry == OUT else "is corrected"),
            )

        self.app.push_screen(
            Question(
                f"Shot {shot}",
                "Its carry, hidden; 0 for a ball that does not count: cracked, or disturbed.",
                check=wrong,
                hidden=True,
            ),
            answered,
        )

    def action_peek(self) -> None:
        """See what is being typed until Enter; it hides again then."""
        self._open = not self._open
        self.say("what you type can be seen" if self._open else "what you type is hidden")
        self._draw_typed()

    def action_next(self) -> None:
        """The search is done."""
        self.desk.do("next")

    def action_reveal(self) -> None:
        """Show the carries, once there are five."""
        state = self.ahead
        if state is None:
            return
        if len(state.typed) < stock.FEWEST:
            self.say(f"{len(state.typed)} carries: at least {stock.FEWEST} are needed")
        else:
            self._write(self.desk.ledger.reveal, "saved as your stock carry")


def _carry(typed: str, ask: Ask) -> Decimal:
    """The carry that a text means. Raises Refused, TooFar."""
    return _carry_of(keypad.read(typed, ask))


def _carry_of(entry: Entry) -> Decimal:
    assert entry.shot is not None
    assert entry.shot.carry is not None
    return entry.shot.carry


def _found_words(found: stock.Found) -> Content:
    """Each shot, the mishits and why, the spread, and whether to own the swing."""
    shots: list[Content | str] = []
    for carry, kept in zip(found.carries, found.kept, strict=True):
        shots += [text(carry) if kept else Content.styled(f"({text(carry)} out)", "strike"), "  "]
    return Content.assemble(
        Content.styled(f"{found.why}.", "bold"), "\n\n", *shots, f"\n{stock.RULE}"
    )
