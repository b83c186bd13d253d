"""A drill: a game, its settings, a club and an aim, checked in every field."""

from __future__ import annotations

import copy
import hashlib
import json
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_FLOOR, Decimal
from functools import cached_property
from math import isfinite
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, Field, ValidationError

from drillrunner.catalogue.errors import BadDrill as BadDrill
from drillrunner.catalogue.errors import NeedsStock as NeedsStock
from drillrunner.catalogue.fields import (
    IDENTIFIER,
    Fault,
    Faulty,
    Problem,
    Strict,
    Title,
    line,
    prose,
    reasons,
    unknown_club,
)
from drillrunner.catalogue.tomltext import FieldPath, unreal
from drillrunner.rules.game import AnyGame, Settings
from drillrunner.rules.shot import Aim, Distance, IsDistance, PositiveDistance
from drillrunner.rules.units import Unit, convert, plain, text, whole

STOCK = "stock"
SET = "--set"


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

    Distances are in `unit`. balls, minutes: what it takes, roughly. stock: the aim's carry is the
    player's stock carry, to be filled in by `with_stock`. document: the fields as they were
    written. known_clubs: the clubs that it may name; `None` is any.
    """

    id: str
    title: str
    about: str
    club: str
    swing: str
    aim: Aim
    stock: bool
    settings: Settings
    between: str | None
    unit: Unit
    grid: Decimal
    dial: Dial | None
    balls: int | None
    minutes: int | None
    game_class: type[AnyGame]
    game_hash: str
    source: str
    document: Mapping[str, Any] = field(repr=False, compare=False)
    known_clubs: frozenset[str] | None = field(default=None, repr=False, compare=False)

    def game(self) -> AnyGame:
        """The game as this drill sets it. Raises NeedsStock if the carry is not filled in."""
        if self.stock:
            raise NeedsStock(
                f"{self.id}: first find your stock carry with {self.club} ({self.swing}), "
                "or set aim.carry"
            )
        return self.game_class(self.settings, self.aim, self.grid, self.unit)

    def setting(self) -> dict[str, Any]:
        """What the fingerprint covers, ready for JSON; settings left at their default are out."""
        return {
            "game": self.game_class.id,
            "settings": self.settings.model_dump(mode="json", exclude_defaults=True),
            "aim": self._aim(),
            "club": self.club,
            "between": self.between,
            "unit": self.unit,
            "grid": plain(self.grid),
        }

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
        document: dict[str, Any] = copy.deepcopy(dict(self.document))
        problems = []
        for pair in pairs:
            name, equals, typed = pair.partition("=")
            name = name.strip()
            try:
                if not equals:
                    raise ValueError("expected FIELD=VALUE")
                path = locate(name, self.game_class.Settings, ("", "aim", "settings"))
            except ValueError as error:
                problems.append(Problem(SET, None, name or None, str(error)))
                continue
            value = _value(typed.strip(), path)
            _put(document, path, value)
            if (
                self.dial is not None
                and ".".join(path) == self.dial.field
                and _off(self.dial, value)
            ):
                document.pop("dial", None)
        if problems:
            raise BadDrill(problems)
        return self._rebuilt(document, SET)

    def with_value(self, field: str, value: Decimal) -> Drill:
        """This drill with one number changed: the dial turned. Raises BadDrill."""
        document = copy.deepcopy(dict(self.document))
        path = locate(field, self.game_class.Settings, ("aim", "settings"))
        _put(document, path, plain(value))
        return self._rebuilt(document, field)

    def with_stock(self, carry: Decimal, unit: Unit | None = None) -> Drill:
        """This drill aimed at a stock carry. Raises BadDrill.

        unit: the carry's, if it may be another than the drill's; it becomes the nearest whole one.
        """
        if unit is not None:
            carry = whole(convert(carry, unit, self.unit))
        return self.with_value("aim.carry", carry)

    def in_unit(self, unit: Unit) -> Drill:
        """This drill in another unit: every distance to its nearest whole, the grid kept.

        A drill that its game does not take so (a limit of its own, say) stays in its unit.
        """
        if unit == self.unit:
            return self

        def other(value: Any) -> Any:
            if not isinstance(value, int | float):
                return value
            near = whole(convert(Decimal(str(value)), self.unit, unit))
            return plain(max(near, Decimal(1)) if value else near)

        document = {**self._resolved(), "unit": unit}
        document["aim"] = {name: other(value) for name, value in document["aim"].items()}
        distances = _distances(type(self.settings))
        document["settings"] = {
            name: other(value) if name in distances else value
            for name, value in document["settings"].items()
        }
        if self.dial is not None and _is_distance(self.dial.field, type(self.settings)):
            dial = {name: other(document["dial"][name]) for name in ("from", "to", "step")}
            start = _get(document, tuple(self.dial.field.split(".")))
            # Each end rounds by itself: start from the setting, so that it stays on a step.
            dial["from"] = start - (start - dial["from"]) // dial["step"] * dial["step"]
            dial["to"] = max(dial["to"], dial["from"] + dial["step"])
            document["dial"] = {"field": self.dial.field, **dial}
        try:
            return self._rebuilt(document, self.source)
        except BadDrill:
            return self

    def _aim(self) -> dict[str, Any]:
        aim = self.aim.model_dump(mode="json", exclude_none=True)
        return {"carry": STOCK, **aim} if self.stock else aim

    def _resolved(self) -> dict[str, Any]:
        document = {
            "id": self.id,
            "title": self.title,
            "about": self.about,
            "swing": self.swing,
            **self.setting(),
            "settings": self.settings.model_dump(mode="json"),
        }
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
    swing: Annotated[str, Field(max_length=40), AfterValidator(line)] = "full"
    between: str | None = None
    unit: Unit = "yd"
    grid: Annotated[PositiveDistance, Field(le=50)] | None = None
    aim: Aim = Aim()
    settings: dict[str, Any] = Field(default_factory=dict)
    dial: _DialFields | None = None
    takes: _Takes = _Takes()


TEXT_FIELDS = ("club", "between", "unit", "swing")
SETTABLE = (*TEXT_FIELDS, "grid")
STAND_INS = {"id": "x", "title": "x", "game": "x", "club": "x"}
DEFAULT_GRID = {"verdict": Decimal(5), "miss": Decimal(5), "carry": Decimal(1)}

FindGame = Callable[[str], tuple[type[AnyGame], str]]
"""From a game's id to its class and the hash of its file. Raises LookupError with the reason."""


