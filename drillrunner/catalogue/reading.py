"""Reads TOML files that describe something: what can be used, and why the others can't."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol, TypeVar

from drillrunner.catalogue.fields import Fault, Faulty, Problem
from drillrunner.catalogue.tomltext import Unreadable, line_of, lines_of, parse, read_text

MOST_PROBLEMS = 20
"""Problems that are told of one file; then how many more there are."""


class Sourced(Protocol):
    """What a file describes: it says where it came from."""

    @property
    def id(self) -> str: ...

    @property
    def source(self) -> str: ...


Built = TypeVar("Built", bound=Sourced)
Made = TypeVar("Made")


def take(
    file: Path,
    build: Callable[[dict[str, Any]], Built],
    taken: dict[str, Built],
    problems: list[Problem],
    broken: dict[str, Problem] | None = None,
) -> None:
    """Put what `build` makes of a TOML file among those taken, by its id, or add every problem.

    build: as for `read_file`. The first of an id keeps it. broken: takes the first problem of a
    file that can't be used, by the id that it wanted.
    """
    known = len(problems)
    wanted = None

    def first(document: dict[str, Any]) -> Built:
        nonlocal wanted
        faults: list[Fault] = []
        id = wanted = document.get("id")
        if isinstance(id, str) and id in taken:
            other = taken[id].source
            faults.append((("id",), f"{id!r} is taken by {other}: expected another"))
        try:
            built = build(document)
        except Faulty as error:
            faults += error.faults
        if faults:
            raise Faulty(faults)
        return built

    found = read_file(file, first, problems)
    if found is not None:
        taken[found.id] = found
    elif broken is not None and isinstance(wanted, str):
        broken.setdefault(wanted, problems[known])


def read_file(
    file: Path, build: Callable[[dict[str, Any]], Made], problems: list[Problem]
) -> Made | None:
    """What `build` makes of a TOML file; `None` if it can't, with every problem added.

    build: raises Faulty with the path of each field at fault.
    """
    where = str(file)
    try:
        source = read_text(file)
        document = parse(source)
    except Unreadable as error:
        problems.append(Problem(where, error.line, None, str(error)))
        return None
    try:
        return build(document)
    except Faulty as error:
        lines = lines_of(source)
        found = [
            Problem(where, line_of(lines, path), ".".join(path) or None, reason)
            for path, reason in error.faults
        ]
        found.sort(key=lambda problem: problem.line or 0)
        problems += found[:MOST_PROBLEMS]
        if len(found) > MOST_PROBLEMS:
            more = f"and {len(found) - MOST_PROBLEMS} more"
            problems.append(Problem(where, None, None, more))
        return None


def listed(folder: Path, problems: list[Problem]) -> list[Path]:
    """The drill and game files of a folder, by name; a folder that can't be read is a problem."""
    try:
        names = sorted(os.listdir(folder))
    except OSError as error:
        reason = f"expected a folder: {error.strerror or error}"
        problems.append(Problem(str(folder), None, None, reason))
        return []
    return [folder / name for name in names if name.lower().endswith((".py", ".toml"))]
