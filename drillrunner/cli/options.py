"""The options that commands share, and what they stand for."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from drillrunner.catalogue import places
from drillrunner.cli.terminal import put

if TYPE_CHECKING:
    from drillrunner.catalogue.drill import Drill
    from drillrunner.catalogue.loader import Catalogue
    from drillrunner.store.shapes import PlayerInfo
    from drillrunner.store.store import Store

FINE, NOTHING, WRONG = 0, 1, 2
"""Exit codes: fine; faults found or nothing to show; wrong input."""

NO_OPTION = re.compile(r"-(?!-[A-Za-z]|h$)")
"""What starts with a dash and is no option of ours: they are all words but `-h`."""


class Wrong(Exception):
    """Wrong input, or something in the way: one line for stderr, and exit 2."""


class Parser(argparse.ArgumentParser):
    """A parser that takes options and positionals in any order, and `-15` as a value."""

    def __init__(self, command: str, summary: str) -> None:
        prog = f"drillrunner {command}".strip()
        super().__init__(prog=prog, description=summary, allow_abbrev=False)
        self.register("type", int, _whole)

    def error(self, message: str) -> NoReturn:
        raise Wrong(f"{' '.join(message.split())}; `{self.prog} --help` tells more")

    def _print_message(self, message: str, file: object = None) -> None:
        # argparse prints help and version itself, and here one function prints.
        put(message.rstrip("\n"))

    def read(self, words: Sequence[str]) -> argparse.Namespace:
        """The arguments in these words. Raises Wrong."""
        found = self.parse_intermixed_args(list(self._protected(words)))
        return argparse.Namespace(**{name: _bare(value) for name, value in vars(found).items()})

    @staticmethod
    def _protected(words: Sequence[str]) -> Iterable[str]:
        """A leading blank keeps argparse from taking a negative number for an option.

        All that follows `--` is no option either.
        """
        plain = False
        for word in words:
            if word == "--" and not plain:
                plain = True
                continue
            yield f" {word}" if NO_OPTION.match(word) or (plain and word[:1] == "-") else word


def _bare(value: Any) -> Any:
    """An argument without the blank of `_protected`."""
    if isinstance(value, list):
        return [_bare(one) for one in value]
    if isinstance(value, Path):
        return Path(_bare(str(value)))
    return value[1:] if isinstance(value, str) and value.startswith(" -") else value


def add_everywhere(parser: argparse.ArgumentParser) -> None:
    """`--db` and `--games`, which every command takes."""
    parser.add_argument("--db", metavar="PATH_OR_URL", help="the database (else DRILLRUNNER_DB)")
    parser.add_argument(
        "--games",
        metavar="DIR",
        action="append",
        default=[],
        help="one more folder of drills and games (repeatable; else DRILLRUNNER_GAMES)",
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")


def text_argument(value: str) -> str:
    """An argument that is text, which not all bytes are. For argparse."""
    try:
        value.encode()
    except UnicodeEncodeError:
        raise argparse.ArgumentTypeError("expected text in UTF-8") from None
    return value


def _whole(value: str) -> int:
    """What an argument of `type=int` is, told of as everything is. For argparse."""
    if not re.fullmatch(r"\s*[+-]?[0-9]{1,9}\s*", value):
        raise argparse.ArgumentTypeError(f"expected a whole number, not {value!r}")
    return int(value)


def day_argument(value: str) -> date:
    """An argument that is a day. For argparse."""
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(f"expected a day as 2026-05-01, not {value!r}") from None


def add_player(parser: argparse.ArgumentParser, what: str = "only this player's") -> None:
    parser.add_argument("--player", metavar="NAME", type=text_argument, help=what)


def add_players(parser: argparse.ArgumentParser, what: str) -> None:
    """`--player` as often as there are players."""
    parser.add_argument(
        "--player", metavar="NAME", type=text_argument, action="append", default=[], help=what
    )


def add_drill(parser: argparse.ArgumentParser) -> None:
    """A drill by its id, and `--set`."""
    what = "its id, as `drillrunner drills` lists it"
    parser.add_argument("drill", metavar="DRILL", type=text_argument, help=what)
    add_set(parser)


def add_set(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--set",
        metavar="FIELD=VALUE",
        action="append",
        default=[],
        help="set a field as in the drill's file: aim.width=32, lives=2, between=driver",
    )


def database(args: argparse.Namespace) -> str:
    """The database that these arguments mean: a path or URL."""
    return args.db or places.database_default()


def plugin_folders(args: argparse.Namespace) -> tuple[Path, ...]:
    """The folders of drills and games that these arguments mean."""
    return places.folders([Path(name) for name in args.games])


def catalogue(args: argparse.Namespace) -> Catalogue:
    """The drills and games that these arguments can mean."""
    from drillrunner.catalogue.loader import load

    return load(plugin_folders(args))


def drill(catalogue: Catalogue, args: argparse.Namespace) -> Drill:
    """The drill named, as set by `--set`. Raises Wrong, BadDrill."""
    try:
        found = catalogue.drill(args.drill)
    except KeyError as error:
        raise Wrong(str(error)) from None
    return found.with_set(args.set) if args.set else found


def open_store(args: argparse.Namespace, looking: bool = False) -> Store:
    """The database, open. looking: nothing need be written. Raises StoreError."""
    from drillrunner.store.store import Store

    return Store.open(database(args), looking=looking)


def existing_store(args: argparse.Namespace) -> Store | None:
    """The database to look something up in; `None` where there is none yet, and none is made."""
    where = database(args)
    if "://" not in where and not Path(where).exists():
        return None
    return open_store(args, looking=True)


def player(store: Store | None, name: str | None) -> PlayerInfo | None:
    """The player of that name; `None` if no name was given. Raises Wrong if there is no such."""
    if name is None:
        return None
    found = store.player(name) if store is not None else None
    if found is None:
        known = [info.name for info in store.players()] if store is not None else []
        has = f": known are {', '.join(known)}" if known else ""
        raise Wrong(f"no player {name!r}{has}")
    return found
