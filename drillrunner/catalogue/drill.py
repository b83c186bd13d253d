"""A drill: a game, its settings, a club and an aim, checked in every field."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_FLOOR, Decimal
from functools import cached_property
from math import isfinite
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, Field, ValidationError

from drillrunner.catalogue import places
from drillrunner.catalogue.clubs import swing_title
from drillrunner.catalogue.errors import BadDrill as BadDrill
from drillrunner.catalogue.errors import NeedsStock as NeedsStock
from drillrunner.catalogue.fields import (
    IDENTIFIER,
    Fault,
    Faulty,
    Problem,
    Strict,
    Title,
    prose,
    reasons,
)
from drillrunner.catalogue.settable import get, locate, locate_in, put, value_of
from drillrunner.catalogue.stations import (
    MOST,
    STOCK,
    AimFields,
    GridField,
    StationFields,
    Swing,
    aim_setting,
    clubs_named,
    first_club,
    misfits,
    path_of,
    station_setting,
    stations_of,
    unstocked,
    with_stand_in,
)
from drillrunner.catalogue.tomltext import unreal
from drillrunner.rules.game import AnyGame
from drillrunner.rules.outcome import Asks
from drillrunner.rules.settings import Distance, IsDistance, IsOnGreen, PositiveDistance, Settings
from drillrunner.rules.shot import Aim
from drillrunner.rules.station import HOLING, Station
from drillrunner.rules.units import FEET_IN_A_YARD, Unit, convert, plain, text, whole

SET = "--set"

Place = Literal["bay", "green"]


@dataclass(frozen=True, slots=True)
class Dial:
    """The setting that makes a drill easier or harder: its dotted name, ends and step."""

    field: str
    low: Decimal
    high: Decimal
    step: Decimal

    def reaches(self, value: Decimal) -> bool:
        """Whether the dial has a step at this value."""
        return self.low <= value <= self.high and (value - self.low) % self.step == 0


@dataclass(frozen=True)
class Drill:
    """One thing to do at the bay, complete and checked.

    Distances are in `unit`. stations: what its balls are asked to do, one or several. stocks: of
    each, whether its aim is at the player's stock carry, to be filled in by `with_stock`. balls,
    minutes: what it takes, roughly. document: the fields as they were written. known_clubs: the
    clubs that it may name; `None` is any.
    """

    id: str
    title: str
    about: str
    stations: tuple[Station, ...]
    stocks: tuple[bool, ...]
    settings: Settings
    between: str | None
    unit: Unit
    dial: Dial | None
    balls: int | None
    minutes: int | None
    game_class: type[AnyGame]
    game_hash: str
    source: str
    document: Mapping[str, Any] = field(repr=False, compare=False)
    known_clubs: frozenset[str] | None = field(default=None, repr=False, compare=False)

    @property
    def club(self) -> str:
        """The club of the first ball."""
        return self.stations[0].club

    @property
    def swing(self) -> str:
        """The swing of the first ball."""
        return self.stations[0].swing

    @property
    def aim(self) -> Aim:
        """The aim of the first ball."""
        return self.stations[0].aim

    @property
    def grid(self) -> Decimal:
        """The step on which numbers are read at the first ball."""
        return self.stations[0].grid

    @property
    def where(self) -> Place:
        """Where it is played: `green` if every ball of it is played to the hole, else the bay."""
        return "green" if all(s.asks in HOLING for s in self.stations) else "bay"

    @property
    def stock(self) -> bool:
        """Whether a carry is still to be filled in."""
        return any(self.stocks)

    @property
    def wants(self) -> tuple[tuple[str, str], ...]:
        """The clubs and swings whose stock carries it is aimed at, each once."""
        pairs = zip(self.stations, self.stocks, strict=True)
        return tuple(dict.fromkeys((s.club, s.swing) for s, stock in pairs if stock))

    def game(self) -> AnyGame:
        """The game as this drill sets it. Raises NeedsStock if a carry is not filled in."""
        for club, swing in self.wants:
            where = "aim.carry" if len(self.stations) == 1 else "the carry of its stations"
            named = swing_title(club, swing)
            raise NeedsStock(f"{self.id}: first find your stock carry ({named}), or set {where}")
        first = self.stations[0]
        return self.game_class(self.settings, first.aim, first.grid, self.unit, self.stations)

    def setting(self) -> dict[str, Any]:
        """What the fingerprint covers, ready for JSON; settings left at their default are out."""
        setting: dict[str, Any] = {
            "game": self.game_class.id,
            "settings": self.settings.model_dump(mode="json", exclude_defaults=True),
            "aim": aim_setting(self.aim, self.stocks[0]),
            "club": self.club,
            "between": self.between,
            "unit": self.unit,
            "grid": plain(self.grid),
        }
        if self.stations[0].asks != self.game_class.asks:
            setting["asks"] = self.stations[0].asks
        if len(self.stations) > 1:
            setting["stations"] = [
                station_setting(station, stock, self.game_class)
                for station, stock in zip(self.stations, self.stocks, strict=True)
            ]
        return setting

    @cached_property
    def fingerprint(self) -> str:
        """The name of this drill as it is set, sha256 in hex: another width is another record."""
        return hashlib.sha256(_canonical(self.setting()).encode()).hexdigest()

    def as_set(self) -> str:
        """The whole drill as canonical JSON with every setting filled in."""
        return _canonical(self._resolved())

    def with_set(self, pairs: Sequence[str]) -> Drill:
        """This drill with fields set by `FIELD=VALUE`. Raises BadDrill, as for a file.

        A drill that is set to where its dial does not reach has no dial.
        """
        if not pairs:
            return self
        document: dict[str, Any] = copy.deepcopy(dict(self.document))
        problems = []
        for pair in pairs:
            name, equals, typed = pair.partition("=")
            name = name.strip()
            try:
                if not equals:
                    raise ValueError("expected FIELD=VALUE")
                path = locate_in(document, name, self.game_class.Settings, ("", "aim", "settings"))
            except ValueError as error:
                problems.append(Problem(SET, None, name or None, str(error)))
                continue
            value = value_of(typed.strip(), path)
            put(document, path, value)
            if (
                self.dial is not None
                and ".".join(path) == self.dial.field
                and _off(self.dial, value)
            ):
                document.pop("dial", None)
        if problems:
            raise BadDrill(problems)
        return self._rebuilt(document, SET).worded(self)

    def with_value(self, field: str, value: Decimal) -> Drill:
        """This drill with one number changed: the dial turned. Raises BadDrill."""
        return self._with_number(field, value).worded(self)

    def _with_number(self, field: str, value: Decimal) -> Drill:
        document = copy.deepcopy(dict(self.document))
        path = locate_in(document, field, self.game_class.Settings, ("aim", "settings"))
        put(document, path, plain(value))
        return self._rebuilt(document, field)

    @property
    def own(self) -> bool:
        """Whether it lies in the user's own folder, made here or by hand."""
        return Path(self.source).parent == places.games_dir()

    def worded(self, base: Drill) -> Drill:
        """This drill, which was made of `base`, with what its game is about, where the words of
        somebody else's drill speak of what it was before.
        """
        if base.own or self.about != base.about or self.fingerprint == base.fingerprint:
            return self
        about = self.game_class.summary
        return replace(self, about=about, document={**self.document, "about": about})

    def with_stock(
        self,
        carry: Decimal,
        unit: Unit | None = None,
        of: tuple[str, str] | None = None,
    ) -> Drill:
        """This drill aimed at a stock carry. Raises BadDrill.

        unit: the carry's, if it may be another than the drill's; it becomes the nearest whole one.
        of: the club and swing whose carry it is; those of the first ball unless given.
        """
        if unit is not None:
            carry = whole(convert(carry, unit, self.unit))
        if "stations" not in self.document:
            return self._with_number("aim.carry", carry)
        document = copy.deepcopy(dict(self.document))
        for own, station, stock in zip(
            document["stations"], self.stations, self.stocks, strict=True
        ):
            if stock and (station.club, station.swing) == (of or (self.club, self.swing)):
                own.setdefault("aim", {})["carry"] = plain(carry)
        return self._rebuilt(document, "aim.carry")

    def with_swing(self, swing: str) -> Drill:
        """This drill with another swing, the same at every station."""
        stations = tuple(replace(station, swing=swing) for station in self.stations)
        return replace(self, stations=stations, document=self._swung(swing))

    def _swung(self, swing: str) -> dict[str, Any]:
        document = copy.deepcopy(dict(self.document))
        for table in (document, *document.get("stations", ())):
            table["swing"] = swing
        return document

    def in_unit(self, unit: Unit) -> Drill:
        """This drill in another unit: every distance to its nearest whole, the grid kept.

        A drill that its game does not take so (a limit of its own, say) stays in its unit.
        """
        if unit == self.unit:
            return self

        def other(value: Any, green: bool = False) -> Any:
            if not isinstance(value, int | float):
                return value
            number = Decimal(str(value))
            if green:
                number = number / FEET_IN_A_YARD if self.unit == "yd" else number * FEET_IN_A_YARD
            near = whole(convert(number, self.unit, unit))
            return plain(max(near, Decimal(1)) if value else near)

        document = {**self._resolved(), "unit": unit}
        top_lie = document.get("aim", {}).get("lie")
        for table in (document, *document.get("stations", ())):
            if "aim" in table:
                green = table["aim"].get("lie", top_lie) == "green"
                table["aim"] = {
                    name: other(value, green and name == "length")
                    for name, value in table["aim"].items()
                }
        distances = _marked(type(self.settings), IsDistance)
        on_green = _marked(type(self.settings), IsOnGreen)
        document["settings"] = {
            name: other(value, name in on_green) if name in distances | on_green else value
            for name, value in document["settings"].items()
        }
        if self.dial is not None and (kind := self._dialled()) != "number":
            ends = ("from", "to", "step")
            dial = {name: other(document["dial"][name], kind == "green") for name in ends}
            start = get(document, tuple(self.dial.field.split(".")))
            # Each end rounds by itself: start from the setting, so that it stays on a step.
            dial["from"] = start - (start - dial["from"]) // dial["step"] * dial["step"]
            dial["to"] = max(dial["to"], dial["from"] + dial["step"])
            document["dial"] = {"field": self.dial.field, **dial}
        try:
            return self._rebuilt(document, self.source)
        except BadDrill:
            return self

    def _dialled(self) -> Literal["number", "distance", "green"]:
        """What the dial turns: a distance, one on the green, or another number."""
        assert self.dial is not None
        table, name = self.dial.field.split(".")
        settings = type(self.settings)
        if name in _marked(settings, IsOnGreen) if table == "settings" else name == "length":
            return "green" if table == "settings" or self.aim.lie == "green" else "distance"
        return "distance" if table == "aim" or name in _marked(settings, IsDistance) else "number"

    def _resolved(self) -> dict[str, Any]:
        document = {
            "id": self.id,
            "title": self.title,
            "about": self.about,
            "swing": self.swing,
            **self.setting(),
            "settings": self.settings.model_dump(mode="json"),
        }
        if self.aim.width_error is not None:
            document["aim"] = {**document["aim"], "width_error": plain(self.aim.width_error)}
        if "stations" in self.document:
            # As it was written, so that what its stations share can still be set for all.
            for name in ("aim", "club", "swing", "grid", "asks"):
                document.pop(name, None)
                if name in self.document:
                    document[name] = self.document[name]
            document["stations"] = self.document["stations"]
            document = copy.deepcopy(document)
        if self.between is None:
            del document["between"]
        if self.dial is not None:
            dial = self.dial
            document["dial"] = {
                "field": dial.field,
                "from": plain(dial.low),
                "to": plain(dial.high),
                "step": plain(dial.step),
            }
        takes = {"balls": self.balls, "minutes": self.minutes}
        document["takes"] = {name: value for name, value in takes.items() if value is not None}
        return document

    def _rebuilt(self, document: Mapping[str, Any], file: str) -> Drill:
        try:
            return build(
                document, lambda _: (self.game_class, self.game_hash), self.known_clubs, self.source
            )
        except Faulty as error:
            raise BadDrill(
                Problem(file, None, ".".join(path) or None, reason) for path, reason in error.faults
            ) from None


