"""What every test stands on: a home of its own, never the developer's."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh folder for config, data and database; no plugin folders but the bundled one."""
    for name in ("config", "data"):
        monkeypatch.setenv(f"DRILLRUNNER_{name.upper()}", str(tmp_path / name))
    monkeypatch.setenv("DRILLRUNNER_DB", str(tmp_path / "data" / "drillrunner.db"))
    monkeypatch.delenv("DRILLRUNNER_GAMES", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path
