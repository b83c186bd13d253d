"""Where a person's own files live; the only module that decides it.

`DRILLRUNNER_CONFIG` and `DRILLRUNNER_DATA` name the folders, else platformdirs does.
`DRILLRUNNER_DB` names the database, by path or URL, else it lies in the data folder.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from platformdirs import user_config_path, user_data_path

import drillrunner

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


def bundled(name: Literal["games", "demo_data"]) -> Path:
    """The folder that comes with the program, in a wheel or in a checkout."""
    home = Path(drillrunner.__file__).parent
    inside = home / "bundled" / name
    return inside if inside.is_dir() else home.parent / name


def folders(extra: Sequence[Path] = ()) -> tuple[Path, ...]:
    """Bundled, the user's own (if there is one), `DRILLRUNNER_GAMES`, then those named."""
    listed = os.environ.get("DRILLRUNNER_GAMES", "").split(os.pathsep)
    own = games_dir()
    found = [bundled("games")]
    found += [own] if os.path.lexists(own) else []
    found += [Path(name) for name in listed if name]
    return tuple(dict.fromkeys((*found, *extra)))
