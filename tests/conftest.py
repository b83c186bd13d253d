"""What every test stands on: a home of its own, never the developer's."""

from __future__ import annotations

import asyncio
import gc
import os
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

import drillrunner.odds  # noqa: F401  (before any test imports numpy: it says with how many threads)

# No test depends on how fast or how busy the machine is, and two runs of them try the same.
# `--hypothesis-profile fresh` tries what was never tried before.
ANY = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("fresh", ANY)
settings.register_profile("same", ANY, derandomize=True)
settings.load_profile("same")

# The many programs that tests start need not compile every module anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


# Little is garbage once tests are collected: to look for it is a fifth of what that takes.
gc.disable()


def pytest_collection_finish() -> None:
    """What stands after collecting stands to the end, and the little of it that is garbage may."""
    gc.freeze()
    gc.set_threshold(20_000, 10, 20)
    gc.enable()


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh folder for config, data and database; no plugin folders but the bundled one."""
    for name in ("config", "data"):
        monkeypatch.setenv(f"DRILLRUNNER_{name.upper()}", str(tmp_path / name))
    monkeypatch.setenv("DRILLRUNNER_DB", str(tmp_path / "data" / "drillrunner.db"))
    monkeypatch.delenv("DRILLRUNNER_GAMES", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path


@pytest.fixture(autouse=True)
def answered_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a Pilot wait for what was typed: it is taken in turn, and written by another thread."""
    if "textual.pilot" not in sys.modules:
        return
    from textual.pilot import Pilot

    whole = Pilot._wait_for_screen

    async def wait(pilot: Pilot[Any], timeout: float = 30.0) -> bool:
        done = await whole(pilot, timeout)
        app = pilot.app
        while getattr(app, "is_answering", False):
            await asyncio.sleep(0.001)
            done = await whole(pilot, timeout)
        return done

    monkeypatch.setattr(Pilot, "_wait_for_screen", wait)
