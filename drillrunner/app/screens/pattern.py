"""Pattern: where the shots with one club and swing finish, and what each width makes of a drill."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.widgets import Static

from drillrunner.app import odds_words, words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import key
from drillrunner.app.newest import HasQuestions
from drillrunner.app.odds_worker import Portrait, Widths, portrait
from drillrunner.app.screens.base import ScrollScreen
from drillrunner.app.widgets.pattern_view import PatternView
from drillrunner.odds.words import DENIED, aim_beside, band, count_of, more_words, share
from drillrunner.rules.units import text

if TYPE_CHECKING:
    from drillrunner.odds.portrait import PatternSide
    from drillrunner.store.store import Store

BY_SHAPE = "≈"
"""Marks a chance at a width that was never judged."""


class PatternScreen(HasQuestions, ScrollScreen):
    """The player of now with this club and swing."""

    topic = "pattern"
    scrolled = "#figures"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("next previous", "pattern.turn", "turn", shown=True),
        key("go", "pattern.drill", "drill", "Drill"),
        key("which", "pattern.club", "club", shown=True),
    ]

    def __init__(self, club: str, swing: str = "full") -> None:
        super().__init__()
        self.club = club
        self.swing = swing
        self.portrait: Portrait | None = None
        self.turned = 0
        self.drill = 0

    def body(self) -> ComposeResult:
        with Container(id="shape"):
            with Vertical(id="above"):
                yield Static("", id="above-key", markup=False)
                yield PatternView(id="view")
            with VerticalScroll(id="figures", can_focus=False):
                yield Static(odds_words.WAITING, id="figures-text", markup=False)

    def read(self, store: Store) -> None:
        player, catalogue = self.drillrunner.player, self.drillrunner.drills.catalogue
        club, swing = self.club, self.swing
        self.title = f"Pattern · {words.title_of(club, swing)}"
        if player is None:
            self._say_figures("nobody plays yet")
            return
        if self.portrait is None:
            self._say_figures(odds_words.WAITING)
        self.questions.ask(
            lambda: portrait(store, player, catalogue, club, swing),
            self._painted,
            lambda error: self._say_figures(f"no odds: {error}"),
        )

    def _say_figures(self, said: str) -> None:
        self.query_one("#figures-text", Static).update(said)

    def _painted(self, found: Portrait) -> None:
        self.portrait = found
        self._show()

    @property
    def side(self) -> PatternSide | None:
        """The direction that is shown."""
        return (
            None
            if self.portrait is None
            else self.portrait.sides[self.turned % len(self.portrait.sides)]
        )

    def refit(self) -> None:
        self._show()

    def _show(self) -> None:
        found, side = self.portrait, self.side
        if found is None or side is None:
            return
        drill = found.drills[self.drill % len(found.drills)] if found.drills else None
        lines = figures(
            side,
            found.unit,
            drill if side.direction == "lateral" else None,
            self.has_class("-narrow") or self.has_class("-tiny"),
        )
        if self.check_action("drill", ()):
            lines.append("5: the next drill with this club")
        self._say_figures("\n".join(lines))
        newest = "newest on top" if side.direction == "lateral" else "newest on the right"
        dots = f"the last {len(side.finishes)}, {newest}" if side.finishes else "no shots yet"
        self.query_one("#above-key", Static).update(f"{dots}\n⡇ two in three finish between these")
        self.query_one(PatternView).show(side)
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "drill":
            found = self.portrait
            return True if found is not None and len(found.drills) > 1 and not self.turned else None
        if action in ("turn", "club"):
            return True if self.portrait is not None else None
        return True

    def action_turn(self) -> None:
        """The other direction, and how far off your calls were."""
        found = self.portrait
        self.turned = (self.turned + 1) % (len(found.sides) if found is not None else 1)
        self._show()

    def action_drill(self) -> None:
        """What each width makes of the next drill with this club."""
        self.drill += 1
        self._show()

    def action_club(self) -> None:
        """Another club or swing."""
        if self.portrait is None:
            return
        swings = self.portrait.swings

        def answered(choice: str | None) -> None:
            if choice is not None:
                self.club, self.swing = swings[int(choice)]
                self.portrait, self.drill, self.turned = None, 0, 0
                self.drillrunner.records.read(self)

        rows = [(str(at), words.title_of(*pair), "") for at, pair in enumerate(swings)]
        current = str(swings.index((self.club, self.swing)))
        self.app.push_screen(Choice("Which club?", rows, current=current), answered)


def figures(
    side: PatternSide, unit: str, drill: Widths | None, table_first: bool = False
) -> list[str]:
    """What a person reads of one direction, line by line, in at most 38 columns.

    table_first: what is inside each width comes before the averages, where there is little room.
    """
    if side.calls:
        return _calls(side, unit)
    head = "LEFT AND RIGHT" if side.direction == "lateral" else "SHORT AND LONG"
    if side.carry is not None:
        head += f" OF {side.carry:.0f} {unit.upper()}"
    asked = _asked(side, drill)
    top, said = [head, odds_words.behind(side.shots, side.guess)], _said(side, asked)
    table = [*_table(side, unit, drill), "in brackets: 8 in 10 sure"]
    averages, counts = _averages(side, unit), _counts(side, unit)
    if table_first:
        parts = [top + table, said, averages, counts]
    else:
        parts = [top + said, averages, table, counts]
    lines: list[str] = []
    for part in filter(None, parts):
        lines += ["", *part] if lines else part
    return lines


def _calls(side: PatternSide, unit: str) -> list[str]:
    """How far off the calls were, which way, and whether that gets better."""
    first = 3
    lines = ["OFF YOUR CALLS", odds_words.behind(side.shots, side.guess)]
    lines += [] if side.guess else [side.said]
    lines += ["", "the carry, off the call:", *_averages(side, unit)]
    if side.change is not None:
        said, _, rest = side.change.partition(": ")
        lines += ["", said, f"  {rest}"]
    lines += ["", "within so much of the call"]
    for width, found, _ in side.inside[:first]:
        lines.append(f" {width / 2:g} {unit:<2} {band(found)}")
    return lines


def _asked(side: PatternSide, drill: Widths | None) -> int:
    """Which width the words speak of: that of the drill, else 40."""
    widths = [width for width, _, _ in side.inside]
    set_to = 40 if drill is None or drill.width is None else int(drill.width)
    return min(range(len(widths)), key=lambda at: abs(widths[at] - set_to))


def _said(side: PatternSide, asked: int) -> list[str]:
    lines = [] if side.guess else [side.said]
    if side.shape is not None:
        room = 38
        first, _, rest = side.shape.partition(": ") if len(side.shape) > room else ("", "", "")
        lines += [f"{first}:", f"  {rest}"] if first else [side.shape]
    width, aim = side.inside[asked][0], side.aims[asked]
    if aim is not None:
        lines.append(f"{aim_beside(aim, side.direction)} inside {width}")
    if (more := more_words(side.more[asked])) is not None:
        lines.append(more)
    return lines


def _averages(side: PatternSide, unit: str) -> list[str]:
    across, bias, half = side.direction == "lateral", side.bias, side.half_width
    return [
        f"on average {words.off(bias.median, across, unit)}",
        f"  ({words.off(bias.low, across)} to {words.off(bias.high, across)})",
        f"two in three within {half.median:.1f} {unit} of there",
        f"  ({half.low:.1f} to {half.high:.1f})",
    ]


def _table(side: PatternSide, unit: str, drill: Widths | None) -> list[str]:
    lines, beat = [], ""
    if drill is not None:
        record = "no best yet" if drill.beat is None else f"to beat {text(drill.beat)}"
        lines.append(f"{drill.title:>38.38}")
        beat = record
    lines.append(f"{'inside':<26}{beat:>12}")
    for at, (width, found, by_shape) in enumerate(side.inside):
        mark = BY_SHAPE if by_shape else " "
        chance = None if drill is None else drill.chances[at]
        odds = "" if chance is None else share(chance)
        here = "▸" if drill is not None and drill.width == width else " "
        lines.append(f"{here}{width} {unit:<2} {mark} {band(found):<20}{odds:>8}")
    if any(by_shape for _, _, by_shape in side.inside):
        lines.append(f"{BY_SHAPE} by shape, not seen")
    if drill is not None and drill.width is not None:
        lines.append(f"▸ the drill as it is set: {text(drill.width)} {unit}")
    return lines


def _counts(side: PatternSide, unit: str) -> list[str]:
    """The raw counts beside the model."""
    cells = [
        f"{width} {unit}  {count_of(found)}"
        for (width, _, _), found in zip(side.inside, side.counted, strict=True)
        if found.of
    ]
    if not cells:
        return []
    lines = [f"counted in the last {len(side.finishes)}", *(f" {cell}" for cell in cells)]
    if any(found.off for found in side.counted):
        lines.append(f"{DENIED} the chance above does not agree")
    return lines
