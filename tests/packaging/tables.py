"""The tables of the reference that follow from the code: keys, commands, and JSON documents.

`python -m tests.packaging.tables` writes them anew between their marks; a test fails while they
differ.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

from textual.binding import Binding

import drillrunner.app
from drillrunner.cli.main import COMMANDS
from drillrunner.cli.options import Parser, add_everywhere
from tests.packaging.documents import json_table

REFERENCE = Path(__file__).parents[2] / "drillrunner" / "REFERENCE.md"

KEYS = {
    "question_mark": "?",
    "full_stop": ".",
    "comma": ",",
    "slash": "/",
    "asterisk": "*",
    "plus": "+",
    "minus": "-",
    "escape": "Esc",
    "enter": "Enter",
    "backspace": "Backspace",
    "space": "Space",
    "pageup": "Page up",
    "pagedown": "Page down",
    "home": "Home",
    "end": "End",
}
"""What a key is called where Textual's name is not what stands on it."""

SAME = {"decimal", "separator", "divide", "multiply", "add", "subtract", "delete"}
"""Other names that some terminals have for keys that are named already."""


def bindings() -> Iterator[Binding]:
    """Every binding of the app's screens and widgets, in the order of the modules."""
    for module in walk_packages(drillrunner.app.__path__, "drillrunner.app."):
        for cls in vars(import_module(module.name)).values():
            if isinstance(cls, type) and cls.__module__ == module.name:
                for binding in vars(cls).get("BINDINGS", ()):
                    assert isinstance(binding, Binding), f"{cls}: expected Binding, with an id"
                    yield binding


def keys_table() -> str:
    """One line a binding: its keys, what it does, and its id."""
    lines = ["| keys | does | id |", "| --- | --- | --- |"]
    for binding in sorted(bindings(), key=lambda b: (b.id or "").partition(".")[0]):
        keys = [key for key in binding.key.split(",") if key not in SAME]
        shown = " ".join(f"`{KEYS.get(key, _cased(key))}`" for key in dict.fromkeys(keys))
        does = binding.description + (f": {binding.tooltip}" if binding.tooltip else "")
        lines.append(f"| {shown} | {does} | `{binding.id}` |")
    return "\n".join(lines)


def _cased(key: str) -> str:
    return key.upper() if re.fullmatch(r"f\d+", key) else key


def parser_of(command: str) -> Parser:
    """A command's parser, as the command line makes it."""
    module, summary = COMMANDS[command] if command else ("app", "open the app")
    parser = Parser(command, summary)
    import_module(f"drillrunner.cli.{module}").arguments(parser)
    return parser


def options(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """The arguments of a parser, but for its help."""
    return (action for action in parser._actions if action.dest != "help")


def commands_table() -> str:
    """One line a command, and one for each thing that it takes."""
    lines = ["| command | takes | does |", "| --- | --- | --- |"]
    for command in ("", *COMMANDS):
        parser = parser_of(command)
        name = f"drillrunner {command}".strip()
        lines.append(f"| `{name}` | | {parser.description} |")
        lines += [f"| | `{_named(action)}` | {_help(action)} |" for action in options(parser)]
    everywhere = argparse.ArgumentParser()
    add_everywhere(everywhere)
    lines.append("| every one | | before or after the command |")
    lines += [f"| | `{_named(action)}` | {_help(action)} |" for action in options(everywhere)]
    return "\n".join(lines)


def _named(action: argparse.Action) -> str:
    metavar = action.metavar if isinstance(action.metavar, str) else action.dest.upper()
    if action.choices is not None:
        metavar = ",".join(str(choice) for choice in action.choices)
    if not action.option_strings:
        ends = {"?": "[{}]", "*": "[{}...]", "+": "{}..."}
        return ends.get(str(action.nargs), "{}").format(metavar)
    flag = "/".join(action.option_strings)
    return flag if action.nargs == 0 else f"{flag} {metavar}"


def _help(action: argparse.Action) -> str:
    return (action.help or "").replace("|", "/").replace("%%", "%")


END = "<!-- end -->"
TABLES: dict[str, Callable[[], str]] = {
    "keys": keys_table,
    "commands": commands_table,
    "json": json_table,
}


def written(text: str) -> str:
    """A text with each table in its place. Raises ValueError if a place is missing."""
    for name, table in TABLES.items():
        start, end = re.search(rf"<!-- {name}: .*? -->\n", text), f"{END}\n"
        if start is None or end not in text[start.end() :]:
            raise ValueError(f"REFERENCE.md: no place for the table of {name}")
        rest = text[start.end() :]
        text = f"{text[: start.end()]}{table()}\n{rest[rest.index(end) :]}"
    return text


if __name__ == "__main__":
    REFERENCE.write_text(written(REFERENCE.read_text("utf-8")), "utf-8")
