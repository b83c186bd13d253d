"""One word, one meaning: a public name is given in one module, or it stands here with a reason."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]

TWICE = {
    "a door has the name of what it opens": (
        "Courses Pattern Result Run Session Standings Summary"
    ),
    "the text of a query has the name of the method that asks it": ("owner runs"),
    "a table has the name of what its rows are": "club player",
    "the same act on another thing, and called by the name of its module": (
        "ask begin build find fit keep load put read table write"
    ),
    "the same bound on a text, for a file and for the database": "line prose",
    "a sheet is read by one and written by the other": "sheet",
    "the normal's figure by itself, where the odds have those of all shapes": "TWO_IN_THREE",
    "the men's and women's columns of a table, and the columns of an export": "COLUMNS",
    "the most of what the module is about": "MOST",
    "the words for what the module is about": "WORDS",
    "numbers as typed and as stored": "decimal",
    "words on a count, and what is counted": "balls",
    "said of a course and of a range": "SIDES Side",
}
"""Reason to names. It should become shorter."""


def modules() -> dict[str, ast.Module]:
    """Every module of the package by its name; migrations have names that Alembic wants."""
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts): ast.parse(path.read_text("utf-8"))
        for path in sorted((ROOT / "drillrunner").rglob("*.py"))
        if "migrations" not in path.parts
    }


def given(module: ast.Module) -> Iterator[str]:
    """The public names that a module gives at its top level."""
    for node in module.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)]
        else:
            continue
        yield from (name for name in names if not name.startswith("_"))


def taken(module: ast.Module, known: set[str]) -> Iterator[tuple[str, str]]:
    """What a module takes from others of ours: module and name, imported or by attribute."""
    called: dict[str, str] = {}
    nodes = list(ast.walk(module))
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                if (whole := f"{node.module}.{alias.name}") in known:
                    called[alias.asname or alias.name] = whole
                else:
                    yield node.module, alias.name
    for node in nodes:
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            yield called.get(node.value.id, ""), node.attr


def twice(found: dict[str, ast.Module]) -> set[str]:
    """Names that two modules give and that others take from both."""
    known, places = set(found), defaultdict(set)
    outside = {pair for module in found.values() for pair in taken(module, known)}
    for name, module in found.items():
        for public in given(module):
            if (name, public) in outside:
                places[public].add(name)
    return {public for public, where in places.items() if len(where) > 1}


def test_a_public_name_that_occurs_twice_is_listed_with_a_reason() -> None:
    listed = {name for names in TWICE.values() for name in names.split()}
    found = twice(modules())
    assert sorted(found - listed) == [], "give one of them another name"
    assert sorted(listed - found) == [], "these occur once only"
    assert len(listed) <= 34, "the list should become shorter"


def test_the_search_finds_a_name_with_two_meanings() -> None:
    sources = {
        "a": "class Row: pass\nROWS = 1\ndef _row(): pass",
        "b": "Row = int\ndef ROWS(): pass",
        "c": "from a import Row\nimport a",
        "d": "from x import b\nfrom b import Row, ROWS",
    }
    assert twice({name: ast.parse(source) for name, source in sources.items()}) == {"Row"}
