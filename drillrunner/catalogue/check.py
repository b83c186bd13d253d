"""Checks drills and games for their author: every fault, the conformance suite included."""

from __future__ import annotations

import ast
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from pydantic import ValidationError

from drillrunner.catalogue import courses, places, plans, ranges
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.fields import Problem
from drillrunner.catalogue.loader import (
    NOT_ALLOWED,
    Catalogue,
    LoadedGame,
    first_line,
    folders,
    ids_in,
    listed,
    load_files,
)
from drillrunner.catalogue.tomltext import Unreadable, read_bytes
from drillrunner.rules.conformance import faults
from drillrunner.rules.game import AnyGame
from drillrunner.rules.outcome import GRIDS
from drillrunner.rules.shot import Aim

AIMS = (
    Aim(carry=Decimal(100), width=Decimal(40)),
    Aim(carry=Decimal(100), depth=Decimal(20)),
    Aim(carry=Decimal(100), width=Decimal(40), depth=Decimal(20)),
    Aim(length=Decimal(10), lie="green"),
    Aim(),
)
"""What a game is tried on, beside the drills that use it."""

_OF_PLACES = (courses.COURSE_FOLDER, ranges.RANGE_FOLDER)
SUFFIXES = (".toml", ".py")


def files_of(path: Path) -> list[Path]:
    """The files of drills, games, plans, courses and ranges that a path means.

    A file is taken whatever its name; what it describes is told by the folder that it lies in.
    """
    if not is_folder(path):
        return [path]
    inside = [path / name for name in (plans.FOLDER, *_OF_PLACES)]
    return [*listed(path, []), *(file for at in inside if at.is_dir() for file in listed(at, []))]


def is_folder(path: Path) -> bool:
    """Whether a path is a folder to look into: one that is named like a drill is a faulty drill."""
    return path.is_dir() and path.suffix.lower() not in SUFFIXES


def check(path: Path, among: Sequence[Path] | None = None, plays: int = 20) -> list[Problem]:
    """Every fault of a file, or of each file in a folder, with file, line, field and reason.

    among: the plugin folders whose games and drills may be used (all of the user's if `None`). A
    game runs only if it comes with the program or was allowed; otherwise that is a fault too.
    plays: how often the conformance suite plays each game as it is set.
    """
    wanted = files_of(path)
    if not is_folder(path) and path.suffix.lower() not in SUFFIXES:
        return [Problem(str(path), None, None, "expected a name that ends in .toml or .py")]
    shelves = [*(folders() if among is None else among)]
    by_folder = {file: file.absolute().parent.name for file in wanted}
    played = [file for file in wanted if by_folder[file] not in _OF_PLACES]
    of_plans = [file for file in wanted if by_folder[file] == plans.FOLDER]
    others = [file for file in played if file not in of_plans]
    beside = listed(path.absolute().parent, []) if others and not is_folder(path) else []
    known = [file for folder in shelves for file in listed(folder, [])]
    known += [file for file in beside if file.suffix.lower() == ".py"]
    catalogue = load_files([*known, *others])
    homes = [file.absolute().parent.parent for file in of_plans]
    found = [
        *catalogue.problems,
        *plans.load_plans(dict.fromkeys([*shelves, *homes]), catalogue, CLUBS).problems,
        *_places(wanted),
    ]
    real = {os.path.realpath(file): str(file) for file in wanted}
    found = [
        replace(problem, file=real[os.path.realpath(problem.file)])
        for problem in found
        if os.path.realpath(problem.file) in real
    ]
    known_plays = _Plays(plays)
    for file in others:
        found += _tried(file, catalogue, known_plays)
    return list(dict.fromkeys(found))


def _places(files: Iterable[Path]) -> Iterator[Problem]:
    """What is wrong with the folders of courses and ranges that these lie in."""
    for folder in dict.fromkeys(file.absolute().parent for file in files):
        if folder.name == courses.COURSE_FOLDER:
            both = dict.fromkeys([places.bundled("games") / courses.COURSE_FOLDER, folder])
            yield from courses.load_courses([*both]).problems
        elif folder.name == ranges.RANGE_FOLDER:
            yield from ranges.load_ranges(folder)[1]


class _Plays:
    """The faults of a game as it is set, played once however many files ask."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._known: dict[object, list[str]] = {}

    def faults(self, game: AnyGame) -> list[str]:
        """What the conformance suite finds."""
        key = type(game), game.settings.model_dump_json(), game.unit, game.stations
        if key not in self._known:
            self._known[key] = faults(game, plays=self._count)
        return self._known[key]


def _tried(file: Path, catalogue: Catalogue, plays: _Plays) -> Iterator[Problem]:
    """What the conformance suite, or a reading of the source, finds in one file."""
    here = os.path.realpath(file)
    if file.suffix.lower() == ".py":
        yield from _source(file)
    for game in catalogue.games.values():
        if os.path.realpath(game.source) == here:
            yield from _conform(file, None, _samples(game, catalogue), plays)
            return
    for drill in catalogue.drills:
        if os.path.realpath(drill.source) == here and not drill.stock:
            yield from _conform(file, "game", [drill.game()], plays)
            return
    withheld = {os.path.realpath(p.file) for p in catalogue.problems if p.reason == NOT_ALLOWED}
    if here in withheld:
        yield from _not_run(file)


def _conform(
    file: Path, field: str | None, games: Iterable[AnyGame], plays: _Plays
) -> Iterator[Problem]:
    tried = False
    for game in games:
        tried = True
        for fault in plays.faults(game):
            yield Problem(str(file), None, field, fault)
    if not tried:
        reason = "its settings need values, and no drill gives any: expected a drill beside it"
        yield Problem(str(file), None, field, f"could not be played: {reason}")


def _samples(game: LoadedGame, catalogue: Catalogue) -> Iterator[AnyGame]:
    for drill in catalogue.drills:
        if drill.game_class is game.cls and not drill.stock:
            yield drill.game()
    try:
        settings = game.cls.Settings()
    except ValidationError:
        return
    for aim in AIMS:
        sample = game.cls(settings, aim, GRIDS[game.cls.asks])
        if not sample.faults():
            yield sample


def _source(file: Path) -> Iterator[Problem]:
    """What the source of a game tells without running it."""
    try:
        tree = ast.parse(read_bytes(file))
    except (Unreadable, SyntaxError, ValueError, RecursionError, MemoryError):
        return
    for line, reason in stray_imports(tree):
        yield Problem(str(file), line, None, reason)


def _not_run(file: Path) -> Iterator[Problem]:
    """What can be said of a game that may not run."""
    where = str(file)
    try:
        content = read_bytes(file)
        ast.parse(content, where)
    except Unreadable as error:
        yield Problem(where, error.line, None, str(error))
        return
    except SyntaxError as error:
        yield Problem(where, error.lineno, None, f"expected Python: {error.msg}")
        return
    except (ValueError, RecursionError, MemoryError) as error:
        yield Problem(where, None, None, f"expected Python: {first_line(error)}")
        return
    if not ids_in(content):
        yield Problem(where, None, None, "expected a class with an id: found none")
    reason = "it was read but not run: whether it keeps the rules is not known"
    yield Problem(where, None, None, reason)


def stray_imports(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """The imports of a game beyond `drillrunner.rules` and the standard library, with the line."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            names = ["." * node.level + (node.module or "")]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        for name in names:
            ours = name == "drillrunner.rules" or name.startswith("drillrunner.rules.")
            if not ours and name.partition(".")[0] not in sys.stdlib_module_names:
                expected = "expected drillrunner.rules and the standard library only"
                yield node.lineno, f"imports {name}: {expected}"