def from_stored(as_set: str, game_class: type[AnyGame], game_hash: str) -> Drill:
    """The drill that `as_set` described. Raises BadDrill if it does not fit the game any more."""
    where = "stored drill"
    try:
        document = json.loads(as_set)
        return build(document, lambda _: (game_class, game_hash), None, where)
    except Faulty as error:
        raise BadDrill(
            Problem(where, None, ".".join(path) or None, reason) for path, reason in error.faults
        ) from None
    except ValueError as error:
        raise BadDrill([Problem(where, None, None, f"expected JSON: {error}")]) from None


class _DialFields(Strict):
    field: str
    low: Distance = Field(alias="from")
    high: Distance = Field(alias="to")
    step: PositiveDistance


class _Takes(Strict):
    balls: int | None = Field(default=None, ge=1, le=500)
    minutes: int | None = Field(default=None, ge=1, le=240)


class _Document(Strict):
    """The fields of a drill file; `settings` are the game's to check."""

    id: str = Field(max_length=60, pattern=IDENTIFIER)
    title: Title
    about: Annotated[str, Field(max_length=600), AfterValidator(prose)] = ""
    game: str
    club: str
    swing: Swing = "full"
    asks: Asks | None = None
    between: str | None = None
    unit: Unit = "yd"
    grid: GridField | None = None
    aim: AimFields = AimFields()
    stations: Annotated[list[StationFields], Field(max_length=MOST)] = Field(default_factory=list)
    settings: dict[str, Any] = Field(default_factory=dict)
    dial: _DialFields | None = None
    takes: _Takes = _Takes()


