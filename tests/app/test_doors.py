"""Each door leads to a screen that is made with what the door holds; parts stay apart."""

from __future__ import annotations

import inspect
from typing import Any

import pytest

from drillrunner.app import doors, opener

TEXTUALS_OWN = {"self", "name", "id", "classes"}
GONE_ON_WITH = {doors.OpenRun, doors.OpenMatch, doors.WaitForOthers, doors.JoinOthers}
"""Doors that lead to what is found or made first, and not to a screen of their own."""


def every_door() -> set[type[doors.Door]]:
    return {
        found
        for found in vars(doors).values()
        if isinstance(found, type) and issubclass(found, doors.Door) and found is not doors.Door
    }


def test_a_screen_is_made_with_what_its_door_holds() -> None:
    for door in every_door() - GONE_ON_WITH:
        wanted = inspect.signature(opener.kind(door).__init__).parameters
        takes = {name: taken for name, taken in wanted.items() if name not in TEXTUALS_OWN}
        assert {name: str(taken.annotation) for name, taken in takes.items()} == door.holds, door


def test_a_door_is_made_with_its_fields_and_nothing_else() -> None:
    assert doors.Pattern("driver").__dict__ == {"club": "driver"}
    assert doors.Pattern("driver").swing == "full"
    assert doors.Pattern("driver", swing="half").swing == "half"
    make: Any = doors.Pattern
    for values, named in (((), {}), (("driver", "half", 1), {}), (("a",), {"club": "b"})):
        with pytest.raises(TypeError, match="Pattern takes club, swing"):
            make(*values, **named)
    make = doors.Stock
    with pytest.raises(TypeError, match="Stock takes nothing"):
        make(hole=1)
