"""Where things lie, and what may import what."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "README.md",
    "demo_data",
    "drillrunner",
    "games",
    "pyproject.toml",
    "tests",
}
LAYERS = ("cli", "serve", "app", "services", "practice", "odds", "store", "catalogue", "rules")


def test_the_top_level_is_this_and_no_more() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True).stdout
    if not listed:
        pytest.skip("the list of files is git's, and this is no git checkout")
    assert {name.partition("/")[0] for name in listed.splitlines()} == TOP


def test_the_package_is_its_layers() -> None:
    inside = {p.name for p in (ROOT / "drillrunner").iterdir() if p.is_dir()} - {"__pycache__"}
    assert inside == set(LAYERS)


@pytest.mark.parametrize("folder", ["games", "demo_data"])
def test_data_is_no_package(folder: str) -> None:
    assert not list((ROOT / folder).rglob("__init__.py"))


def imported(source: str) -> set[str]:
    """The modules that a source imports anywhere in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add("." * node.level + (node.module or ""))
    return names


@pytest.mark.parametrize("path", sorted((ROOT / "games").glob("*.py")), ids=lambda p: p.name)
def test_a_game_imports_the_rules_and_the_standard_library(path: Path) -> None:
    for name in imported(path.read_text("utf-8")):
        standard = name.partition(".")[0] in sys.stdlib_module_names
        assert standard or name == "drillrunner.rules", name


@pytest.mark.parametrize(
    "path", sorted((ROOT / "drillrunner" / "rules").glob("*.py")), ids=lambda p: p.name
)
def test_the_rules_know_no_input_output_clock_or_randomness(path: Path) -> None:
    barred = {"os", "io", "pathlib", "time", "datetime", "secrets", "socket", "sqlite3", "json"}
    # The conformance suite draws its plays from a seed of its own.
    barred |= set() if path.name == "conformance.py" else {"random"}
    assert not imported(path.read_text("utf-8")) & barred


@pytest.mark.parametrize(
    "path",
    sorted((ROOT / "drillrunner" / "practice").rglob("*.py")),
    ids=lambda p: f"{p.parent.name}/{p.name}",
)
def test_practice_opens_no_file_and_calls_no_store(path: Path) -> None:
    assert outside(path.read_text("utf-8")) <= EXCEPT.get(path.name, set())


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import os", "os"),
        ("from pathlib import Path", "pathlib"),
        ("def f(p):\n    return p.read_text()", "read_text"),
        ("def f(p):\n    import sqlite3", "sqlite3"),
        ("open('x')", "open"),
        ("from drillrunner.store import exchange", "drillrunner.store.exchange"),
        ("from drillrunner.store.store import Store", "drillrunner.store.store"),
        ("from drillrunner.store.shapes import Store", ""),
        ("from drillrunner.catalogue.loader import load", "drillrunner.catalogue.loader.load"),
        ("from drillrunner.catalogue.loader import Catalogue", ""),
        ("from drillrunner.odds.desk import picture_of", "drillrunner.odds.desk.picture_of"),
    ],
)
def test_what_would_open_or_call_is_noticed(source: str, found: str) -> None:
    assert outside(source) == ({found} if found else set())


OUTSIDE = {
    *("fcntl", "glob", "os", "pathlib", "shutil", "socket", "sqlite3", "subprocess", "tempfile"),
    *("urllib", "drillrunner.services"),
}
EXCEPT = {"drawing.py": {"os", "pathlib"}}
"""It keeps the plotting library from opening files of its own choice. Nothing else belongs here."""
FILES = {"open", "mkdir", "read_bytes", "read_text", "unlink", "write_bytes", "write_text"}
TYPES = {
    "drillrunner.catalogue.loader": {"Catalogue", "LoadedGame"},
    "drillrunner.catalogue.places": set(),
    "drillrunner.catalogue.ranges": set(),
    "drillrunner.odds.desk": {"Picture"},
}
"""Modules that open files or call the store, and what practice may take of them: types."""


def outside(source: str) -> set[str]:
    """What a source takes or calls by which a file or a database could be opened."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names if a.name.partition(".")[0] in OUTSIDE}
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            full = {f"{module}.{a.name}" for a in node.names}
            if module in OUTSIDE or module.partition(".")[0] in OUTSIDE:
                found.add(module)
            elif module == "drillrunner.store":
                found |= full
            elif module.startswith("drillrunner.store.") and module != "drillrunner.store.shapes":
                found.add(module)
            elif module in TYPES:
                found |= {f"{module}.{a.name}" for a in node.names if a.name not in TYPES[module]}
            found |= full & set(TYPES)
        elif isinstance(node, ast.Call):
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            found |= {name} & FILES
    return found


@pytest.mark.parametrize(
    "path",
    sorted((ROOT / "drillrunner").rglob("__init__.py")),
    ids=lambda p: p.parent.name,
)
def test_init_files_import_nothing_eagerly(path: Path) -> None:
    for node in ast.parse(path.read_text("utf-8")).body:
        assert not (isinstance(node, ast.Import | ast.ImportFrom) and is_ours(node)), path


def is_ours(node: ast.Import | ast.ImportFrom) -> bool:
    names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else [node.module]
    return any(name is None or name.startswith("drillrunner") for name in names)


def test_every_public_thing_in_the_rules_says_what_it_is() -> None:
    silent = []
    for path in sorted((ROOT / "drillrunner" / "rules").glob("*.py")):
        module = ast.parse(path.read_text("utf-8")).body
        classes = [node for node in module if isinstance(node, ast.ClassDef)]
        for node in (*module, *(inner for outer in classes for inner in outer.body)):
            named = isinstance(node, ast.FunctionDef | ast.ClassDef)
            if named and not node.name.startswith("_") and ast.get_docstring(node) is None:
                silent.append(f"{path.name}: {node.name}")
    assert silent == []