STAND_INS = {"id": "x", "title": "x", "game": "x", "club": "x"}

FindGame = Callable[[str], tuple[type[AnyGame], str]]
"""From a game's id to its class and the hash of its file. Raises LookupError with the reason."""


def build(
    document: Mapping[str, Any], find: FindGame, clubs: Collection[str] | None, source: str
) -> Drill:
    """The drill that a document describes. Raises Faulty with every fault, not the first."""
    raw = dict(document) if isinstance(document, Mapping) else {}
    if "course" in raw:
        # Courses and the table of strokes are read only where a drill needs them.
        from drillrunner.catalogue.tee_shots import resolved

        raw = resolved(raw)
    faults: list[Fault] = [(path, "expected a finite number") for path in unreal(raw)]
    readable, stocks = unstocked(raw)
    fields, wrong = _fields(readable)
    faults += [*wrong, *clubs_named(raw, clubs)]

    game_class, game_hash, settings, dial = None, "", None, None
    if isinstance(raw.get("game"), str):
        try:
            game_class, game_hash = find(raw["game"])
        except LookupError as error:
            faults.append((("game",), str(error.args[0])))
    try:
        if game_class is not None and isinstance(raw.get("settings", {}), dict):
            settings = _settings(game_class, raw.get("settings", {}))
        if fields is not None and game_class is not None and settings is not None:
            wrong = list(misfits(fields, game_class))
            faults += wrong
            if not wrong:
                _fit(game_class, settings, fields, stocks, raw)
                dial = _dial(game_class, settings, fields, stocks, raw)
    except Faulty as error:
        faults += error.faults
    if faults or fields is None or game_class is None or settings is None:
        raise Faulty(faults)
    return Drill(
        id=fields.id,
        title=fields.title,
        about=fields.about,
        stations=stations_of(fields, game_class),
        stocks=stocks,
        settings=settings,
        between=fields.between,
        unit=fields.unit,
        dial=dial,
        balls=fields.takes.balls,
        minutes=fields.takes.minutes,
        game_class=game_class,
        game_hash=game_hash,
        source=source,
        document=raw,
        known_clubs=None if clubs is None else frozenset(clubs),
    )


