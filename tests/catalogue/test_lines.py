"""The line of a field, against the TOML parser of the standard library."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from drillrunner.catalogue.tomltext import line_of, lines_of

NAMES = st.sampled_from(["a", "b", "c-d", '"e f"', "'g'"])
VALUES = st.sampled_from(
    [
        "1",
        "'[x]'",
        '"# no = 1"',
        '"""\n[z]\nq = 1\n"""',
        "'''\nr = 2\n'''",
        "[\n 1, # ]\n 2\n]",
        "{ k = 1, m = [1] }",
        '""',
        '"\\""',
        '"""a\\"""\nx = 1"""',
        "''''quoted'''",
    ]
)
LINES = st.one_of(
    st.builds("{} = {}".format, NAMES, VALUES),
    st.builds("{}.{} = {}".format, NAMES, NAMES, VALUES),
    st.builds("[{}]".format, NAMES),
    st.builds("[ {} . {} ] # here".format, NAMES, NAMES),
    st.builds("[[{}]]".format, NAMES),
    st.just("# w = 1"),
    st.just(""),
)


def paths(value: Any, at: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    """Every path of a document that is no part of an inline table or a plain list."""
    found = {at} if at else set()
    pairs: list[tuple[str, Any]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        pairs = [(str(place), inner) for place, inner in enumerate(value)]
    for name, inner in pairs:
        found |= paths(inner, (*at, name))
    return found


@given(st.lists(LINES, max_size=12))
def test_every_field_has_the_line_it_stands_on(parts: list[str]) -> None:
    text = "\n".join(parts)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    found, lines = lines_of(text), text.split("\n")
    for path in paths(document):
        at = line_of(found, path)
        assert at is not None
        names = [name for name in path if not name.isdigit()]
        assert any(name in lines[at - 1] for name in names)
    inline = {"k", "m"}
    expected = {path for path in paths(document) if not inline & set(path)}
    assert expected == set(found)
