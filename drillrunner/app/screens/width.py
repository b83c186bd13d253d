"""How wide is that? A width by hand, posts or bearings, with its error; and the other way round."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillrunner.app.dialog import Question
from drillrunner.app.keys import key
from drillrunner.app.screens.base import BaseScreen
from drillrunner.app.widgets.lists import BlockList, ListRow
from drillrunner.catalogue import width as w
from drillrunner.catalogue.ranges import gap_words, load_hand, load_ranges, save_hand
from drillrunner.rules.units import Unit

if TYPE_CHECKING:
    from drillrunner.store.store import Store

THINGS = ("finger", "fist", "grip")

METHODS = {
    "hand": "held up at arm's length",
    "angle": "an angle that was measured",
    "posts": "net posts at a known spacing",
    "bearings": "two marks at known bearings",
    "wanted": "how many fingers a width is",
}

FIELDS: dict[str, tuple[str, ...]] = {
    "hand": ("distance", "thing", "count", "arm", "size"),
    "angle": ("distance", "angle"),
    "posts": ("distance", "gaps", "spacing", "post_distance"),
    "bearings": ("left_distance", "left_bearing", "right_distance", "right_bearing"),
    "wanted": ("distance", "width", "arm", "thing", "size"),
}
"""What each method asks, in the order of the rows."""

SAID = {
    "distance": ("Distance to the target", "{unit}"),
    "thing": ("What is held up", ""),
    "count": ("How many it takes", ""),
    "arm": ("From your eye to your hand", "cm"),
    "size": ("How wide one is", "cm"),
    "angle": ("Angle", "degrees"),
    "gaps": ("Gaps between posts that it spans", ""),
    "spacing": ("From one post to the next", "{unit}"),
    "post_distance": ("Distance to the posts, if nearer", "{unit}"),
    "left_distance": ("Left mark: distance", "{unit}"),
    "left_bearing": ("Left mark: bearing", "degrees"),
    "right_distance": ("Right mark: distance", "{unit}"),
    "right_bearing": ("Right mark: bearing", "degrees"),
    "width": ("Width that is wanted", "{unit}"),
}
OPTIONAL = ("post_distance",)
OF_THE_HAND = ("arm", "size")


class WidthScreen(BaseScreen):
    """wanted: a drill's width, if the screen is opened from one that has it."""

    topic = "width"
    TITLE = "How wide is that?"
    BINDINGS: ClassVar[list[BindingType]] = [
        key(
            "next",
            "width.turn",
            "turn(1)",
            "Another way",
            shown=True,
            tip="The next way to measure, or in its row the next thing to hold up",
        ),
        key(
            "previous",
            "width.turn_back",
            "turn(-1)",
            "Way before",
            tip="The way to measure before, or the thing to hold up before",
        ),
    ]

    def __init__(self, wanted: Decimal | None = None, distance: Decimal | None = None) -> None:
        super().__init__()
        self.method = "hand"
        self.thing = "finger"
        self.typed: dict[str, float] = {}
        if wanted is not None:
            self.typed["width"] = float(wanted)
        if distance is not None:
            self.typed["distance"] = float(distance)
        self.hand, self._trouble = load_hand()

    def body(self) -> ComposeResult:
        yield Static("", id="answer-plain", markup=False)
        yield Static("", id="answer-more", markup=False)
        yield BlockList(id="measures")

    def on_mount(self) -> None:
        self.query_one(BlockList).focus()
        self._show()
        if self._trouble:
            self.say(str(self._trouble[0]))

    def read(self, store: Store) -> None:
        if self.is_mounted:
            self._show()

    @property
    def unit(self) -> Unit:
        """The unit of the player of now."""
        player = self.drillrunner.player
        return "yd" if player is None else player.unit

    # ---- what is shown ----

    def _show(self) -> None:
        rows = [Option(ListRow("How", METHODS[self.method], "4 and 6 turn"), id="method")]
        rows += [Option(self._row(name), id=name) for name in FIELDS[self.method]]
        self.query_one(BlockList).fill(rows)
        plain, more = self._answer()
        self.query_one("#answer-plain", Static).update(plain)
        self.query_one("#answer-more", Static).update(more)

    def _row(self, name: str) -> ListRow:
        label, unit = SAID[name]
        if name == "thing":
            return ListRow(label, self.thing, "4 and 6 turn")
        value = self._value(name)
        if value is None:
            return ListRow(label, "may stay empty" if name in OPTIONAL else "not typed yet")
        below = "measure it once; it is kept" if name in OF_THE_HAND else ""
        return ListRow(label, f"{value:g} {unit.format(unit=self.unit)}".strip(), below)

    def _value(self, name: str) -> float | None:
        if name == "arm":
            return self.hand.arm
        if name == "size":
            return self.hand.sizes()[self.thing]
        return self.typed.get(name)

    def _answer(self) -> tuple[str, str]:
        """The answer in a line, and what else follows from it."""
        missing = [
            SAID[name][0].lower()
            for name in FIELDS[self.method]
            if name not in (*OPTIONAL, *OF_THE_HAND, "thing") and name not in self.typed
        ]
        if missing:
            return "", f"still to type: {', '.join(missing)}"
        try:
            return self._wanted() if self.method == "wanted" else self._width()
        except w.BadMeasure as error:
            return "", str(error)

    def _width(self) -> tuple[str, str]:
        t, far = self.typed, self.typed.get("distance", 0.0)
        if self.method == "hand":
            found = w.by_hand(far, t["count"], self.thing, self.hand)
        elif self.method == "angle":
            found = w.by_angle(far, t["angle"])
        elif self.method == "posts":
            found = w.by_posts(far, t["gaps"], t["spacing"], t.get("post_distance"))
        else:
            found = w.between_marks(
                w.Mark(t["left_distance"], t["left_bearing"]),
                w.Mark(t["right_distance"], t["right_bearing"]),
            )
        self.drillrunner.worked_out = found
        return (
            f"{found.value:.0f} {self.unit} wide",
            f"between {found.low:.0f} and {found.high:.0f}, by what such a measure may be off",
        )

    def _wanted(self) -> tuple[str, str]:
        far, wide = self.typed["distance"], self.typed["width"]
        many = w.how_many(far, wide, self.hand)
        angle = w.angle_of(far, wide)
        lines = [f"{angle.value:.1f} degrees ({angle.low:.1f} to {angle.high:.1f})"]
        lines += [f"{count:.1f} {thing}s" for thing, count in many.items() if thing != self.thing]
        profiles, problems = load_ranges()
        lines += [str(problem) for problem in problems]
        wanted = Decimal(str(wide))
        for profile in profiles:
            gap = profile.nearest(wanted, self.unit, Decimal(str(far)))
            if gap is not None:
                lines.append(f"{profile.title}: {gap_words(gap, wanted, self.unit)}")
        return f"{many[self.thing]:.1f} {self.thing}s", "\n".join(lines)

    # ---- what can be done ----

    @on(OptionList.OptionSelected)
    def _opened(self, event: OptionList.OptionSelected) -> None:
        name = event.option_id or ""
        if name in ("method", "thing"):
            self.action_turn(1)
            return
        label, unit = SAID[name]
        current = self._value(name)

        def answered(typed: str | None) -> None:
            if typed is not None:
                self._take(name, typed)

        self.app.push_screen(
            Question(
                label,
                unit.format(unit=self.unit),
                "" if current is None else f"{current:g}",
                lambda typed: (bad := _bad_number(name, typed)) and f"{label}: {bad}",
            ),
            answered,
        )

    def _take(self, name: str, typed: str) -> None:
        # What was wrong before is corrected, or will be said again.
        self.say()
        if not typed:
            self.typed.pop(name, None)
        elif name in OF_THE_HAND:
            field = "arm" if name == "arm" else self.thing
            hand: dict[str, Any] = {field: _number(typed)}
            wanted = replace(self.hand, **hand)
            if trouble := save_hand(wanted):
                self.say(f"{SAID[name][0]}: {trouble}")
            else:
                self.hand = wanted
                self.say("kept as your own measure")
        else:
            self.typed[name] = _number(typed)
        self._show()

    def action_turn(self, by: int) -> None:
        """Turn the way to measure, or in its row what is held up."""
        option = self.query_one(BlockList).highlighted_option
        if option is not None and option.id == "thing":
            self.thing = THINGS[(THINGS.index(self.thing) + by) % len(THINGS)]
        else:
            ways = list(METHODS)
            self.method = ways[(ways.index(self.method) + by) % len(ways)]
        self._show()


def _number(typed: str) -> float:
    return float(Decimal(typed.replace(",", ".")))


def _bad_number(name: str, typed: str) -> str | None:
    """Why a text can't be taken."""
    if not typed:
        return "expected a number" if name in OF_THE_HAND else None
    try:
        value = _number(typed)
    except ArithmeticError:
        return f"{typed}: expected a number"
    if name.endswith("bearing"):
        return None if -360 <= value <= 360 else f"{typed}: expected degrees from -360 to 360"
    return (
        None
        if 0 < value <= w.FARTHEST
        else f"{typed}: expected more than 0, at most {w.FARTHEST:g}"
    )