def build(
    document: Mapping[str, Any], find: FindGame, clubs: Collection[str] | None, source: str
) -> Drill:
    """The drill that a document describes. Raises Faulty with every fault, not the first."""
    raw = dict(document) if isinstance(document, Mapping) else {}
    faults: list[Fault] = [(path, "expected a finite number") for path in unreal(raw)]
    aim = raw.get("aim")
    stock = isinstance(aim, dict) and aim.get("carry") == STOCK
    if stock and isinstance(aim, dict):
        fields, wrong = _fields({**raw, "aim": {k: v for k, v in aim.items() if k != "carry"}})
    else:
        fields, wrong = _fields(raw)
    faults += wrong
    for name in ("club", "between"):
        faults += unknown_club(name, raw.get(name), clubs)

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
            _fit(game_class, settings, fields, stock)
            dial = _dial(game_class, settings, fields, stock)
    except Faulty as error:
        faults += error.faults
    if faults or fields is None or game_class is None or settings is None:
        raise Faulty(faults)
    return Drill(
        id=fields.id,
        title=fields.title,
        about=fields.about,
        club=fields.club,
        swing=fields.swing,
        aim=fields.aim,
        stock=stock,
        settings=settings,
        between=fields.between,
        unit=fields.unit,
        grid=fields.grid or DEFAULT_GRID[game_class.asks],
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
    try:
        return _Document.model_validate(raw), []
    except ValidationError as error:
        faults = list(reasons(error, _Document, ()))
    wrong = {path[0] for path, _ in faults}
    if wrong & {"aim", "settings", "unit", "grid"}:
        return None, faults
    right = {name: value for name, value in raw.items() if name not in wrong}
    return _Document.model_validate({**STAND_INS, **right}), faults


def locate(name: str, settings: type[Settings], tables: Sequence[str]) -> FieldPath:
    """The path of a dotted or bare field name. Raises ValueError if it is unknown or ambiguous.

    tables: where to look, of `""` (the top level), `aim` and `settings`.
    """
    fields: dict[str, Collection[str]] = {
        "": SETTABLE,
        "aim": Aim.model_fields,
        "settings": settings.model_fields,
    }
    paths = [(*((table,) if table else ()), field) for table in tables for field in fields[table]]
    found = [path for path in paths if ".".join(path) == name]
    found = found or [path for path in paths if path[-1] == name]
    if len(found) == 1:
        return found[0]
    names = [".".join(path) for path in paths]
    if found:
        both = " or ".join(".".join(path) for path in found)
        raise ValueError(f"expected {both}")
    raise ValueError(f"unknown field: expected one of {', '.join(names)}")


def _fit(game_class: type[AnyGame], settings: Settings, fields: _Document, stock: bool) -> None:
    """Raise Faulty if the settings and the aim do not make sense together."""
    aim = fields.aim.model_copy(update={"carry": Decimal(100)}) if stock else fields.aim
    grid = fields.grid or DEFAULT_GRID[game_class.asks]
    try:
        found = dict(game_class(settings, aim, grid, fields.unit).faults())
    except Exception as error:
        raise Faulty([(("game",), f"the game raised {type(error).__name__}: {error}")]) from None
    named = type(settings).model_fields
    if found:
        raise Faulty(
            [
                (("settings", name) if name in named else tuple(name.split(".")), reason)
                for name, reason in found.items()
            ]
        )


def _dial(
    game_class: type[AnyGame], settings: Settings, fields: _Document, stock: bool
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
                there = fields.model_copy(update={"aim": Aim.model_validate(turned)})
                _fit(game_class, settings, there, stock)
            else:
                values = fields.settings | {field: plain(value)}
                _fit(game_class, _settings(game_class, values), fields, stock)
        except (Faulty, ValidationError) as error:
            wrong = error.faults if isinstance(error, Faulty) else [*reasons(error, Aim, ())]
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


def _value(typed: str, path: FieldPath) -> Any:
    """What a `--set` value means: TOML if it is, else text; empty is unset (`None`)."""
    if not typed:
        return None
    try:
        parsed = tomllib.loads(f"v = {typed}")
    except (ValueError, RecursionError):
        return typed
    value = parsed.get("v")
    if len(parsed) != 1 or (path[0] in TEXT_FIELDS and not isinstance(value, str)):
        return typed
    return value


def _off(dial: Dial, value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return value is None or value == STOCK
    return not dial.reaches(Decimal(str(value)))


def _put(document: dict[str, Any], path: FieldPath, value: Any) -> None:
    table = document
    for name in path[:-1]:
        table = table.setdefault(name, {})
    if value is None:
        table.pop(path[-1], None)
    else:
        table[path[-1]] = value


def _get(document: Mapping[str, Any], path: FieldPath) -> Any:
    for name in path:
        document = document[name]
    return document


def _is_distance(dotted: str, settings: type[Settings]) -> bool:
    table, name = dotted.split(".")
    return table == "aim" or name in _distances(settings)


def _distances(settings: type[Settings]) -> set[str]:
    """The names of the settings that are distances, optional ones too."""

    def marked(annotation: Any) -> bool:
        return isinstance(annotation, IsDistance) or any(map(marked, get_args(annotation)))

    return {
        name
        for name, info in settings.model_fields.items()
        if any(isinstance(mark, IsDistance) for mark in info.metadata) or marked(info.annotation)
    }


def _canonical(document: Mapping[str, Any]) -> str:
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