def _fields(raw: Mapping[str, Any]) -> tuple[_Document | None, list[Fault]]:
    """The fields and their faults; with faults that leave the game and its aim alone, both.

    Those let the settings and the dial be checked too, so that no fault hides another.
    """
    if "club" not in raw and (club := first_club(raw)) is not None:
        raw = {**raw, "club": club}
    try:
        return _Document.model_validate(raw), []
    except ValidationError as error:
        faults = list(reasons(error, _Document, ()))
    wrong = {path[0] for path, _ in faults}
    if wrong & {"aim", "settings", "unit", "grid", "asks", "stations"}:
        return None, faults
    right = {name: value for name, value in raw.items() if name not in wrong}
    return _Document.model_validate({**STAND_INS, **right}), faults


def _fit(
    game_class: type[AnyGame],
    settings: Settings,
    fields: _Document,
    stocks: Sequence[bool],
    raw: Mapping[str, Any],
) -> None:
    """Raise Faulty if the settings and the aims do not make sense together."""
    stations = with_stand_in(stations_of(fields, game_class), stocks)
    first = stations[0]
    try:
        game = game_class(settings, first.aim, first.grid, fields.unit, stations)
        found = dict(game.faults())
    except Exception as error:
        raise Faulty([(("game",), f"the game raised {type(error).__name__}: {error}")]) from None
    if found:
        named = type(settings).model_fields
        raise Faulty([(path_of(name, named, raw), reason) for name, reason in found.items()])


