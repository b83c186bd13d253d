"""What every test stands on: a home of its own, never the developer's."""

from __future__ import annotations

import gc
import os
import re
import sys
from contextlib import suppress
from importlib import import_module
from itertools import count
from pathlib import Path

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
MUCH = 50_000
"""So many objects that were made and not yet thrown away are looked through for garbage."""


def pytest_collection(session: pytest.Session) -> None:
    """Workers read the files each from another one on, so that in a fresh clone each is compiled
    once, by one of them, and not by all at once. What goes wrong here is told of by the collection.
    """
    worker = getattr(session.config, "workerinput", None)
    if worker and session.config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        files = sorted(Path(__file__).parent.rglob("test_*.py"))
        first = int(worker["workerid"][2:]) * len(files) // worker["workercount"]
        for file in files[first:] + files[:first]:
            name = ".".join(file.relative_to(session.config.rootpath).with_suffix("").parts)
            with suppress(Exception, pytest.skip.Exception):
                import_module(name)


def pytest_collection_finish() -> None:
    """What stands after collecting stands to the end, and the little of it that is garbage may."""
    gc.freeze()
    gc.set_threshold(500_000, 10, 20)
    gc.enable()


def pytest_runtest_logfinish() -> None:
    """What tests left is cleared away between them, and not looked through while an app runs."""
    if gc.isenabled() and gc.get_count()[0] > MUCH:
        gc.collect()
        gc.freeze()


COUNTED = count()


@pytest.fixture
def tmp_path(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of the test's own. pytest's takes four times as long: it links to the newest."""
    name = re.sub(r"\W", "_", request.node.name)[:30]
    folder = tmp_path_factory.getbasetemp() / f"{name}-{next(COUNTED)}"
    folder.mkdir(0o700)
    return folder


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh folder for config, data and database; no plugin folders but the bundled one."""
    for name in ("config", "data"):
        monkeypatch.setenv(f"DRILLRUNNER_{name.upper()}", str(tmp_path / name))
    monkeypatch.setenv("DRILLRUNNER_DB", str(tmp_path / "data" / "drillrunner.db"))
    monkeypatch.delenv("DRILLRUNNER_GAMES", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path
