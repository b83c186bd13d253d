"""Reads the plugin folders: every drill and game that can be used, and why the others can't."""

from __future__ import annotations

import ast
import hashlib
import os
import re
import sys
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from inspect import isabstract
from pathlib import Path
from types import ModuleType
from typing import Any

from drillrunner.catalogue import allowed, overdue
from drillrunner.catalogue.clubs import CLUBS
from drillrunner.catalogue.drill import Drill, build
from drillrunner.catalogue.fields import IDENTIFIER, Problem
from drillrunner.catalogue.places import bundled as bundled
from drillrunner.catalogue.places import folders as folders
from drillrunner.catalogue.reading import listed as listed
from drillrunner.catalogue.reading import read_file as read_file
from drillrunner.catalogue.reading import take as take
from drillrunner.catalogue.tomltext import (
    Unreadable,
    read_bytes,
)
from drillrunner.rules.game import AnyGame, Game
from drillrunner.rules.outcome import ASKS
from drillrunner.rules.settings import Settings
from drillrunner.rules.soundness import Unsound, contained, place

NOT_ALLOWED = "not allowed to run yet: look at it, then `drillrunner allow FILE`"


@dataclass(frozen=True, slots=True)
class LoadedGame:
    """A game's class, the sha256 of the file it came from, the file, and whether just these bytes
    came with the program."""

    cls: type[AnyGame]
    hash: str
    source: str
    bundled: bool = False


class UnknownDrill(KeyError):
    """No drill of that name can be used; the message says why, or names those that come close."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True)
class Catalogue:
    """Everything found in the plugin folders, in the order found.

    broken: the first problem of each drill that can't be used, by its id.
    """

    drills: tuple[Drill, ...]
    games: Mapping[str, LoadedGame]
    problems: tuple[Problem, ...]
    broken: Mapping[str, Problem]

    def drill(self, id: str) -> Drill:
        """The drill of that id. Raises UnknownDrill, a KeyError."""
        found = {drill.id: drill for drill in self.drills}
        if id in found:
            return found[id]
        if id in self.broken:
            raise UnknownDrill(f"the drill {id!r} can't be used: {self.broken[id]}")
        close = get_close_matches(id, found, n=3, cutoff=0.5)
        hint = (
            f"did you mean {' or '.join(close)}?"
            if close
            else "`drillrunner drills` lists them all"
        )
        broken = len({problem.file for problem in self.problems})
        also = f" ({broken} broken files too)" if broken else ""
        raise UnknownDrill(f"no drill {id!r}: {hint}{also}")


def load(folders: Iterable[Path], clubs: Collection[str] | None = None) -> Catalogue:
    """The drills and games of these folders. clubs: the ids that drills may name."""
    problems: list[Problem] = []
    return load_files([f for folder in folders for f in listed(folder, problems)], clubs, problems)


def load_files(
    files: Iterable[Path],
    clubs: Collection[str] | None = None,
    problems: Sequence[Problem] = (),
) -> Catalogue:
    """The drills and games of these files; of two of the same id the first one stands."""
    shelf = _Shelf(frozenset(CLUBS if clubs is None else clubs), list(problems))
    once = list({os.path.realpath(file): file for file in reversed(list(files))}.values())[::-1]
    for file in once:
        if is_python(file):
            shelf.take_game(file)
    for file in once:
        if file.suffix.lower() == ".toml":
            shelf.take_drill(file)
    return Catalogue(tuple(shelf.drills.values()), shelf.games, tuple(shelf.problems), shelf.broken)


def load_bundled(id: str) -> Drill | None:
    """A bundled drill by itself, with its own game alone; `None` where all has to be looked at.

    What is bundled comes first, so that of two of one id it is the one that stands.
    """
    folder, shelf = bundled("games"), _Shelf(frozenset(CLUBS), [])
    file = folder / f"{id}.toml"
    if not re.fullmatch(IDENTIFIER, id) or not file.is_file():
        return None
    game = read_file(file, lambda document: document.get("game"), [])
    if not isinstance(game, str) or not re.fullmatch(IDENTIFIER, game):
        return None
    shelf.take_game(folder / f"{game}.py")
    shelf.take_drill(file)
    return shelf.drills.get(id)


def bundled_games() -> frozenset[str]:
    """The sha256 of every game that came with the program: what needs no one's leave to run.

    Judged by content and never by path: what a path leads to can change between two looks at it.
    """
    files = listed(bundled("games"), [])
    return frozenset(digest_of(read_bytes(file)) for file in files if is_python(file))


def digest_of(content: bytes) -> str:
    """The name of exactly this content."""
    return hashlib.sha256(content).hexdigest()


def is_python(file: Path) -> bool:
    """Whether a file's name says that it holds a game."""
    return file.suffix.lower() == ".py"


