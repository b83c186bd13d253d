"""Where a person's own files live; the only module that decides it.

`DRILLRUNNER_CONFIG` and `DRILLRUNNER_DATA` name the folders, else platformdirs does.
`DRILLRUNNER_DB` names the database, by path or URL, else it lies in the data folder.
"""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_config_path, user_data_path

NAME = "drillrunner"


def config_dir() -> Path:
    """The folder for the allow list, the player's own games, range profiles and preferences."""
    chosen = os.environ.get("DRILLRUNNER_CONFIG")
    return Path(chosen) if chosen else user_config_path(NAME, appauthor=False)


def data_dir() -> Path:
    """The folder for the database and its copies."""
    chosen = os.environ.get("DRILLRUNNER_DATA")
    return Path(chosen) if chosen else user_data_path(NAME, appauthor=False)


def games_dir() -> Path:
    """The user's own plugin folder; it need not exist."""
    return config_dir() / "games"


def database_default() -> str:
    """The database when none is named on the command line: a path or URL."""
    return os.environ.get("DRILLRUNNER_DB") or str(data_dir() / "drillrunner.db")
