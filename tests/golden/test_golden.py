"""Every bundled drill has a playthrough on file, and still plays as it says."""

from __future__ import annotations

import pytest

from drillrunner.catalogue.drill import Drill
from tests.golden.remake import HERE, file_of, playthrough
from tests.shipped import CATALOGUE

REMAKE = "`python -m tests.golden.remake` writes it; read the difference before you commit it"


@pytest.mark.parametrize("drill", CATALOGUE.drills, ids=lambda drill: drill.id)
def test_playthrough(drill: Drill) -> None:
    file = file_of(drill)
    assert file.exists(), f"{drill.id} has no playthrough: {REMAKE}"
    assert playthrough(drill) == file.read_text(encoding="utf-8"), REMAKE


def test_no_playthrough_without_its_drill() -> None:
    assert {file.stem for file in HERE.glob("*.txt")} == {drill.id for drill in CATALOGUE.drills}
