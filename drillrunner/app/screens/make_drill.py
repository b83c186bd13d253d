"""Make a drill of one's own from another, by the number block; change it, or take it away."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Any, ClassVar, Literal, get_args, get_origin

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from drillrunner.app import gaps, words
from drillrunner.app.dialog import Choice
from drillrunner.app.keys import FACES, key
from drillrunner.app.screens.form import AskItem, FormScreen, Item, turned
from drillrunner.catalogue import making
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.drill import Drill
from drillrunner.catalogue.errors import BadDrill
from drillrunner.catalogue.settable import put
from drillrunner.catalogue.tomltext import FieldPath
from drillrunner.rules.outcome import Asks
from drillrunner.rules.shot import Aim
from drillrunner.rules.station import HOLING
from drillrunner.rules.units import plain, spoken, text

AIMS = {"carry": "Carry", "width": "Width", "depth": "Depth, short to long"}
ASKED = {
    "verdict": "in or out",
    "miss": "how far off",
    "carry": "how far it flew",
    "call": "a call, and how far it flew",
    "strokes": "strokes to hole out",
    "leave": "what a putt left",
}
LIES = {"green": "the green", "fringe": "the fringe", "rough": "rough", "sand": "sand"}

SETTINGS = {
    "length": "How many in a row",
    "limit": "At most so many balls",
    "tolerance": "How far off still counts",
    "cap": "One ball counts at most",
    "axis": "Which way a miss counts",
    "narrower": "Narrower by, each time",
    "floor": "Never narrower than",
    "inner": "Width of the inner band",
    "inner_points": "Points in the inner band",
    "outer_points": "Points in the outer band",
    "within": "Strokes that still hold",
}
"""Settings whose names in a file are no golfer's words; any other is called as it is."""

CHOICES = {"lateral": "left and right", "depth": "short and long"}


