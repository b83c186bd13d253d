"""Every module has a place in the tests: a file of its own name, a test that imports it, or a row
in the table of DEVELOPERS.md.
"""

from __future__ import annotations

import re
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests"


def modules() -> list[str]:
    """Every module as the table names it: `app/screens/play`."""
    package = ROOT / "drillrunner"
    found = (path.relative_to(package).with_suffix("") for path in package.rglob("*.py"))
    return sorted(m.as_posix() for m in found if m.stem != "__init__" and "versions" not in m.parts)


def rows() -> dict[str, list[str]]:
    """The table: a pattern of modules to the tests that hold them."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    table = text[text.index("| modules | held by |") :].partition("\n\n")[0]
    cells = [line.strip("| ").split(" | ") for line in table.splitlines()[2:]]
    words = [[re.findall(r"`([^`]+)`", cell) for cell in pair] for pair in cells]
    return {pattern: tests for patterns, tests in words for pattern in patterns}


def mirrored(module: str, imported: str) -> bool:
    """Whether a module has a test file of its own, or a test that imports it."""
    room, _, name = module.rpartition("/")
    dotted = ".".join(("drillrunner", *module.split("/")))
    pair = rf"from {re.escape(dotted.rpartition('.')[0])} import [^\n]*\b{name}\b"
    # One at a time: each begins with letters that can be looked for, both at once do not.
    return (TESTS / room / f"test_{name}.py").exists() or any(
        re.search(said, imported) for said in (rf"{re.escape(dotted)}\b", pair)
    )


def test_every_module_has_a_place_in_the_tests() -> None:
    imported = "\n".join(path.read_text("utf-8") for path in TESTS.rglob("*.py"))
    table = rows()
    alone = [module for module in modules() if not mirrored(module, imported)]
    assert [m for m in alone if not any(fnmatch(m, p) for p in table)] == []
    assert [p for p in table if not any(fnmatch(m, p) for m in alone)] == [], "rows without use"


def test_every_test_of_the_table_is_there() -> None:
    named = {test for tests in rows().values() for test in tests}
    assert [t for t in named if not (TESTS / t).is_dir() and not (TESTS / f"{t}.py").exists()] == []
