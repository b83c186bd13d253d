"""One key, one meaning over all screens; where an answer is typed the drawn keypad says it."""

from __future__ import annotations

import importlib
import pkgutil
from collections import defaultdict
from collections.abc import Iterator

import pytest
from textual.binding import Binding
from textual.dom import DOMNode

import drillrunner.app
from drillrunner.app.help import WRITTEN
from drillrunner.app.keys import FACES, TABLE, Keyed, drawn_key, in_words, key

for _module in pkgutil.walk_packages(drillrunner.app.__path__, "drillrunner.app."):
    importlib.import_module(_module.name)

DRAWN = {"find", "run", "session"}
"""Screens on which a keypad is drawn, by the first word of their bindings' names."""


def _kinds(base: type) -> Iterator[type]:
    for kind in base.__subclasses__():
        yield kind
        yield from _kinds(kind)


OURS = sorted(
    {kind for kind in _kinds(DOMNode) if kind.__module__.startswith("drillrunner.")},
    key=lambda kind: kind.__name__,
)
BOUND = [(kind, b) for kind in OURS for b in vars(kind).get("BINDINGS", ())]
MEANING = {name: means for means, row in TABLE.items() for name in row.keys.split(",")}


def test_no_key_has_two_meanings_in_the_table() -> None:
    names = [name for row in TABLE.values() for name in row.keys.split(",")]
    assert len(names) == len(set(names))


def test_every_binding_is_of_the_table_or_on_a_drawn_keypad() -> None:
    for kind, binding in BOUND:
        assert issubclass(kind, Keyed), kind
        assert is_in_order(binding), (kind, binding)


def is_in_order(binding: Binding) -> bool:
    """Whether a binding has all keys of what it means, and the name of that."""
    keys = set(binding.key.split(","))
    means = {MEANING.get(name, "") for name in keys}
    whole = {name for word in means - {""} for name in TABLE[word].keys.split(",")}
    if (binding.id or "").partition(".")[0] in DRAWN:
        # There too these three are whole, and mean nothing else.
        return keys >= whole or not means & {"do", "undo", "menu"}
    names = {TABLE[word].name for word in means - {""}}
    named = binding.description in names or any(TABLE[word].own for word in means - {""})
    return keys == whole and named


def test_what_is_not_a_screens_own_is_called_the_same_wherever_it_is() -> None:
    called = defaultdict(set)
    for _, binding in BOUND:
        means = MEANING.get(binding.key.split(",")[0], "")
        if means and not TABLE[means].own and (binding.id or "").partition(".")[0] not in DRAWN:
            called[means].add(binding.description)
    assert {means: names for means, names in called.items() if len(names) > 1} == {}


def test_a_meaning_that_is_the_same_everywhere_takes_no_other_name() -> None:
    with pytest.raises(ValueError, match="is called History on every screen"):
        key("history", "some.history", "look_back", "Past")


def test_what_a_key_does_is_told_by_its_action() -> None:
    class Screen(Keyed):
        BINDINGS = [
            key("note", "some.note"),
            key("gap", "some.gap"),
            drawn_key("0", "note", "some.zero", "Zero", tip="Nought"),
        ]

        def action_note(self) -> None:
            """Keep a note with this.

            More of it.
            """

        action_note.__module__ = "drillrunner.some"

    assert [binding.tooltip for binding in Screen.BINDINGS] == [
        "Keep a note with this",
        TABLE["gap"].says,
        "Nought",
    ]


def test_the_help_names_the_keys_as_they_are_drawn() -> None:
    assert in_words("<which> asks") == f"{FACES['which']} asks"
    for text in WRITTEN.values():
        in_words(text)
    assert "<" not in "".join(in_words(text) for text in WRITTEN.values())