class _Shelf:
    """What has been taken so far."""

    def __init__(self, clubs: frozenset[str], problems: list[Problem]) -> None:
        self.clubs = clubs
        self.problems = problems
        self.games: dict[str, LoadedGame] = {}
        self.drills: dict[str, Drill] = {}
        self.broken: dict[str, Problem] = {}
        self.withheld: dict[str, str] = {}
        """Ids of games that could not be loaded, and why."""
        self.allowed: allowed.Allowed | None = None

    @cached_property
    def bundled(self) -> frozenset[str]:
        return bundled_games()

    def take_game(self, file: Path) -> None:
        try:
            content = read_bytes(file)
        except Unreadable as error:
            self.problems.append(Problem(str(file), error.line, None, str(error)))
            return
        digest = digest_of(content)
        try:
            if digest not in self.bundled:
                if digest not in self._allowed():
                    raise Unreadable(self._allowed().why or NOT_ALLOWED)
                overdue.watch()
            game = load_game(file, content)
            if game.id in self.games:
                raise Unreadable(f"the id {game.id!r} is taken by {self.games[game.id].source}")
        except Unreadable as error:
            self.problems.append(Problem(str(file), error.line, None, str(error)))
            for id in ids_in(content):
                self.withheld.setdefault(id, f"{file}: {error}")
            return
        self.games[game.id] = LoadedGame(game, digest, str(file), digest in self.bundled)

    def take_drill(self, file: Path) -> None:
        def described(document: dict[str, Any]) -> Drill:
            return build(document, self._find, self.clubs, str(file))

        take(file, described, self.drills, self.problems, self.broken)

    def _find(self, id: str) -> tuple[type[AnyGame], str]:
        if id in self.games:
            return self.games[id].cls, self.games[id].hash
        if id in self.withheld:
            raise LookupError(f"the game {id!r} can't be used: {self.withheld[id]}")
        raise LookupError(f"unknown game {id[:60]!r}: expected one of {', '.join(self.games)}")

    def _allowed(self) -> allowed.Allowed:
        if self.allowed is None:
            self.allowed = allowed.read()
        return self.allowed


def load_game(file: Path, content: bytes) -> type[AnyGame]:
    """Run these bytes, which came from `file`, and return the one game that they define.

    No import system: nothing is read again, cached or put on the path. The same bytes from the
    same file are run once in a process. Raises Unreadable with the reason and the line.
    """
    mark = hashlib.sha256(os.fsencode(os.path.realpath(file)) + b"\0" + content).hexdigest()
    name = f"{overdue.MODULE}{mark[:32]}"
    module = sys.modules.get(name)
    if module is None:
        module = ModuleType(name)
        module.__file__ = str(file)
        # dataclasses and pydantic look annotations up in the module by its name.
        sys.modules[name] = module
        try:
            with contained():
                exec(compile(content, str(file), "exec", dont_inherit=True), module.__dict__)
        except Exception as error:
            del sys.modules[name]
            said = "" if isinstance(error, Unsound) else f"raised {type(error).__name__}: "
            raise Unreadable(said + first_line(error), place(error, str(file))) from None
    return _only_game(module)


def first_line(error: BaseException) -> str:
    """An error's message in one line; an error that can't say gets its type's name."""
    try:
        return (error.msg if isinstance(error, SyntaxError) else str(error)).partition("\n")[0]
    except Exception:
        return type(error).__name__


def _only_game(module: ModuleType) -> type[AnyGame]:
    found = [
        value
        for value in dict.fromkeys(v for v in vars(module).values() if isinstance(v, type))
        if issubclass(value, Game) and value.__module__ == module.__name__ and not isabstract(value)
    ]
    if len(found) != 1:
        names = f": found {', '.join(cls.__name__ for cls in found)}" if found else ""
        raise Unreadable(f"expected one class derived from Game with all its methods{names}")
    game = found[0]
    wrong = list(_wrong_names(game))
    if wrong:
        raise Unreadable("; ".join(wrong))
    return game


def _wrong_names(game: type[AnyGame]) -> Iterable[str]:
    id: Any = getattr(game, "id", None)
    if not isinstance(id, str) or len(id) > 60 or not re.match(IDENTIFIER, id):
        yield "id: expected lower-case letters, digits and single dashes or underscores"
    for name in ("title", "summary"):
        said = getattr(game, name, None)
        if not isinstance(said, str) or not said.strip() or not said.isprintable():
            yield f"{name}: expected a line of text"
    if getattr(game, "asks", None) not in ASKS:
        yield f"asks: expected {', '.join(ASKS[:-1])} or {ASKS[-1]}"
    if getattr(game, "better", None) not in ("higher", "lower"):
        yield "better: expected higher or lower"
    settings: Any = getattr(game, "Settings", None)
    if not (isinstance(settings, type) and issubclass(settings, Settings)):
        yield "Settings: expected a class derived from Settings"


def ids_in(content: bytes) -> set[str]:
    """The ids that classes in a Python source give themselves, read without running it."""
    try:
        tree = ast.parse(content)
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return set()
    return {
        statement.value.value
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
        for statement in node.body
        if isinstance(statement, ast.Assign)
        and isinstance(statement.value, ast.Constant)
        and isinstance(statement.value.value, str)
        and any(isinstance(t, ast.Name) and t.id == "id" for t in statement.targets)
    }
