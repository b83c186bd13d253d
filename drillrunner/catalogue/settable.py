"""The fields of a drill's document by name: where each lies, and what a typed value means."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from drillrunner.catalogue.stations import AimFields
from drillrunner.catalogue.tomltext import FieldPath
from drillrunner.rules.settings import Settings

TEXT_FIELDS = ("club", "between", "unit", "swing", "asks")
SETTABLE = (*TEXT_FIELDS, "grid")
AIMED = tuple(f"aim.{name}" for name in AimFields.model_fields)
STATIONED = ("title", "club", "swing", "asks", "grid", *AIMED)


IN_FULL = (("aim", "length"), ("aim", "lie"))
"""Fields that go by their full name alone: a bare `length` was a setting before there was another.
"""


def locate(name: str, settings: type[Settings], tables: Sequence[str]) -> FieldPath:
    """The path of a dotted or bare field name. Raises ValueError if it is unknown or ambiguous.

    tables: where to look, of `""` (the top level), `aim` and `settings`.
    """
    fields: dict[str, Collection[str]] = {
        "": SETTABLE,
        "aim": AimFields.model_fields,
        "settings": settings.model_fields,
    }
    paths = [(*((table,) if table else ()), field) for table in tables for field in fields[table]]
    found = [path for path in paths if ".".join(path) == name]
    found = found or [path for path in paths if path[-1] == name and path not in IN_FULL]
    if len(found) == 1:
        return found[0]
    names = [".".join(path) for path in paths]
    if found:
        both = " or ".join(".".join(path) for path in found)
        raise ValueError(f"expected {both}")
    raise ValueError(f"unknown field: expected one of {', '.join(names)}")


def locate_in(
    document: Mapping[str, Any], name: str, settings: type[Settings], tables: Sequence[str]
) -> FieldPath:
    """As `locate`, in this document: `stations.0.aim.carry` too, a station's own word.

    A field that every station says for itself is not found at the top: there it would do nothing.
    """
    stations = document.get("stations") or []
    first, *rest = name.split(".")
    if first == "stations" and len(rest) >= 2 and rest[0].isdecimal():
        if int(rest[0]) >= len(stations):
            raise ValueError(f"expected a station from 0 to {len(stations) - 1}")
        inner = ".".join(rest[1:])
        if inner not in STATIONED:
            raise ValueError(f"unknown field: expected one of {', '.join(STATIONED)}")
        return ("stations", rest[0], *rest[1:])
    path = locate(_whole(document, name), settings, tables)
    if stations and all(isinstance(own, Mapping) and _says(own, path) for own in stations):
        raise ValueError(f"expected stations.0.{'.'.join(path)}: every station says its own")
    return path


def _whole(document: Mapping[str, Any], name: str) -> str:
    """A bare name with its table, where one table of the document alone says it."""
    says = [
        table
        for table in ("aim", "settings")
        if isinstance(document.get(table), Mapping) and name in document[table]
    ]
    return f"{says[0]}.{name}" if len(says) == 1 and name not in document else name


def _says(own: Mapping[str, Any], path: FieldPath) -> bool:
    aim = own.get("aim")
    if path[0] == "aim":
        return isinstance(aim, Mapping) and path[1] in aim
    return path[0] in own


def value_of(typed: str, path: FieldPath) -> Any:
    """What a `--set` value means: TOML if it is, else text; empty is unset (`None`)."""
    if not typed:
        return None
    try:
        parsed = tomllib.loads(f"v = {typed}")
    except (ValueError, RecursionError):
        return typed
    value = parsed.get("v")
    if len(parsed) != 1 or (path[-1] in TEXT_FIELDS and not isinstance(value, str)):
        return typed
    return value


def put(document: dict[str, Any], path: FieldPath, value: Any) -> None:
    """Set a field of a document; `None` takes it out."""
    table: Any = document
    for name in path[:-1]:
        table = table[int(name)] if isinstance(table, list) else table.setdefault(name, {})
    if value is None:
        table.pop(path[-1], None)
    else:
        table[path[-1]] = value


def get(document: Mapping[str, Any], path: FieldPath) -> Any:
    """What a document says in a field."""
    for name in path:
        document = document[name]
    return document