class MakeDrillScreen(FormScreen):
    """drill: what it is made from, in the unit of the player of now; an own one is changed."""

    topic = "make_drill"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("gap", "make.gap", shown=True),
        key("width", "make.width"),
    ]

    def __init__(self, drill: Drill) -> None:
        super().__init__()
        self.base = drill
        self.own = drill.own
        self.drill = (
            drill
            if self.own
            else making.made(drill, drill.id, f"My {drill.title[:1].lower()}{drill.title[1:]}"[:80])
        )
        self._at_first = self.drill
        self.title = f"{'Change' if self.own else 'Made from'} · {drill.title}"

    def above(self) -> ComposeResult:
        yield Static("", id="progress", markup=False)

    def show(self) -> None:
        drill = self.drill
        said = words.setting(drill.setting())
        dial = drill.dial
        if dial is not None:
            ends = f"{text(dial.low)} to {text(dial.high)}"
            said += f"\nharder or easier by {_called(dial.field)}, {ends}"
        self.query_one("#progress", Static).update(said)
        super().show()

    def items(self) -> list[Item]:
        save = "Save the change" if self.own else "Save it as a drill of yours"
        rows = [
            self._typed("title", "Title", self.drill.title, ("title",)),
            replace(
                self._typed("about", "What to do", self.drill.about, ("about",)),
                value="",
                about=self.drill.about,
            ),
            *self._stations(),
            Item("", "rules"),
            *self._settings(),
            self._club("between", "Ball in between", self.drill.between, none="none"),
            Item("", "how hard, and how long"),
            *self._dial(),
            *(
                self._typed(
                    f"takes.{name}", label, _said(getattr(self.drill, name)), ("takes", name), int
                )
                for name, label in (("balls", "Balls, about"), ("minutes", "Minutes, about"))
            ),
            Item("", "done"),
            Item("save", save, about=self._changes(), act=self._save),
        ]
        if self.own:
            gone = "its file is kept aside, its runs stay"
            rows.append(Item("remove", "Take it away", about=gone, act=self._remove))
        return rows

    # ---- rows ----

    def _stations(self) -> Iterator[Item]:
        own = self.drill.document.get("stations") or []
        if not own:
            yield Item("", "the ball")
            yield self._club("club", "Club", self.drill.club)
            yield self._field("swing", "Swing", self.drill.swing)
            yield from self._asks()
            if self.drill.aim.lie is not None:
                yield from self._to_the_hole("aim", self.drill.aim)
            else:
                for name, label in AIMS.items():
                    yield self._aim(f"aim.{name}", label, getattr(self.drill.aim, name), name)
            yield self._grid()
            return
        for at, station in enumerate(self.drill.stations):
            where = f"stations.{at}"
            yield Item("", f"{at + 1} of {len(own)}")
            yield self._club(f"{where}.club", "Club", station.club)
            yield self._field(f"{where}.swing", "Swing", station.swing)
            if station.aim.lie is not None:
                yield from self._to_the_hole(f"{where}.aim", station.aim)
                continue
            for name, label in AIMS.items():
                stock = name == "carry" and self.drill.stocks[at]
                value = None if stock else getattr(station.aim, name)
                yield self._aim(f"{where}.aim.{name}", label, value, name, stock)

    def _asks(self) -> Iterator[Item]:
        """What is asked, where the game leaves it open."""
        game, now = self.drill.game_class, self.drill.stations[0].asks
        ids = (game.asks, *game.also_asks)
        if len(ids) > 1:
            about = "another one is hit at another aim"
            ask = partial(turned, ids, now)
            yield Item(
                "asks", "What is typed", ASKED[now], about, turn=lambda by: self._ask(ask(by))
            )

    def _ask(self, asks: Asks) -> None:
        """Ask something else, at an aim that it goes with."""
        putt = asks in HOLING
        aim = {"length": 8, "lie": "green"} if putt else {"width": 40}
        club = "putter" if putt else self.base.club if self.base.aim.lie is None else "driver"
        self._take(
            lambda: self._edited(
                {
                    ("asks",): asks,
                    ("aim",): aim,
                    ("club",): club,
                    ("dial",): None,
                    ("grid",): None,
                    ("settings", "within"): None,
                }
            )
        )

    def _to_the_hole(self, table: str, aim: Aim) -> Iterator[Item]:
        """From where a ball is played to the hole."""
        about = f"in {spoken(aim.measure(self.drill.unit))}"
        yield self._field(f"{table}.length", "Length to the hole", _said(aim.length), about)
        lie, turn = aim.lie or "green", partial(self._turn, f"{table}.lie", tuple(LIES))
        yield Item(f"{table}.lie", "From", LIES[lie], turn=lambda by: turn(lie, by))

    def _aim(
        self, field: str, label: str, value: Decimal | None, name: str, stock: bool = False
    ) -> Item:
        stock = stock or (name == "carry" and self.drill.stock and field == "aim.carry")
        about = f"{spoken(self.drill.unit)}; empty for none"
        if name == "carry":
            about += "; stock for your stock carry"
        return self._field(field, label, "stock" if stock else _said(value), about)

    def _grid(self) -> Item:
        about = "the step on which a number is read"
        return self._field("grid", "Read to", text(self.drill.grid), about)

    def _settings(self) -> Iterator[Item]:
        settings = self.drill.settings
        for name, info in type(settings).model_fields.items():
            label = SETTINGS.get(name, name.replace("_", " ").capitalize())
            value = getattr(settings, name)
            choices = _choices(info.annotation)
            if choices:
                turn = partial(self._turn, f"settings.{name}", choices, value)
                yield Item(f"settings.{name}", label, CHOICES.get(value, value), turn=turn)
            elif not isinstance(value, list | tuple | dict):
                yield self._field(f"settings.{name}", label, _said(value))

    def _dial(self) -> Iterator[Item]:
        dial = self.drill.dial
        fields: list[str | None] = [None, *self._numbers()]
        now = None if dial is None else dial.field
        yield Item(
            "dial",
            "Harder or easier by",
            "nothing" if now is None else _called(now),
            "another value is another record",
            turn=lambda by: self._dialled(turned(fields, now, by)),
        )
        if dial is None:
            return
        ends = (
            ("from", "From", dial.low),
            ("to", "To", dial.high),
            ("step", "In steps of", dial.step),
        )
        for name, label, value in ends:
            yield self._typed(f"dial.{name}", label, text(value), ("dial", name), _number)

    def _numbers(self) -> Iterator[str]:
        """The fields with a number that a dial could turn."""
        if "stations" not in self.drill.document:
            for name in AIMS:
                if getattr(self.drill.aim, name) is not None and not self.drill.stock:
                    yield f"aim.{name}"
        for name in type(self.drill.settings).model_fields:
            value = getattr(self.drill.settings, name)
            if isinstance(value, int | Decimal) and not isinstance(value, bool):
                yield f"settings.{name}"

    def _field(self, field: str, label: str, value: str, about: str = "") -> Item:
        """A row for a field by its name in a file."""
        ask = AskItem(
            label,
            value,
            lambda typed: self._keep(self._with(field, typed)),
            lambda typed: _why(lambda: self._with(field, typed)),
            about,
        )
        return Item(field, label, value or "-", about, ask=ask)

    def _typed(
        self,
        id: str,
        label: str,
        value: str,
        path: FieldPath,
        read: Callable[[str], Any] = str,
    ) -> Item:
        """A row for a field that no `--set` reaches."""

        def made(typed: str) -> Drill:
            return self._edited({path: read(typed) if typed.strip() else None})

        ask = AskItem(
            label,
            value,
            lambda typed: self._keep(made(typed)),
            lambda typed: _why(lambda: made(typed)),
        )
        return Item(id, label, value or "-", ask=ask)

    def _club(self, field: str, label: str, now: str | None, none: str = "") -> Item:
        ids = [*([""] if none else []), *CLUBS]
        shown = none if now is None else words.club(now)
        return Item(field, label, shown, turn=partial(self._turn, field, ids, now or ""))

    def _turn(self, field: str, values: Sequence[str], now: str, by: int) -> None:
        try:
            self._keep(self._with(field, turned(values, now, by)))
        except BadDrill as error:
            self.say(_line(error))

    # ---- the drill as it is made ----

    def _with(self, field: str, typed: str) -> Drill:
        changed = self.drill.with_set([f"{field}={typed.strip().replace(',', '.')}"])
        return making.from_document(changed, changed.document)

    def _edited(self, changes: dict[FieldPath, Any]) -> Drill:
        document: dict[str, Any] = copy.deepcopy(dict(self.drill.document))
        for path, value in changes.items():
            put(document, path, value)
        return making.from_document(self.drill, document)

    def _dialled(self, field: str | None) -> None:
        """Turn another number from now on, between half and double of what it is."""
        if field is None:
            self._keep(self._edited({("dial",): None}))
            return
        table, _, name = field.partition(".")
        source = self.drill.aim if table == "aim" else self.drill.settings
        now = int(getattr(source, name)) or 1
        dials = (
            {"field": field, "from": low, "to": high, "step": 1}
            for low, high in ((max(now // 2, 1), now * 2), (now, now * 2), (now, now + 1))
        )
        found: BadDrill | None = None
        for dial in dials:
            try:
                self._keep(self._edited({("dial",): dial}))
            except BadDrill as error:
                found = error
            else:
                return
        if found is not None:
            self.say(_line(found))

    def _keep(self, drill: Drill) -> None:
        if self.drill.dial is not None and drill.dial is None and "dial" in self.drill.document:
            self.say("nothing makes it harder or easier now: the value lies beyond that")
        else:
            self.say()
        self.drill = drill.worded(self.base)
        self.show()

    def _changes(self) -> str:
        if not self.own:
            return "with records of its own"
        same = self.drill.fingerprint == self.base.fingerprint
        return "its records go on" if same else "with new records: it counts as another drill"

    # ---- keys ----

    def action_gap(self) -> None:
        """Take the width of a gap of your range."""
        found = gaps.of(self.drillrunner, self.drill)
        if not found:
            self.say("no gap of a range serves it")
            return
        unit = self.drill.unit
        rows = [
            (str(at), f"{text(gap.whole)} {unit}: {gap.name}", profile.title)
            for at, (profile, gap) in enumerate(found)
        ]

        def answered(choice: str | None) -> None:
            if choice is not None:
                self._take(lambda: gaps.through(self.drill, found[int(choice)][1]))

        self.app.push_screen(Choice("Whose width?", rows), answered)

    def action_width(self) -> None:
        """Take the width that was worked out last."""
        worked = self.drillrunner.worked_out
        if worked is None:
            self.say(f"no width was worked out yet: {FACES['width']} at home does that")
        else:
            wide = max(round(worked.value), 1)
            error = round((worked.high - worked.low) / 2)
            self._take(
                lambda: self.drill.with_set([f"aim.width={wide}", f"aim.width_error={error}"])
            )

    def _take(self, make: Callable[[], Drill]) -> None:
        try:
            drill = make()
            self._keep(making.from_document(drill, drill.document))
        except BadDrill as error:
            self.say(_line(error))

    # ---- done ----

    def unsaved(self) -> Callable[[], None] | None:
        return self._save if self.drill.document != self._at_first.document else None

    def _save(self) -> None:
        if self.own and self.drill.fingerprint != self.base.fingerprint:
            self.drillrunner.records.with_store(lambda _: self._ask_about_records())
        else:
            self._write()

    def _ask_about_records(self) -> None:
        player, store = self.drillrunner.player, self.drillrunner.records.store
        best = None
        if player is not None and store is not None:
            best = store.best(player.id, self.base.fingerprint)
        kept = (
            "It has no record yet." if best is None else f"Your best of {text(best.score)} stays."
        )
        said = f"As it is now it counts as another drill, with records of its own. {kept}"

        def answered(choice: str | None) -> None:
            if choice == "save":
                self._write()

        rows = [("save", "Save it so", "the runs so far stay with it as it was")]
        self.app.push_screen(Choice(self.drill.title, rows, said), answered)

    def _write(self) -> None:
        drills = self.drillrunner.drills
        id = self.base.id if self.own else making.free_id(self.drill.title, drills.catalogue)
        try:
            drill = self._edited({("id",): id})
            file = making.write(drill, self.drillrunner.clock())
        except BadDrill as error:
            self.say(_line(error))
            return
        except OSError as error:
            self.say(f"{error.filename}: not written: {error.strerror}")
            return
        self._leave(f"{drill.title} is yours now: {file.name}")

    def _remove(self) -> None:
        try:
            aside = making.set_aside(making.drill_file(self.base.id), self.drillrunner.clock())
        except OSError as error:
            self.say(f"{error.filename}: not moved: {error.strerror}")
            return
        self._leave(f"{self.base.title} is taken away; its file is kept as {aside.name}")

    def _leave(self, said: str) -> None:
        app = self.drillrunner
        app.drills.read_anew()
        app.pop_screen()
        app.say(said)


def _called(field: str) -> str:
    name = field.rpartition(".")[2]
    known = {**{aim: aim for aim in AIMS}, **SETTINGS}
    return known.get(name, name.replace("_", " ")).lower()


def _said(value: Any) -> str:
    if value is None:
        return ""
    return text(value) if isinstance(value, int | Decimal) else str(value)


def _number(typed: str) -> Any:
    try:
        return plain(Decimal(typed.strip().replace(",", ".")))
    except ArithmeticError:
        return typed


def _choices(annotation: Any) -> tuple[str, ...]:
    return get_args(annotation) if get_origin(annotation) is Literal else ()


def _why(make: Callable[[], Drill]) -> str | None:
    """Why a drill can't be made so; `None` where it can."""
    try:
        make()
    except BadDrill as error:
        return _line(error)
    except ValueError:
        return "expected a whole number"
    return None


def _line(error: BadDrill) -> str:
    first = error.problems[0]
    return f"{_called(first.field)}: {first.reason}" if first.field else first.reason
