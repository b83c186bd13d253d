"""Plain text and JSON on standard output."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from unicodedata import east_asian_width

from pydantic import BaseModel

from drillrunner.catalogue.drill_words import club
from drillrunner.catalogue.drill_words import setting as setting_of
from drillrunner.catalogue.escapes import escaped
from drillrunner.cli.terminal import put
from drillrunner.rules.units import plain, text


def put_json(document: Any) -> None:
    """Print one JSON document."""
    put(as_json(document))


def as_json(document: Any) -> str:
    """JSON text; decimals as numbers, never rounded; times as ISO 8601 with offset.

    Control characters stand in it as JSON writes them, so that a terminal can show it too.
    """
    return escaped(json.dumps(document, ensure_ascii=False, indent=2, default=_plain), lines=True)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, datetime):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json", exclude_none=True)
    raise TypeError(f"no JSON for {type(value).__name__}")


def shown_value(value: Any) -> str:
    """A value as a person reads it, on one line; a dash where there is none."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return text(value) if isinstance(value, Decimal | int | float) else escaped(str(value))


def table(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Aligned columns under their heads; columns of numbers stand to the right."""
    body = [list(row) for row in rows]
    right = [
        all(isinstance(row[at], Decimal | int | float | None) for row in body)
        for at in range(len(heads))
    ]
    lines = [list(heads), *([shown_value(value) for value in row] for row in body)]
    widths = [max(width(line[at]) for line in lines) for at in range(len(heads))]
    return "\n".join(
        "  ".join(
            pad(cell, size, flush) for cell, size, flush in zip(line, widths, right, strict=True)
        ).rstrip()
        for line in lines
    )


def labelled(values: Mapping[str, Any]) -> str:
    """Labels and values, one a line, the values aligned."""
    size = max(map(width, values), default=0)
    return "\n".join(f"{pad(label, size)}  {shown_value(value)}" for label, value in values.items())


def width(line: str) -> int:
    """Columns that a line takes in a terminal."""
    return sum(2 if east_asian_width(char) in "WF" else 1 for char in line)


def pad(line: str, size: int, right: bool = False) -> str:
    """A line filled up with blanks to a number of columns."""
    blanks = " " * (size - width(line))
    return blanks + line if right else line + blanks


def setting_words(setting: Mapping[str, Any]) -> str:
    """A drill as it is set, and its club: `40 yd wide · 3 lives · Driver`."""
    return f"{setting_of(setting)} · {club(setting['club'])}"
