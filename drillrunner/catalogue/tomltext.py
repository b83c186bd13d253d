"""Reading a TOML file of unknown origin: its text, its document, and the line of each field."""

from __future__ import annotations

import math
import os
import re
import stat
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

LARGEST = 256 * 1024
"""Bytes; a drill or game file is a page of text."""

LONGEST_LINE = 2000
"""Characters of a line."""

MOST_PARTS = 10
"""Parts of a dotted key."""

MOST_HEADERS = 300
"""Tables: a line each that begins with `[`."""

MOST_VALUES = 4000
"""Values, counted by what sets them apart: `=` and `,`."""

DEEPEST = 16
"""Lists and tables inside each other."""

FieldPath = tuple[str, ...]

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*')"""
_KEYS = re.compile(rf"{_KEY}(?:\s*\.\s*{_KEY})*")
_VALUE = re.compile(r"\"{3}|'{3}|\"(?:[^\"\\]|\\.)*\"|'[^']*'|#.*|[\[\]{}]")


_OPAQUE = re.compile(
    r'''
    """(?:[^"\\]|\\.|"(?!""))*+(?:"""|\Z)      # a text of several lines, or what is left
    | \'\'\'(?:[^']|'(?!''))*+(?:\'\'\'|\Z)
    | "(?:[^"\\\n]|\\[^\n])*+"?
    | '[^'\n]*+'?
    | \#[^\n]*+
    ''',
    re.VERBOSE | re.DOTALL,
)
_DOTTED = re.compile(rf"(?<![\w-])[\w-]++(?:[ \t]*+\.[ \t]*+[\w-]++){{{MOST_PARTS},}}+")


class Unreadable(ValueError):
    """A file that can't be used at all. `line` is where, if anywhere."""

    def __init__(self, reason: str, line: int | None = None) -> None:
        super().__init__(reason)
        self.line = line


def read_bytes(path: Path) -> bytes:
    """The bytes of a regular file of bounded size. Raises Unreadable."""
    try:
        mode = os.stat(path).st_mode
        if not stat.S_ISREG(mode):
            # Opening a pipe would wait for ever; it is not opened.
            content = None
        else:
            with path.open("rb") as file:
                content = file.read(LARGEST + 1)
    except FileNotFoundError:
        found = "the link leads nowhere" if path.is_symlink() else "there is none"
        raise Unreadable(f"expected a file: {found}") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise Unreadable(f"can't be read: {why}") from None
    if content is None:
        what = "a folder" if stat.S_ISDIR(mode) else "a device or a pipe"
        raise Unreadable(f"expected a file, not {what}")
    if len(content) > LARGEST:
        raise Unreadable(f"expected at most {LARGEST // 1024} KiB")
    return content


def read_text(path: Path) -> str:
    """The text of a file. Raises Unreadable."""
    content = read_bytes(path)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise Unreadable("expected UTF-8 text", line) from None


def bounded(text: str) -> None:
    """See that a text is one that can be parsed in no time. Raises Unreadable with the line.

    The parser of the standard library takes time that grows with the square of the parts of a key,
    and a file needs no more of anything than these bounds.
    """
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            raise Unreadable(f"expected lines of at most {LONGEST_LINE} characters", number)
    # A word in the place of every text, and nothing for comments: what is left is structure.
    bare = _OPAQUE.sub(lambda found: _kept(found[0]), text)
    if found := _DOTTED.search(bare):
        raise Unreadable(f"expected keys of at most {MOST_PARTS} parts", _line(bare, found.start()))
    headers = values = depth = 0
    for found in re.finditer(r"^[ \t]*\[|[\[\]{}=,]", bare, re.MULTILINE):
        sign = found[0][-1]
        if sign in "=,":
            values += 1
        elif sign in "[{":
            headers += depth == 0 and (found[0] != sign or _begins(bare, found.start()))
            depth += 1
        else:
            depth = max(depth - 1, 0)
        for over, expected in (
            (depth > DEEPEST, f"TOML that is not nested so deeply: at most {DEEPEST}"),
            (headers > MOST_HEADERS, f"at most {MOST_HEADERS} tables"),
            (values > MOST_VALUES, f"at most {MOST_VALUES} values"),
        ):
            if over:
                raise Unreadable(f"expected {expected}", _line(bare, found.start()))


def _kept(opaque: str) -> str:
    """What stands for a text or a comment: a word, and as many lines as it has."""
    return ("" if opaque[0] == "#" else "t") + "\n" * opaque.count("\n")


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


def _begins(text: str, at: int) -> bool:
    """Whether a line begins there."""
    return at == 0 or text[at - 1] == "\n"


def parse(text: str) -> dict[str, Any]:
    """The document in a TOML text. Raises Unreadable with the line of the mistake."""
    bounded(text)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise Unreadable("expected TOML that is not nested so deeply") from None
    except ValueError as error:
        reason = str(error)
        where = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", reason)
        line = None
        if where:
            line = int(where[1]) if where[1] else text.count("\n") + 1
            reason = reason[: where.start()]
        raise Unreadable(f"expected TOML: {reason}", line) from None


def unreal(value: Any, at: FieldPath = ()) -> Iterator[FieldPath]:
    """Where in a document nan or infinity stands."""
    if isinstance(value, float) and not math.isfinite(value):
        yield at
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from unreal(inner, (*at, key))
    elif isinstance(value, list):
        for inner in value:
            yield from unreal(inner, at)


def line_of(lines: dict[FieldPath, int], field: FieldPath) -> int | None:
    """The line of a field, or of the innermost table that holds it; `None` if neither stands."""
    for length in range(len(field), 0, -1):
        if field[:length] in lines:
            return lines[field[:length]]
    return None


def lines_of(text: str) -> dict[FieldPath, int]:
    """The line on which each key and table header of a valid TOML text stands, from 1.

    tomllib keeps no positions. Keys inside an inline table have the line of the table. A table of
    an array stands under its place in it: `("blocks", "0")` is the first `[[blocks]]`.
    """
    found: dict[FieldPath, int] = {}
    arrays: dict[FieldPath, int] = {}
    table: FieldPath = ()
    depth, quote = 0, ""
    for number, line in enumerate(text.split("\n"), 1):
        start = 0
        if depth == 0 and not quote:
            header = re.match(r"\s*\[{1,2}\s*", line)
            key = _KEYS.match(line, header.end() if header else len(line) - len(line.lstrip()))
            if key is None:
                continue
            names = tuple(name.strip("\"'") for name in re.findall(_KEY, key[0]))
            if header:
                if "[[" in header[0]:
                    arrays[names] = arrays.get(names, -1) + 1
                table = ()
                for length, name in enumerate(names, 1):
                    table = (*table, name)
                    found.setdefault(table, number)
                    if names[:length] in arrays:
                        table = (*table, str(arrays[names[:length]]))
                        found.setdefault(table, number)
                continue
            for length in range(1, len(names) + 1):
                found.setdefault((*table, *names[:length]), number)
            start = key.end()
        while start < len(line):
            if quote:
                end = line.find(quote, start)
                while quote == '"""' and end > 0 and _escaped(line, end):
                    end = line.find(quote, end + 1)
                if end < 0:
                    break
                quote, start = "", end + 3
                continue
            token = _VALUE.search(line, start)
            if token is None:
                break
            start = token.end()
            if token[0] in ('"""', "'''"):
                quote = token[0]
            elif token[0] in "[{":
                depth += 1
            elif token[0] in "]}":
                depth -= 1
    return found


def _escaped(line: str, at: int) -> bool:
    before = line[:at]
    return (len(before) - len(before.rstrip("\\"))) % 2 == 1