def _dial(
    game_class: type[AnyGame],
    settings: Settings,
    fields: _Document,
    stocks: Sequence[bool],
    raw: Mapping[str, Any],
) -> Dial | None:
    """The checked dial: its start lies on a step between ends that the drill can be set to."""
    dial = fields.dial
    if dial is None:
        return None
    try:
        table, field = path = locate(dial.field, game_class.Settings, ("aim", "settings"))
    except ValueError as error:
        raise Faulty([(("dial", "field"), str(error))]) from None
    name = ".".join(path)
    own_aims = [own.aim.model_fields_set for own in fields.stations]
    if table == "aim" and own_aims and all(field in said for said in own_aims):
        reason = f"expected a field that the stations share, and each says its own {name}"
        raise Faulty([(("dial", "field"), reason)])
    start = getattr(fields.aim if table == "aim" else settings, field)
    if isinstance(start, bool) or not isinstance(start, int | Decimal):
        reason = f"expected a field with a number, and {name} has none here"
        raise Faulty([(("dial", "field"), reason)])
    if dial.low >= dial.high:
        raise Faulty([(("dial", "to"), f"expected more than from ({text(dial.low)})")])
    if not dial.low <= start <= dial.high:
        ends = f"{text(dial.low)} to {text(dial.high)}"
        raise Faulty([(path, f"expected {ends}, as far as the dial goes, not {text(start)}")])
    if (start - dial.low) % dial.step:
        steps = f"steps of {text(dial.step)} from {text(dial.low)}"
        raise Faulty([(path, f"expected {steps}, as the dial goes, not {text(start)}")])
    faults: list[Fault] = []
    steps_up = ((dial.high - dial.low) / dial.step).to_integral_value(ROUND_FLOOR)
    for end, value in (("from", dial.low), ("to", dial.low + steps_up * dial.step)):
        try:
            if table == "aim":
                turned = fields.aim.model_dump() | {field: value}
                there = fields.model_copy(update={"aim": AimFields.model_validate(turned)})
                _fit(game_class, settings, there, stocks, raw)
            else:
                values = fields.settings | {field: plain(value)}
                turned_settings = _settings(game_class, values)
                _fit(game_class, turned_settings, fields, stocks, raw)
        except (Faulty, ValidationError) as error:
            wrong = error.faults if isinstance(error, Faulty) else [*reasons(error, AimFields, ())]
            faults.append((("dial", end), f"{name} can't be {text(value)}: {wrong[0][1]}"))
    if faults:
        raise Faulty(faults)
    return Dial(name, dial.low, dial.high, dial.step)


def _settings(game_class: type[AnyGame], raw: Mapping[str, Any]) -> Settings:
    """The game's settings, read as JSON so that strict fields take lists and names too."""
    faults: list[Fault] = []
    for name, value in raw.items():
        try:
            json.dumps(value)
        except (TypeError, ValueError, RecursionError):
            faults.append((("settings", name), "expected a plain number, text, list or table"))
    if faults:
        raise Faulty(faults)
    try:
        return game_class.Settings.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        raise Faulty(list(reasons(error, game_class.Settings, ("settings",)))) from None
    except Exception as error:
        reason = f"the game raised {type(error).__name__}: {error}"
        raise Faulty([(("settings",), reason)]) from None


def _off(dial: Dial, value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return value is None or value == STOCK
    return not dial.reaches(Decimal(str(value)))


def _marked(settings: type[Settings], kind: type[IsDistance | IsOnGreen]) -> set[str]:
    """The names of the settings that are distances of a kind, optional ones too."""

    def marked(annotation: Any) -> bool:
        return isinstance(annotation, kind) or any(map(marked, get_args(annotation)))

    return {
        name
        for name, info in settings.model_fields.items()
        if any(isinstance(mark, kind) for mark in info.metadata) or marked(info.annotation)
    }


def _canonical(document: Mapping[str, Any]) -> str:
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
