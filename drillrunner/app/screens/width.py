"""How wide is that? A width by hand, posts or bearings, with its error; and the other way round."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.widgets import Static

from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue import width as w
from drillrunner.catalogue.ranges import gap_words, load_hand, load_ranges, save_hand
from drillrunner.rules.units import Unit

if TYPE_CHECKING:
    from drillrunner.store.store import Store

OF_THE_HAND = ("arm", "hand")


class WidthScreen(FormScreen):
    """wanted: a drill's width, if the screen is opened from one that has it."""

    topic = "width"
    TITLE = "How wide is that?"

    def __init__(self, wanted: Decimal | None = None, distance: Decimal | None = None) -> None:
        super().__init__()
        self.method = "hand"
        self.thing = "finger"
        said = {"width": wanted, "distance": distance}
        self.typed = {name: float(value) for name, value in said.items() if value is not None}
        self.hand, self._trouble = load_hand()

    def above(self) -> ComposeResult:
        yield Static("", id="answer-plain", markup=False)
        yield Static("", id="answer-more", markup=False)

    def on_mount(self) -> None:
        if self._trouble:
            self.say(str(self._trouble[0]))

    def read(self, store: Store) -> None:
        if self.is_mounted:
            self.show()

    @property
    def unit(self) -> Unit:
        """The unit of the player of now."""
        player = self.drillrunner.player
        return "yd" if player is None else player.unit

    # ---- what is shown ----

    def show(self) -> None:
        plain, more = self._answer()
        self.query_one("#answer-plain", Static).update(plain)
        self.query_one("#answer-more", Static).update(more)
        super().show()

    def items(self) -> list[Item]:
        how = w.METHODS[self.method]
        first = Item("method", "How", how.said, "4 and 6 turn", turn=self._turn_method)
        return [first, *map(self._item, how.asks)]

    def _item(self, name: str) -> Item:
        asked = w.QUANTITIES[name]
        if name == "thing":
            return Item(name, asked.label, self.thing, "4 and 6 turn", turn=self._turn_thing)
        value, unit = self._value(name), asked.unit.format(unit=self.unit)
        missing = "not typed yet" if asked.needed else "may stay empty"
        return Item(
            name,
            asked.label,
            missing if value is None else f"{value:g} {unit}".strip(),
            "measure it once; it is kept" if name in OF_THE_HAND else "",
            ask=AskItem(
                asked.label,
                "" if value is None else f"{value:g}",
                lambda typed: self._take(name, typed),
                lambda typed: (why := _unfit(name, typed)) and f"{asked.label}: {why}",
                unit,
            ),
        )

    def _value(self, name: str) -> float | None:
        if name == "arm":
            return self.hand.arm
        return self.hand.sizes()[self.thing] if name == "hand" else self.typed.get(name)

    def _answer(self) -> tuple[str, str]:
        """The answer in a line, and what else follows from it."""
        method = w.METHODS[self.method]
        if missing := [one.label.lower() for one in method.missing(self.typed)]:
            return "", f"still to type: {', '.join(missing)}"
        try:
            found = method.work(self.typed, self.thing, self.hand)
            if self.method == "wanted":
                return self._in_fingers(found)
        except w.BadMeasure as error:
            return "", str(error)
        self.drillrunner.worked_out = found
        return (
            f"{found.value:.0f} {self.unit} wide",
            f"between {found.low:.0f} and {found.high:.0f}, by what such a measure may be off",
        )

    def _in_fingers(self, angle: w.Estimate) -> tuple[str, str]:
        far, wide = self.typed["distance"], self.typed["width"]
        many = w.how_many(far, wide, self.hand)
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

    def _turn_method(self, by: int) -> None:
        self.method = turned(tuple(w.METHODS), self.method, by)
        self.show()

    def _turn_thing(self, by: int) -> None:
        self.thing = turned(w.THINGS, self.thing, by)
        self.show()

    def _take(self, name: str, typed: str) -> None:
        # What was wrong before is corrected, or will be said again.
        self.say()
        if not typed:
            self.typed.pop(name, None)
        elif name in OF_THE_HAND:
            wanted = replace(self.hand, **{"arm" if name == "arm" else self.thing: _number(typed)})
            if trouble := save_hand(wanted):
                self.say(f"{w.QUANTITIES[name].label}: {trouble}")
            else:
                self.hand = wanted
                self.say("kept as your own measure")
        else:
            self.typed[name] = _number(typed)
        self.show()


def _number(typed: str) -> float:
    return float(Decimal(typed.replace(",", ".")))


def _unfit(name: str, typed: str) -> str | None:
    """Why a text can't be taken."""
    if not typed:
        return "expected a number" if name in OF_THE_HAND else None
    try:
        why = w.QUANTITIES[name].unfit(_number(typed))
    except ArithmeticError:
        why = "expected a number"
    return why and f"{typed}: {why}"
