"""A database to measure on, made from the demo's journal, and the environment that names it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
APP = (sys.executable, "-m", "drillrunner")
BARE = (sys.executable, str(Path(__file__).parent / "bare.py"))


@contextmanager
def environment() -> Iterator[dict[str, str]]:
    """Variables that name empty folders and a database of their own, gone at the end.

    Modules are kept compiled, as pip leaves them: else every start would compile all of ours and
    none of the bare app's.
    """
    ours = ("DRILLRUNNER", "PYTHONDONTWRITEBYTECODE")
    with TemporaryDirectory() as home:
        yield {
            **{k: v for k, v in os.environ.items() if not k.startswith(ours)},
            "PYTHONPATH": str(ROOT),
            "DRILLRUNNER_CONFIG": f"{home}/config",
            "DRILLRUNNER_DATA": f"{home}/data",
            "DRILLRUNNER_DB": f"{home}/drillrunner.db",
        }


def tally(env: dict[str, str], drill: str, *entries: str, player: str = "Ann") -> None:
    """Save a run, as a tally from paper."""
    command = [*APP, "score", drill, *entries, "--save", "--player", player]
    subprocess.run(command, env=env, check=True, stdout=subprocess.DEVNULL)
