"""Mutated drill files: a drill or problems, and never a traceback."""

from __future__ import annotations

from pathlib import Path

from drillrunner.catalogue.loader import bundled, load
from tests.catalogue.mutated import tried


def test_mutated_drill_files(tmp_path: Path) -> None:
    whole = load([bundled("games")])
    drills, problems, _ = tried(tmp_path, 600)
    assert drills + problems == 600
    # Neither all broken nor all whole, or the mutations would test little.
    assert drills > 15
    assert problems > 150
    assert load([bundled("games")]) == whole
