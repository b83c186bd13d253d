"""Describe one's range by the number block: gaps that were measured, and marks with bearings."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app.keys import FACES, key
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue.ranges import (
    RangeProfile,
    free_range_id,
    gap_words,
    range_faults,
    save_range,
)
from drillrunner.rules.units import plain, spoken

UNITS = ("yd", "m")
ROWS: dict[str, dict[str, tuple[str, str]]] = {
    "gaps": {
        "name": ("Between what", "a word for it"),
        "distance": ("How far off", "from the bay"),
        "width": ("How wide", "{unit}; from a plan, the staff, or a rangefinder in the bay"),
        "error": ("What that may be off", "{unit}; empty: 5 % of it"),
    },
    "marks": {
        "name": ("Mark", "a word for it"),
        "distance": ("How far off", "from the bay"),
        "bearing": ("Bearing", "degrees, by a compass from the bay"),
        "bearing_error": ("What the bearing may be off", "degrees; may stay empty"),
    },
}
"""What is told of each, and beside it what that is."""

ONE = {"gaps": "gap", "marks": "mark"}
FRESH: dict[str, dict[str, Any]] = {
    "gaps": {"distance": 200, "width": 40},
    "marks": {"distance": 200, "bearing": 0},
}


class MakeRangeScreen(FormScreen):
    """profile: the range that is changed; a new one without."""

    topic = "make_range"
    TITLE = "Your range"
    BINDINGS: ClassVar[list[BindingType]] = [key("width", "range.width", shown=True)]

    def __init__(self, profile: RangeProfile | None = None) -> None:
        super().__init__()
        self.document: dict[str, Any] = (
            {"title": "My range", "unit": "yd", "gaps": [], "marks": []}
            if profile is None
            else copy.deepcopy(dict(profile.document))
        )
        self.is_new = profile is None

    def on_mount(self) -> None:
        player = self.drillrunner.player
        if self.is_new and player is not None:
            self.document["unit"] = player.unit
        self._at_first = copy.deepcopy(self.document)

    def above(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)

    def show(self) -> None:
        faults = range_faults(self._whole())
        told = "complete" if not faults else faults[0]
        if not self.document.get("gaps") and not self.document.get("marks"):
            told = "first a gap, or two marks on bearings that differ"
        self.query_one("#progress", Static).update(told)
        super().show()

    def items(self) -> list[Item]:
        return [
            self._title(),
            Item("unit", "Told in", spoken(self.document["unit"]), turn=self._turn_unit),
            *self._listed("gaps"),
            *self._listed("marks"),
            Item("", "more"),
            Item(
                "add-gaps",
                "Add a gap",
                about="two things, and how wide between",
                act=self._adder("gaps"),
            ),
            Item(
                "add-marks",
                "Add a mark",
                about="two of them with bearings make a gap",
                act=self._adder("marks"),
            ),
            Item("", "done"),
            Item("save", "Save the range", act=self._save),
        ]

    def _title(self) -> Item:
        def take(typed: str) -> None:
            self.document["title"] = typed.strip()
            self.show()

        now = self.document["title"]
        return Item("title", "Called", now, ask=AskItem("What the range is called", now, take))

    def _turn_unit(self, by: int) -> None:
        self.document["unit"] = turned(UNITS, self.document["unit"], by)
        self.show()

    def _listed(self, what: str) -> Iterator[Item]:
        unit = spoken(self.document["unit"])
        for at, one in enumerate(self.document.get(what, [])):
            yield Item("", f"{ONE[what]} {at + 1}")
            for name, (label, about) in ROWS[what].items():
                yield self._field(what, at, name, label, about.format(unit=unit), one.get(name))
            gone = f"Leave {ONE[what]} {at + 1} out"
            yield Item(f"{what}-{at}-out", gone, act=self._remover(what, at))

    def _field(self, what: str, at: int, name: str, label: str, about: str, value: Any) -> Item:
        said = "" if value is None else str(value)

        def changed(typed: str) -> dict[str, Any]:
            document = copy.deepcopy(self.document)
            if not typed.strip():
                document[what][at].pop(name, None)
            else:
                document[what][at][name] = typed.strip() if name == "name" else _number(typed)
            return document

        def check(typed: str) -> str | None:
            mine = f"{what}.{at}.{name}: "
            wrong = (one for one in range_faults(changed(typed) | {"id": "x"}) if mine in one)
            return next((one.replace(mine, "") for one in wrong), None)

        def take(typed: str) -> None:
            self.document = changed(typed)
            self.show()

        ask = AskItem(label, said, take, check, about)
        return Item(f"{what}-{at}-{name}", label, said or "-", about, ask=ask)

    def _adder(self, what: str) -> Any:
        def add() -> None:
            listed = self.document.setdefault(what, [])
            listed.append({"name": f"{ONE[what]} {len(listed) + 1}", **FRESH[what]})
            self.show()

        return add

    def _remover(self, what: str, at: int) -> Any:
        def remove() -> None:
            self.document[what].pop(at)
            self.show()

        return remove

    def action_width(self) -> None:
        """Take the width that was worked out last into the gap under the cursor."""
        worked, item = self.drillrunner.worked_out, self.item
        if worked is None:
            self.say(f"no width was worked out yet: {FACES['width']} at home does that")
        elif item is None or not item.id.startswith("gaps-"):
            self.hint("first stand on a row of a gap: 8 and 2")
        else:
            gap = self.document["gaps"][int(item.id.split("-")[1])]
            gap["width"] = max(round(worked.value), 1)
            gap["error"] = round((worked.high - worked.low) / 2)
            self.say()
            self.show()

    def _whole(self) -> dict[str, Any]:
        return {"id": "x", **self.document}

    def unsaved(self) -> Callable[[], None] | None:
        return self._save if self.document != self._at_first else None

    def _save(self) -> None:
        document = {"id": free_range_id(self.document["title"]), **self.document}
        try:
            profile = save_range(document)
        except (ValueError, OSError) as error:
            self.say(str(error))
            return
        app = self.drillrunner
        app.prefer(range=profile.id)
        app.pop_screen()
        widest = profile.gaps()[0]
        app.say(f"{profile.title} is kept: {gap_words(widest, widest.whole, profile.unit)}")


def _number(typed: str) -> Any:
    try:
        return plain(Decimal(typed.strip().replace(",", ".")))
    except InvalidOperation:
        return typed
