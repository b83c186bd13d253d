"""What is better not on a command line, where every process list shows it: the PIN and the URL of
the database. They come from the environment or from a file of their owner's alone."""

from __future__ import annotations

import os
import stat
import tomllib
from pathlib import Path

FILE = "serve.toml"
KEYS = ("pin", "db")


class BadSettings(Exception):
    """The file can't be used; one line says why."""


def unlisted(config: Path) -> dict[str, str]:
    """`pin` and `db`, as far as they are set: the environment goes before the file.

    Raises BadSettings.
    """
    found = _from(config / FILE)
    set_there = {key: os.environ.get(f"DRILLRUNNER_{key.upper()}", "") for key in KEYS}
    return {**found, **{key: value for key, value in set_there.items() if value}}


def _from(file: Path) -> dict[str, str]:
    try:
        about = os.stat(file)
        if os.name == "posix" and stat.S_IMODE(about.st_mode) & 0o077:
            raise BadSettings(f"{file} is open to others: expected a file of yours with mode 600")
        told = tomllib.loads(file.read_text("utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError) as error:
        raise BadSettings(f"{file}: not read ({error})") from error
    for key, value in told.items():
        if key not in KEYS:
            raise BadSettings(f"{file}: {key}: expected one of {', '.join(KEYS)}")
        if not isinstance(value, str):
            raise BadSettings(f"{file}: {key}: expected a text in quotes")
    return told
