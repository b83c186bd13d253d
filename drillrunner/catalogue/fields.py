"""What files of fields share: a problem, a fault, strict models, and pydantic's errors in words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.tomltext import FieldPath

LONGEST_ID = 60
IDENTIFIER = r"^[a-z0-9]+(?:[-_][a-z0-9]+)*$"


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault of one file. `line` and `field` are `None` where the whole file is at fault."""

    file: str
    line: int | None
    field: str | None
    reason: str

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        return ": ".join((where, *((self.field,) if self.field else ()), self.reason))


Fault = tuple[FieldPath, str]
"""The path of a field, and what was expected there."""


class Faulty(ValueError):
    """What is wrong with a document: each field and what was expected there."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(dict.fromkeys(faults))
        super().__init__("; ".join(f"{'.'.join(path)}: {reason}" for path, reason in self.faults))


def id_for(title: str) -> str:
    """A file's id for a title: lower-case letters, digits and single dashes; `mine` for none."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return "-".join(re.findall(r"[a-z0-9]+", plain))[:LONGEST_ID].strip("-") or "mine"


def line(value: str) -> str:
    """One line of printable text, its spaces made single. Raises ValueError."""
    value = " ".join(value.split())
    if not value or not value.isprintable():
        raise ValueError("expected text that can be printed")
    return value


def prose(value: str) -> str:
    """Text in one line, or none."""
    return line(value) if value.strip() else ""


Title = Annotated[str, Field(max_length=80), AfterValidator(line)]


class Strict(BaseModel):
    """Base of the models of files: no unknown field, no value of another type."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=False)


def unknown_club(name: str, value: Any, clubs: Collection[str] | None) -> list[Fault]:
    """The fault of a club that is not one of `clubs`; `None` takes any."""
    if clubs is None or not isinstance(value, str) or value in clubs:
        return []
    close = get_close_matches(value, clubs, n=1)
    like = (
        f"did you mean {close[0]}?" if close else f"expected one of {', '.join(_in_order(clubs))}"
    )
    return [((name,), f"unknown club {shown(value)}: {like}")]


def _in_order(clubs: Collection[str]) -> list[str]:
    """The clubs as they lie in a bag, those of one's own last."""
    return sorted(clubs, key=lambda id: (CLUBS[id].order if id in CLUBS else len(CLUBS), id))


def reasons(error: ValidationError, model: type[BaseModel], prefix: FieldPath) -> Iterable[Fault]:
    """What pydantic found, in the words of a file. prefix: the path of the model in it."""
    for detail in error.errors(include_url=False):
        yield (*prefix, *(str(part) for part in detail["loc"])), _reason(detail, model)


def _reason(detail: ErrorDetails, model: type[BaseModel]) -> str:
    kind, value = detail["type"], detail.get("input")
    if kind == "missing":
        return "missing: expected a value"
    if kind == "extra_forbidden":
        return f"unknown field: expected one of {', '.join(_siblings(detail['loc'], model))}"
    if kind == "string_pattern_mismatch":
        return f"expected lower-case letters, digits and single dashes, not {shown(value)}"
    reason = detail["msg"].removeprefix("Value error, ")
    for old in ("Input should", "Decimal input should", "String should", "Value should"):
        reason = reason.replace(old, "expected to")
    reason = reason.replace("expected to be", "expected").replace("expected to have", "expected")
    if not reason.startswith("expected"):
        reason = f"expected another value: {reason}"
    said = shown(value)
    return f"{reason}, not {said}" if said else reason


def _siblings(loc: Sequence[Any], model: type[BaseModel]) -> list[str]:
    """The fields that a table has, in the words of the file."""
    at = model
    for part in loc[:-1]:
        if isinstance(part, str):
            named = {info.alias or name: info for name, info in at.model_fields.items()}
            at = (part in named and _model_in(named[part].annotation)) or at
    return [info.alias or name for name, info in at.model_fields.items()] or ["none"]


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model that a field holds, by itself, optional or in a list; `None` if it holds none."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _model_in(part))), None)


def shown(value: Any) -> str:
    """A short form of a wrong value; empty for what is too long to show."""
    if not isinstance(value, str | int | float | bool):
        return "" if not isinstance(value, dict | list) else "a table or list"
    if isinstance(value, bool):
        return str(value).lower()
    try:
        said = repr(value)
    except ValueError:
        return "so many digits"
    return said if len(said) <= 60 else f"{said[:57]}..."
